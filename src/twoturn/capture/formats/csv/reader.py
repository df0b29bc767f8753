"""From rows of numbers to channels: where time is, what is a level, what is a voltage, what is an edge."""

from __future__ import annotations

import io
from dataclasses import dataclass, replace
from itertools import pairwise
from pathlib import Path
from typing import BinaryIO

import numpy as np

from twoturn.capture.formats.channels import LATEST, channel_of, even_times, filled, left_out
from twoturn.capture.formats.csv.columns import (
    Base,
    bases_of,
    counts_up,
    edge_lists,
    grows,
    joined_clock,
    usable_columns,
)
from twoturn.capture.formats.csv.events import event_channels, event_columns
from twoturn.capture.formats.csv.layout import Layout, find_layout
from twoturn.capture.formats.csv.numbers import Piece, read_pieces
from twoturn.capture.formats.csv.units import column_unit_s, preamble_unit_s, stated_rate_hz
from twoturn.capture.formats.files import open_plain
from twoturn.capture.model import Array, Capture, Channel
from twoturn.errors import RecordingError

HEAD_BYTES = 65_536
CUT_OFF = "the last row is not whole: the file seems cut off there; the rows before it were read"


@dataclass(frozen=True, eq=False)
class Table:
    """All rows of a file, column by column.

    Attributes
    ----------
    name, layout
        File name and layout.
    columns
        Its columns, shape (rows,) each; NaN for blank cells, infinite for overloads.
    pieces
        First row, first line and lines of each piece, for error sentences.
    breaks
        Rows before which the header stands again [-].
    cut
        Whether the file ends in the middle of a row.
    """

    name: str
    layout: Layout
    columns: list[Array]
    pieces: tuple[tuple[int, Piece], ...]
    breaks: tuple[int, ...]
    cut: bool = False

    def line(self, row: int) -> int:
        """The line of the file that a row stands in, counted from 1."""
        first, piece = next((one for one in reversed(self.pieces) if one[0] <= row), self.pieces[0])
        return int(piece.lines[row - first]) if piece.lines is not None else piece.first_line + row - first


def read(path: Path) -> Capture:
    """Read a text capture.

    Parameters
    ----------
    path
        The file, which may be packed with gzip.

    Returns
    -------
    Capture
        Its channels, those that never change left out.

    Raises
    ------
    RecordingError
        No rows of numbers, a line that is none, time that runs backwards, or nothing that changes.
    """
    with open_plain(path) as file:
        head = file.read(HEAD_BYTES + 1)
        layout = find_layout(head[:HEAD_BYTES], whole=len(head) <= HEAD_BYTES)
        if layout is None:
            raise RecordingError(
                f"{path.name} is text without rows of numbers",
                allowed="a time column and one column a channel, or bare edge times",
            )
        table = _table(path.name, layout, _rewound(file, layout))
    rows = table.columns[0].size
    if rows < 2:
        raise RecordingError(f"{path.name} holds only {rows} row of numbers", next_step="record again")
    capture = _capture(table)
    return replace(capture, notes=(*capture.notes, CUT_OFF)) if table.cut else capture


def _rewound(file: BinaryIO, layout: Layout) -> BinaryIO:
    """The file from its beginning, two-byte text rewritten as UTF-8, lines ended as usual."""
    file.seek(0)
    if layout.encoding.startswith("utf-16"):
        text = file.read().decode(layout.encoding, errors="replace").encode("utf-8")
    elif layout.returns:
        text = file.read()
    else:
        return file
    return io.BytesIO(text.replace(b"\r", b"\n") if layout.returns else text)


def _table(name: str, layout: Layout, file: BinaryIO) -> Table:
    """All rows, column by column; pieces are let go as they are joined."""
    parts: list[list[Array]] = [[] for _ in range(layout.columns)]
    pieces: list[tuple[int, Piece]] = []
    breaks: list[int] = []
    count = 0
    for piece in read_pieces(file, layout, name):
        for column, part in enumerate(parts):
            part.append(np.ascontiguousarray(piece.rows[:, column]))
        breaks += [count + row for row in piece.breaks]
        pieces.append((count, replace(piece, rows=np.empty((0, 0)))))
        count += len(piece.rows)
    columns = []
    for part in parts:
        columns.append(np.concatenate(part) if part else np.empty(0))
        part.clear()
    cut = bool(pieces) and pieces[-1][1].cut
    return Table(name, layout, columns, tuple(pieces), tuple(breaks), cut)


def _capture(table: Table) -> Capture:
    """Sort the columns into time and channels."""
    layout, columns = table.layout, table.columns
    for column in range(layout.columns):
        if layout.is_clock(column):
            columns[column] = joined_clock(layout, columns, column)
    if (place := event_columns(layout, columns)) is not None:
        return _events(table, place)
    if (lists := _edge_columns(table)) is not None:
        return _bare_edges(table, lists)
    notes: list[str] = []
    table = _longest_run(table, notes)
    bases = bases_of(layout, table.columns)
    channels: list[Channel] = []
    still: list[str] = []
    known = True
    for base in bases:
        times, told = _base_times(table, base, notes)
        known &= told
        times, rate = even_times(times, notes)
        for column in base.channels:
            values = _clipped(table.columns[column][: times.size], _name(layout, column), notes)
            made = channel_of(_name(layout, column), times, filled(values), rate)
            channels += [made] if made else []
            still += [] if made else [_name(layout, column)]
            table.columns[column] = np.empty(0)
    if not channels:
        raise RecordingError(f"in {table.name} no channel ever changes", next_step="check the leads and record again")
    return _made(table.name, channels, known, bases[0].scale_s is not None, [*notes, *left_out(still)])


def _made(name: str, channels: list[Channel], known: bool, stated: bool, notes: list[str]) -> Capture:
    """The capture of some channels."""
    start = min(float(one.times_s[0]) for one in channels)
    end = max(float(one.times_s[-1]) for one in channels)
    rates = {one.rate_hz for one in channels}
    rate = rates.pop() if len(rates) == 1 and known else None
    told = tuple(dict.fromkeys(notes))
    return Capture(tuple(channels), end - start, rate, name, "csv", time_known=known, unit_stated=stated, notes=told)


def _name(layout: Layout, column: int) -> str:
    """A channel's name from the header, its unit taken off; ``channel n`` without one."""
    if column >= len(layout.header) or not layout.header[column]:
        return f"channel {column}" if layout.columns > 1 else "channel 1"
    name = layout.header[column]
    return name.split("[")[0].split("(")[0].strip() or name


def _longest_run(table: Table, notes: list[str]) -> Table:
    """The longest of several recordings in one file: where the header stands again and time begins anew."""
    cuts = [row for row in sorted(set(table.breaks)) if 0 < row < table.columns[0].size]
    if not cuts:
        return table
    bases = bases_of(table.layout, [column[: cuts[0]] for column in table.columns])
    time = bases[0].time
    if time is not None:
        cuts = [row for row in cuts if table.columns[time][row] < table.columns[time][row - 1]]
    if not cuts:
        return table
    ends = [0, *cuts, table.columns[0].size]
    first, last = max(pairwise(ends), key=lambda run: run[1] - run[0])
    notes.append(f"the file holds {len(cuts) + 1} recordings one after the other; the longest was read")
    pieces = tuple((row - first, piece) for row, piece in table.pieces)
    return replace(table, columns=[column[first:last] for column in table.columns], pieces=pieces)


def _base_times(table: Table, base: Base, notes: list[str]) -> tuple[Array, bool]:
    """Times of one base [s], and whether they are times at all."""
    if base.time is None:
        return np.arange(table.columns[base.channels[0]].size, dtype=np.float64) * (base.scale_s or 1.0), True
    times = table.columns[base.time]
    if np.isnan(times[-1]) and base.time > 0:  # the lists of other channels go on
        times = times[: int(np.flatnonzero(np.isfinite(times))[-1]) + 1] if np.isfinite(times).any() else times
    _check_time(table, times)
    known, why = _known(table.layout, base, [times])
    notes += why
    return times * (base.scale_s or 1.0), known


def _clipped(values: Array, name: str, notes: list[str]) -> Array:
    """Overloads take the greatest or least value that the column holds."""
    over = np.isinf(values)
    if not over.any():
        return values
    finite = values[np.isfinite(values)]
    if finite.size == 0 or finite.min() == finite.max():  # two levels, one of them beyond the range
        return np.where(over, np.sign(values) + (finite[0] if finite.size else 0.0), values)
    notes.append(f"{int(np.count_nonzero(over))} overloads of {name} were taken as the end of its range")
    limited = np.where(over & (values > 0), finite.max(), values)
    return np.where(over & (values < 0), finite.min(), limited)


def _edge_columns(table: Table) -> list[int] | None:
    """Columns of bare edge times; None where the file holds levels or volts."""
    layout, columns = table.layout, table.columns
    rate = stated_rate_hz(layout.preamble, layout.decimal)
    usable = usable_columns(layout, columns)
    if len(usable) == 1:
        return None if rate and not grows(columns[usable[0]]) else usable
    if counts_up(columns[usable[0]]) and edge_lists([columns[column] for column in usable[1:]]):
        return usable[1:]
    if all(column[-1] == column[-1] for column in columns) and len(layout.header) == layout.columns:
        return None
    return usable if edge_lists([columns[column] for column in usable]) else None


def _bare_edges(table: Table, lists: list[int]) -> Capture:
    """Columns that hold nothing but the times of edges."""
    layout = table.layout
    units = [column_unit_s(layout, column) for column in lists]
    stated = next((unit for unit in units if unit is not None), preamble_unit_s(layout.preamble))
    if any(layout.is_clock(column) for column in lists):
        stated = 1.0
    channels = []
    for column in lists:
        times = table.columns[column]
        times = times[np.isfinite(times) & (np.abs(times) <= LATEST)]
        wrong = np.flatnonzero(~(np.diff(times) > 0))
        if wrong.size or times.size < 2:
            line = table.line(int(wrong[0]) + 1) if wrong.size else table.line(0)
            raise RecordingError(
                f"{table.name} holds one column, and it does not grow (line {line}): it is neither a list of edge "
                "times nor a recording with a time column",
                allowed="a time column and one column a channel, or edge times that grow",
            )
        channels.append(Channel(_name(layout, column), "edges", times * (stated or 1.0), np.empty(0)))
    base = Base(None, tuple(lists), stated)
    known, notes = _known(layout, base, [table.columns[column] for column in lists])
    return _made(table.name, channels, known, stated is not None, notes)


def _events(table: Table, place: tuple[int, int, int | None]) -> Capture:
    """A list of events: time, channel, level."""
    scale = column_unit_s(table.layout, place[0]) or preamble_unit_s(table.layout.preamble)
    if table.layout.is_clock(place[0]):
        scale = 1.0
    channels = event_channels(table.layout, table.columns, place, scale or 1.0)
    if not channels:
        raise RecordingError(f"in {table.name} no channel ever changes", next_step="check the leads and record again")
    known, notes = _known(table.layout, Base(place[0], (), scale), [table.columns[place[0]]])
    return _made(table.name, channels, known, scale is not None, notes)


def _known(layout: Layout, base: Base, columns: list[Array]) -> tuple[bool, list[str]]:
    """Whether the numbers are times, and a sentence where they may be sample numbers of an unknown rate."""
    if base.scale_s is not None:
        return True, []
    if base.counts:
        return False, ["the file counts samples and states no rate: the time is unknown, angles hold"]
    told = [column[np.isfinite(column)] for column in columns]
    whole = all(bool((one == np.round(one)).all()) for one in told)
    bare = base.time is None or not (base.time < len(layout.header) and layout.header[base.time])
    if whole and (bare or (base.time == 0 and all(counts_up(one) for one in told))):
        return False, [
            "whole numbers without a unit may be sample numbers of any rate: the time is unknown, angles hold; "
            "give the column a heading with its unit, such as “time (us)”"
        ]
    return True, []


def _check_time(table: Table, times: Array) -> None:
    """Refuse time that is missing, stands still or runs backwards, with the line."""
    name = table.name
    missing = ~np.isfinite(times)
    if missing.any():
        raise RecordingError(f"{name}, line {table.line(int(np.argmax(missing)))}: the time is missing")
    absurd = np.abs(times) > LATEST
    if absurd.any():
        row = int(np.argmax(absurd))
        raise RecordingError(
            f"{name}, line {table.line(row)}: {times[row]:.3g} is no time", next_step="delete the line"
        )
    back = np.diff(times) < 0
    if back.any():
        row = int(np.argmax(back)) + 1
        raise RecordingError(
            f"{name}, line {table.line(row)}: time runs backwards, from {times[row - 1]:.9g} to {times[row]:.9g}",
            allowed="time that grows from row to row in the first column",
            next_step="export the recording again",
        )
    if times[-1] <= times[0]:
        raise RecordingError(f"in {name} time stands still at {times[0]:.9g}", next_step="export the recording again")
