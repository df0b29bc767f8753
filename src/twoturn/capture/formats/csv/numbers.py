"""The numbers of a text capture: read in large pieces, falling back to line by line where a piece is not plain."""

from __future__ import annotations

import re
import warnings
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import BinaryIO

import numpy as np
from numpy.typing import NDArray

from twoturn.capture.formats.csv.cells import MISSING, WORDS, cell_value
from twoturn.capture.formats.csv.layout import COMMENTS, Layout, mended_fields, split_fields
from twoturn.errors import RecordingError

Array = NDArray[np.float64]
PIECE_BYTES = 4_000_000
MAX_VALUES = 60_000_000
MOST_FOOTER = 30
TAIL_BYTES = 100_000
_ODD_BYTES = (
    (b"\xe2\x88\x92", b"-"),
    (b"\xe2\x88\x9e", b"inf"),
    (b"\xc2\xa0", b""),
    (b"\xe2\x80\xaf", b""),
    (b"\xe2\x80\x89", b""),
)
_DATE = re.compile(rb"(?:\d{4}[-/.]\d{1,2}[-/.]\d{1,2}|\d{1,2}[-/.]\d{1,2}[-/.]\d{2,4})(?:T|[ \t]+)(?=\d{1,2}:)")
_ZONE = re.compile(rb"(?<=\d)(?:Z|[+-]\d\d:?\d\d)(?=[;,\t|\"\r\n]|$)")


@dataclass(frozen=True, eq=False)
class Piece:
    """Rows read in one go.

    Attributes
    ----------
    rows
        Numbers, shape (rows, columns); NaN for blank cells, infinite for overloads.
    first_line
        Line in the file of the first row, counted from 1.
    lines
        Line of each row, shape (rows,) [-]; None where every line is a row.
    breaks
        Rows before which the header stands again [-].
    cut
        Whether the file ends in the middle of a row.
    """

    rows: Array
    first_line: int
    lines: NDArray[np.int64] | None = None
    breaks: tuple[int, ...] = ()
    cut: bool = False


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
    cleaner = _Cleaner(layout)
    before = frozenset(text.strip() for text in layout.preamble.split("\n") if text.strip())
    while data := file.read(PIECE_BYTES):
        data += file.readline(PIECE_BYTES)
        last = not file.peek(1) if hasattr(file, "peek") else len(data) < PIECE_BYTES
        piece = cleaner.piece(data, line)
        if piece is None:
            piece = _slow(data, layout, line, name, last, before)
        total += piece.rows.size
        if total > MAX_VALUES:
            raise RecordingError(
                f"{name} holds more than {MAX_VALUES / 1e6:g} million numbers", next_step="cut out twenty turns or so"
            )
        yield replace(piece, cut=last and _ends_in_a_row(data, layout))
        line += data.count(b"\n")


class _Cleaner:
    """Makes plain numbers, parted by blanks, out of a piece of text, by what the first rows of the file showed."""

    def __init__(self, layout: Layout) -> None:
        self.layout = layout
        shown = [cell for row in layout.rows for cell in row]
        self.words = _replacements(shown)
        self.clock = next((column for column in range(layout.columns) if layout.is_clock(column)), None)
        self.dated = self.clock is not None and any(
            _DATE.match(cell.encode()) for cell in layout.column_cells(self.clock)
        )
        self.zoned = self.clock is not None and any(
            _ZONE.search(cell.encode()) for cell in layout.column_cells(self.clock)
        )
        self.possible = layout.label is None and not layout.torn and self._clock_is_plain()
        self.possible &= not any(layout.is_date(column) for column in range(layout.columns))
        table = bytearray(range(256))
        table[ord(layout.separator)] = ord(" ")
        if layout.separator != "," and layout.decimal in ",*":
            table[ord(",")] = ord(".")
        if self.clock is not None:
            table[ord(":")] = ord(" ")
        self.table = bytes(table)
        self.gone = b'"' + (b"." if layout.decimal == "," else b"")
        self.gone += b"," if layout.decimal == "." and layout.separator != "," else b""

    def _clock_is_plain(self) -> bool:
        """Whether times of day, if any, are all hours, minutes and seconds with a fraction behind a point or comma."""
        if self.clock is None:
            return True
        cells = self.layout.column_cells(self.clock)
        return all(cell.count(":") - len(_zone_colon(cell)) == 2 and not cell.lower().endswith("m") for cell in cells)

    def piece(self, data: bytes, first_line: int) -> Piece | None:
        """All numbers of a piece at once; None where it is not plain rows of numbers."""
        if not self.possible or b"_" in data:
            return None
        layout = self.layout
        rows = data.count(b"\n") + (not data.endswith(b"\n"))
        if b'"' in data and layout.separator == "," and layout.decimal != ".":
            return None
        if b"\n\n" in data or b"\n\r\n" in data or data[:1] in b"\r\n":
            return None
        text = self._cleaned(data)
        if text is None:
            return None
        columns = layout.columns + (2 if self.clock is not None else 0)
        values = _parsed(text.translate(self.table, self.gone), rows * columns)
        if values is None and layout.separator != " ":
            values = _parsed(self._blanks_told(text, rows).translate(self.table, self.gone), rows * columns)
        if values is None:
            return None
        table = values.reshape(rows, columns)
        if self.clock is not None:
            at = self.clock
            seconds = table[:, at] * 3600 + table[:, at + 1] * 60 + table[:, at + 2]
            table = np.column_stack([table[:, :at], seconds, table[:, at + 3 :]])
        return Piece(table, first_line)

    def _cleaned(self, data: bytes) -> bytes | None:
        """The piece with words as numbers and dates off; None where marks between thousands are unclear."""
        if not data.isascii():
            for odd, plain in _ODD_BYTES:
                data = data.replace(odd, plain)
        if b"'" in data:
            data = data.replace(b"'", b"")
        for word, number in self.words:
            data = data.replace(word, number)
        if self.dated:
            data = _DATE.sub(b"", data)
        if self.zoned:
            data = _ZONE.sub(b"", data)
        mark = b"." if self.layout.decimal == "," else b","
        if self.layout.decimal != "*" and self.layout.separator != "," and mark in data:
            groups = re.findall(rb"(?<=\d)" + re.escape(mark) + rb"\d{3}(?!\d)", data)
            if len(groups) != data.count(mark):
                return None
        return data

    def _blanks_told(self, data: bytes, rows: int) -> bytes:
        """The piece with NaN in blank cells."""
        mark = self.layout.separator.encode()
        if b" " in data:
            data = data.replace(b" " + mark, mark).replace(mark + b" ", mark)
        for _ in range(2):
            data = data.replace(mark + mark, mark + b"nan" + mark)
        data = data.replace(b"\r\n", b"\n")
        if data.count(mark) < rows * self.layout.columns:
            data = data.replace(mark + b"\n", mark + b"nan\n")
            if data.endswith(mark):
                data += b"nan"
        return data


def _zone_colon(cell: str) -> str:
    """The colon of a time zone at the end of a cell, or nothing."""
    return ":" if re.search(r"[+-]\d\d:\d\d$", cell) else ""


def _replacements(cells: list[str]) -> list[tuple[bytes, bytes]]:
    """Words for levels among the cells, as spelt, with their numbers; the longest first."""
    found = {cell for cell in cells if (cell.lower() in WORDS and len(cell) > 1) or cell in ("H", "L")}
    found |= {cell for cell in cells if cell.lower() in MISSING and cell.lower() in ("n/a", "null", "none", "#n/a")}
    ordered = sorted(found, key=len, reverse=True)
    return [(word.encode(), b"%d" % WORDS[word.lower()] if word.lower() in WORDS else b"nan") for word in ordered]


def _parsed(plain: bytes, count: int) -> Array | None:
    """So many numbers parted by blanks; None where there are more or fewer, or anything else."""
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        try:
            values = np.fromstring(plain, dtype=np.float64, sep=" ")
        except (DeprecationWarning, ValueError):
            return None
    return values if values.size == count else None


def _slow(data: bytes, layout: Layout, first_line: int, name: str, last: bool, before: frozenset[str]) -> Piece:
    """The rows of a piece line by line: comments, blank lines and cells, words, a header that stands again."""
    rows: list[list[float]] = []
    lines: list[int] = []
    breaks: list[int] = []
    text = data.decode("utf-8" if layout.encoding.startswith("utf-16") else layout.encoding, errors="replace")
    split = text.split("\n")
    for offset, line in enumerate(split):
        plain = line.strip(" \r\x1a\ufeff")
        if not plain.strip():
            continue
        if plain.strip() in before:
            breaks.append(len(rows))
            continue
        if plain.lstrip().startswith(COMMENTS):
            continue
        row = _row(plain, layout)
        if row is None:
            if last and (len(split) - offset <= 2 or _only_words(split[offset:], layout)):
                break  # a recording stopped while its last line was written, or words below the numbers
            raise RecordingError(
                f"{name}, line {first_line + offset}: “{plain.strip()[:40]}” is no row of {layout.columns} numbers",
                allowed="one number, level or blank a column",
                next_step="delete the line or record again",
            )
        rows.append(row)
        lines.append(first_line + offset)
    shape = (len(rows), layout.columns)
    table = np.array(rows, dtype=np.float64).reshape(shape)
    return Piece(table, first_line, np.array(lines, dtype=np.int64), tuple(breaks))


def _ends_in_a_row(data: bytes, layout: Layout) -> bool:
    """Whether the last line begins as a row but lacks cells, or ends unfinished at a blank one as no line before."""
    encoding = "utf-8" if layout.encoding.startswith("utf-16") else layout.encoding
    text = data[-TAIL_BYTES:].decode(encoding, errors="replace")
    lines = [line.strip(" \r\x1a\ufeff") for line in text.split("\n")]
    told = [line for line in lines if line.strip()]
    if not told or len(told) < 2 or told[-1].lstrip().startswith(COMMENTS):
        return False
    fields = mended_fields(split_fields(told[-1], layout.separator), layout.torn)
    if _row(told[-1], layout) is None:
        numbers = [cell_value(one, layout.decimal) for one in fields[:-1] or fields]
        words = layout.label is not None or any(layout.is_clock(column) for column in range(layout.columns))
        return len(fields) < layout.columns and (words or None not in numbers) and told[-1][:1] in '+-."0123456789'
    mark = layout.separator
    return mark != " " and lines[-1] != "" and told[-1].endswith(mark) and not told[-2].endswith(mark)


def _only_words(lines: list[str], layout: Layout) -> bool:
    """Whether the last few lines of a file hold no row at all."""
    return len(lines) <= MOST_FOOTER and not any(_row(line.strip(), layout) for line in lines if line.strip())


def _row(line: str, layout: Layout) -> list[float] | None:
    """The numbers of one line, NaN for blank cells; None where it is no row."""
    fields = mended_fields(split_fields(line, layout.separator), layout.torn)
    if layout.separator != " " and line.count(layout.separator) >= layout.columns - 1:
        fields += [""] * (layout.columns - len(fields))
    if len(fields) != layout.columns:
        return None
    row = []
    for place, one in enumerate(fields):
        if place == layout.label and one:
            value: float | None = float(layout.labels.setdefault(one, len(layout.labels)))
        else:
            value = cell_value(one, layout.decimal) if one else float("nan")
        if value is None:
            return None
        row.append(value)
    return row
