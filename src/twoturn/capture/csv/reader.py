"""From rows of numbers to channels: where time is, what is a level, what is a voltage, what is an edge."""

from __future__ import annotations

import io
from pathlib import Path
from typing import BinaryIO

import numpy as np
from numpy.typing import NDArray

from twoturn.capture.csv.layout import Layout, find_layout
from twoturn.capture.csv.numbers import read_pieces
from twoturn.capture.csv.units import TimeAxis, time_axis
from twoturn.capture.files import open_plain
from twoturn.capture.model import Array, Capture, Channel
from twoturn.errors import RecordingError

HEAD_BYTES = 65_536


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
        plain = _rewound(file, layout)
        pieces = list(read_pieces(plain, layout, path.name))
    rows = np.concatenate([piece.rows for piece in pieces])
    lines = np.concatenate([piece.lines for piece in pieces])
    if len(rows) < 2:
        raise RecordingError(f"{path.name} holds only {len(rows)} row of numbers", next_step="record again")
    return _capture(path.name, layout, rows, lines)


def _rewound(file: BinaryIO, layout: Layout) -> BinaryIO:
    """The file from its beginning, two-byte text rewritten as UTF-8."""
    file.seek(0)
    if layout.encoding != "utf-16":
        return file
    return io.BytesIO(file.read().decode("utf-16", errors="replace").encode("utf-8"))


def _capture(name: str, layout: Layout, rows: Array, lines: NDArray[np.int64]) -> Capture:
    """Sort the columns into time and channels."""
    axis = time_axis(layout)
    names = [_name(layout, column) for column in range(layout.columns)]
    blank = np.isnan(rows)
    if layout.columns == 1 and not (axis.rate_hz and not _rising(rows[:, 0])):
        return _bare_edges(name, axis, rows, names, lines)
    if layout.columns > 1 and blank[-1].any() and _all_edge_lists(rows):
        return _bare_edges(name, axis, rows, names, lines)
    column = axis.column if axis.column is not None else 0
    if axis.rate_hz and axis.column is None and not _rising(rows[:, 0]):
        times, used = np.arange(len(rows)) / axis.rate_hz, -1
        axis = TimeAxis(None, 1.0, False, axis.rate_hz)
    else:
        _check_time(name, rows[:, column], lines)
        times, used = rows[:, column] * (axis.scale_s or 1.0), column
    known, notes = _known(axis, rows[:, used] if used >= 0 else None)
    times, rate = _even(times, notes)
    channels = []
    for number in range(layout.columns):
        if number != used:
            channel = _channel(names[number], times, _filled(rows[:, number]), rate)
            channels += [channel] if channel else []
            notes += [] if channel else [f"{names[number]} never changes and was left out"]
    if not channels:
        raise RecordingError(f"in {name} no channel ever changes", next_step="check the leads and record again")
    return Capture(
        tuple(channels), float(times[-1] - times[0]), rate if known else None, name, "csv",
        time_known=known, unit_stated=axis.scale_s is not None, notes=tuple(notes),
    )  # fmt: skip


def _name(layout: Layout, column: int) -> str:
    """A channel's name from the header, its unit taken off; ``channel n`` without one."""
    if column >= len(layout.header) or not layout.header[column]:
        return f"channel {column}" if layout.columns > 1 else "channel 1"
    name = layout.header[column]
    return name.split("[")[0].split("(")[0].strip() or name


def _rising(values: Array) -> bool:
    """Whether a column without blanks grows from row to row (equal neighbours allowed)."""
    steps = np.diff(values)
    return bool(np.isfinite(values).all() and (steps >= 0).all() and values[-1] > values[0])


def _all_edge_lists(rows: Array) -> bool:
    """Whether every column is a list of growing times, shorter ones blank at their end."""
    for column in rows.T:
        count = int(np.count_nonzero(np.isfinite(column)))
        if count < 2 or not np.isfinite(column[:count]).all() or not (np.diff(column[:count]) > 0).all():
            return False
    return True


def _bare_edges(name: str, axis: TimeAxis, rows: Array, names: list[str], lines: NDArray[np.int64]) -> Capture:
    """Columns that hold nothing but the times of edges."""
    scale = axis.scale_s or 1.0
    channels = []
    for label, column in zip(names, rows.T, strict=True):
        times = column[np.isfinite(column)]
        steps = np.diff(times)
        if not (steps > 0).all():
            line = int(lines[int(np.argmax(~(steps > 0))) + 1]) if len(lines) > len(steps) else 0
            raise RecordingError(
                f"{name} holds one column, and it does not grow (line {line}): it is neither a list of edge times "
                "nor a recording with a time column",
                allowed="a time column and one column a channel, or edge times that grow",
            )
        channels.append(Channel(label, "edges", times * scale, np.empty(0)))
    ends = [(channel.times_s[0], channel.times_s[-1]) for channel in channels if channel.times_s.size]
    duration = float(max(end for _, end in ends) - min(start for start, _ in ends))
    known, notes = _known(axis, rows)
    return Capture(
        tuple(channels), duration, None, name, "csv",
        time_known=known, unit_stated=axis.scale_s is not None, notes=tuple(notes),
    )  # fmt: skip


def _known(axis: TimeAxis, values: Array | None) -> tuple[bool, list[str]]:
    """Whether the numbers are times, and a sentence where they may be sample numbers of an unknown rate."""
    if axis.scale_s is not None or values is None:
        return True, []
    if axis.counts:
        return False, ["the file counts samples and states no rate: the time is unknown, angles hold"]
    told = values[np.isfinite(values)]
    counted = told.size > 2 and bool((np.diff(told) == 1).all())
    if counted or (axis.column is None and bool((told == np.round(told)).all())):
        return False, [
            "whole numbers without a unit may be sample numbers of any rate: the time is unknown, angles hold; "
            "give the column a heading with its unit, such as “time (us)”"
        ]
    return True, []


def _check_time(name: str, times: Array, lines: NDArray[np.int64]) -> None:
    """Refuse time that is missing, stands still or runs backwards, with the line."""
    missing = ~np.isfinite(times)
    if missing.any():
        raise RecordingError(f"{name}, line {lines[int(np.argmax(missing))]}: the time is missing")
    back = np.diff(times) < 0
    if back.any():
        row = int(np.argmax(back)) + 1
        raise RecordingError(
            f"{name}, line {lines[row]}: time runs backwards, from {times[row - 1]:.9g} to {times[row]:.9g}",
            allowed="time that grows from row to row in the first column",
            next_step="export the recording again",
        )
    if times[-1] <= times[0]:
        raise RecordingError(f"in {name} time stands still at {times[0]:.9g}", next_step="export the recording again")


def _even(times: Array, notes: list[str]) -> tuple[Array, float | None]:
    """Even sampling: its exact times and rate [Hz]; the times as they are and None otherwise."""
    count = len(times)
    if count < 32:
        return times, None
    step = float(times[-1] - times[0]) / (count - 1)
    even = times[0] + step * np.arange(count)
    off = float(np.max(np.abs(times - even)))
    if off <= 0.75 * step:
        return even, 1 / step
    steps = np.diff(times)
    if (steps == 0).mean() > 0.3 and off <= 1.5 * float(steps[steps > 0].min()):
        notes.append("the times were written too coarsely; even sampling was assumed")
        return even, 1 / step
    return times, None


def _filled(values: Array) -> Array:
    """Blank cells take the value above them."""
    blank = np.isnan(values)
    if not blank.any():
        return values
    last = np.maximum.accumulate(np.where(blank, 0, np.arange(len(values))))
    filled = values[last]
    return np.where(np.isnan(filled), filled[np.argmax(~np.isnan(filled))] if not blank.all() else 0.0, filled)


def _channel(name: str, times: Array, values: Array, rate_hz: float | None) -> Channel | None:
    """A channel of levels or volts; None where nothing changes."""
    low, high = float(values.min()), float(values.max())
    if low == high:
        return None
    if bool(((values == low) | (values == high)).all()):
        return Channel(name, "logic", times, np.asarray(values == high, dtype=np.float64), rate_hz)
    return Channel(name, "analogue", times, np.array(values), rate_hz)
