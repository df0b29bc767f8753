"""The numbers of a text capture: read in large pieces, falling back to line by line where a piece is not plain."""

from __future__ import annotations

import warnings
from collections.abc import Iterator
from dataclasses import dataclass
from typing import BinaryIO

import numpy as np
from numpy.typing import NDArray

from twoturn.capture.csv.layout import COMMENTS, Layout, number, split_fields
from twoturn.errors import RecordingError

Array = NDArray[np.float64]
PIECE_BYTES = 4_000_000
MAX_VALUES = 120_000_000


@dataclass(frozen=True, eq=False)
class Piece:
    """Rows read in one go.

    Attributes
    ----------
    rows
        Numbers, shape (rows, columns); NaN for blank cells.
    lines
        Line of each row in the file, counted from 1, shape (rows,) [-].
    """

    rows: Array
    lines: NDArray[np.int64]


def read_pieces(file: BinaryIO, layout: Layout, name: str) -> Iterator[Piece]:
    """Read all rows of numbers.

    Parameters
    ----------
    file
        The file, opened at its beginning, in UTF-8 or a one-byte encoding.
    layout
        Its layout.
    name
        Its name, for the error sentence.

    Yields
    ------
    Piece
        Some megabytes of rows.

    Raises
    ------
    RecordingError
        A line that is no row of numbers, or more numbers than can be held.
    """
    line = layout.skip_lines + 1
    for _ in range(layout.skip_lines):
        file.readline()
    total = 0
    while data := file.read(PIECE_BYTES):
        data += file.readline(PIECE_BYTES)
        last = not file.peek(1) if hasattr(file, "peek") else len(data) < PIECE_BYTES
        piece = _fast(data, layout, line)
        if piece is None:
            piece = _slow(data, layout, line, name, last)
        total += piece.rows.size
        if total > MAX_VALUES:
            raise RecordingError(
                f"{name} holds more than {MAX_VALUES / 1e6:g} million numbers", next_step="cut out twenty turns or so"
            )
        yield piece
        line += data.count(b"\n")


def _fast(data: bytes, layout: Layout, first_line: int) -> Piece | None:
    """All numbers of a piece at once; None where it is not plain rows of numbers."""
    if layout.quoted and layout.separator == ",":
        return None
    table = bytearray(range(256))
    if layout.separator != ",":
        table[ord(",")] = ord(".")
    table[ord(layout.separator)] = ord(" ")
    rows = data.count(b"\n") + (not data.endswith(b"\n"))
    if b"n" in data or b"N" in data or b"i" in data or b"I" in data:
        return None  # nan and inf are refused with their line
    plain = data.translate(bytes(table), b'"')
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        try:
            values = np.fromstring(plain, dtype=np.float64, sep=" ")
        except (DeprecationWarning, ValueError):
            return None
    if values.size != rows * layout.columns:
        return None
    if b"\n\n" in data or b"\n\r\n" in data or data[:1] in b"\r\n":
        return None
    return Piece(values.reshape(rows, layout.columns), np.arange(first_line, first_line + rows))


def _slow(data: bytes, layout: Layout, first_line: int, name: str, last: bool) -> Piece:
    """The rows of a piece line by line: comments, blank lines and cells, words for levels."""
    rows: list[list[float]] = []
    lines: list[int] = []
    text = data.decode("utf-8" if layout.encoding == "utf-16" else layout.encoding, errors="replace")
    split = text.split("\n")
    for offset, line in enumerate(split):
        plain = line.strip().strip("\x1a")
        if not plain or plain.startswith(COMMENTS):
            continue
        row = _row(plain, layout)
        if row is None:
            if last and len(split) - offset <= 2:
                break  # a recording stopped while its last line was written
            raise RecordingError(
                f"{name}, line {first_line + offset}: “{plain[:40]}” is no row of {layout.columns} numbers",
                allowed="one number a column, NaN and text are not",
                next_step="delete the line or record again",
            )
        rows.append(row)
        lines.append(first_line + offset)
    shape = (len(rows), layout.columns)
    return Piece(np.array(rows, dtype=np.float64).reshape(shape), np.array(lines, dtype=np.int64))


def _row(line: str, layout: Layout) -> list[float] | None:
    """The numbers of one line, NaN for blank cells; None where it is no row."""
    fields = split_fields(line, layout.separator)
    if layout.separator != " " and line.count(layout.separator) >= layout.columns - 1:
        fields += [""] * (layout.columns - len(fields))
    if len(fields) != layout.columns:
        return None
    row = []
    for field in fields:
        value = number(field) if field else float("nan")
        if value is None or np.isinf(value):
            return None
        row.append(value)
    return row
