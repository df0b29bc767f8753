"""Which column is time, and whose: by names, by units, and by what grows from row to row."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from twoturn.capture.formats.csv.layout import Layout
from twoturn.capture.formats.csv.units import COUNT_NAMES, TIME_NAMES, column_unit_s, preamble_unit_s, stated_rate_hz
from twoturn.capture.model import Array

DAY_S = 86_400.0
_UNIT_STEPS = (1.0, 1e-3, 1e-6, 1e-9)


@dataclass(frozen=True)
class Base:
    """A time base and its channels.

    Attributes
    ----------
    time
        The column of its times; None where samples are counted from their rate alone.
    channels
        Columns recorded on it.
    scale_s
        Seconds of one unit of the column [s]; None where none is stated.
    counts
        Whether the column counts samples.
    """

    time: int | None
    channels: tuple[int, ...]
    scale_s: float | None
    counts: bool = False


def grows(values: Array, *, strictly: bool = False) -> bool:
    """Whether a column grows from row to row; blank cells at its end do not count.

    Parameters
    ----------
    values
        The column, shape (n,) [any unit].
    strictly
        Whether equal neighbours are ruled out.
    """
    if values.size > 2000 and not grows(values[:1000], strictly=strictly) and not (values[:1000] == values[0]).all():
        return False
    count = values.size
    if np.isnan(values[-1]):
        count = int(np.flatnonzero(np.isfinite(values))[-1]) + 1 if np.isfinite(values).any() else 0
    if count < 2:
        return False
    steps = np.diff(values[:count])
    good = bool(((steps > 0) if strictly else (steps >= 0)).all())  # NaN is neither
    return good and bool(np.isfinite(values[0])) and values[count - 1] > values[0]


def counts_up(values: Array) -> bool:
    """Whether a column counts rows one by one.

    Parameters
    ----------
    values
        The column, shape (n,) [any unit].
    """
    return values.size > 2 and bool((np.diff(values) == 1).all())


def joined_clock(layout: Layout, columns: list[Array], column: int) -> Array:
    """Times of day that go on past midnight, with a fraction from the next column where it stands there [s].

    Parameters
    ----------
    layout, columns
        Layout and columns of the file.
    column
        The column of times of day.
    """
    times = columns[column]
    if has_own_fraction(layout, column):
        digits = len(layout.column_cells(column + 1)[0])
        times = times + columns[column + 1] / 10.0**digits
    back = np.diff(times) < -DAY_S / 2
    return times + DAY_S * np.concatenate([[0], np.cumsum(back)]) if back.any() else times


def has_own_fraction(layout: Layout, column: int) -> bool:
    """Whether the fraction of a second stands in a column of its own: ``12:34:56,789`` parted by commas.

    Parameters
    ----------
    layout
        Layout of the file.
    column
        The column of times of day.
    """
    if column + 2 >= layout.columns or any("." in cell or "," in cell for cell in layout.column_cells(column)):
        return False
    parts = layout.column_cells(column + 1)
    lengths = {len(part) for part in parts}
    return len(lengths) == 1 and lengths <= {3, 6, 9} and all(part.isdecimal() for part in parts)


def usable_columns(layout: Layout, columns: list[Array]) -> list[int]:
    """Columns that hold anything but dates and blank cells; all of them where none does.

    Parameters
    ----------
    layout, columns
        Layout and columns of the file.
    """
    usable = [
        column
        for column in range(layout.columns)
        if not layout.is_date(column) and not (np.isnan(columns[column][:1]).all() and np.isnan(columns[column]).all())
    ]
    return usable or list(range(layout.columns))


def bases_of(layout: Layout, columns: list[Array]) -> list[Base]:
    """Time bases of a file and the columns on each.

    Parameters
    ----------
    layout
        Layout of the file.
    columns
        Its columns, shape (rows,) each.

    Returns
    -------
    list
        At least one.
    """
    usable = usable_columns(layout, columns)
    rate = stated_rate_hz(layout.preamble, layout.decimal)
    named = _named_times(layout, columns, usable)
    if named:
        return _grouped(layout, columns, usable, named)
    counted = [column for column in usable if _is_count(layout, column)]
    if counted:
        rest = tuple(column for column in usable if column != counted[0])
        return [Base(counted[0], rest, 1 / rate if rate else None, counts=True)]
    if rate and (_names_channels(layout) or not grows(columns[usable[0]])):
        return [Base(None, tuple(usable), 1 / rate)]
    return _by_growth(layout, columns, usable, rate)


def _names_channels(layout: Layout) -> bool:
    """Whether every column has a name of its own, the first too."""
    return len(layout.header) == layout.columns and all(layout.header)


def _is_count(layout: Layout, column: int) -> bool:
    """Whether a heading says that a column counts samples."""
    name = layout.header[column] if column < len(layout.header) else ""
    return bool(COUNT_NAMES.match(name)) and column_unit_s(layout, column) is None


def _named_times(layout: Layout, columns: list[Array], usable: list[int]) -> list[int]:
    """Columns that hold times of day, or whose heading says time; behind the first only such as grow."""
    found: list[int] = []
    for column in usable:
        name = layout.header[column] if column < len(layout.header) else ""
        plain = re.sub(r"[_\[\](){}/.:-]", " ", name)
        unit = column_unit_s(layout, column)
        if layout.is_clock(column):
            found.append(column)
        elif name and not (COUNT_NAMES.match(name) and unit is None):
            says = bool(TIME_NAMES.search(plain))
            first = column == usable[0] and (says or unit is not None)
            if first or (says and plain.strip().lower() != "x" and grows(columns[column])):
                found.append(column)
    return found


def _grouped(layout: Layout, columns: list[Array], usable: list[int], named: list[int]) -> list[Base]:
    """One base for each run of time columns, with the channels behind it."""
    bases: list[Base] = []
    place = 0
    while place < len(named):
        run = [named[place]]
        while place + 1 < len(named) and usable.index(named[place + 1]) == usable.index(run[-1]) + 1:
            place += 1
            run.append(named[place])
        place += 1
        end = named[place] if place < len(named) else layout.columns
        begin = 0 if not bases else run[0]
        skip = {column + 1 for column in run if layout.is_clock(column) and has_own_fraction(layout, column)}
        channels = tuple(
            column for column in usable
            if begin <= column < end and column not in named and column not in skip and not _is_count(layout, column)
        )  # fmt: skip
        if channels or (not bases and place >= len(named)):
            best = min(run, key=lambda column: int(np.count_nonzero(np.diff(columns[column]) == 0)))
            bases.append(Base(best, channels, _scale_s(layout, columns, best)))
    scale = next((base.scale_s for base in bases if base.scale_s is not None), None)
    return [Base(one.time, one.channels, one.scale_s if one.scale_s is not None else scale) for one in bases]


def _scale_s(layout: Layout, columns: list[Array], column: int) -> float | None:
    """Seconds of one unit of a time column: by its heading, the text above, or the stated rate [s]."""
    if layout.is_clock(column):
        return 1.0
    from twoturn.capture.formats.csv.cells import has_time_suffix

    cells = layout.column_cells(column)
    if cells and all(has_time_suffix(cell) for cell in cells):
        return 1.0
    unit = column_unit_s(layout, column)
    if unit is None:
        unit = preamble_unit_s(layout.preamble)
    rate = stated_rate_hz(layout.preamble, layout.decimal)
    if unit is not None or not rate:
        return unit
    if counts_up(columns[column]):
        return 1 / rate
    span, count = columns[column][-1] - columns[column][0], columns[column].size - 1
    return next((scale for scale in _UNIT_STEPS if abs(span * scale / count * rate - 1) < 0.02), None)


def _by_growth(layout: Layout, columns: list[Array], usable: list[int], rate: float | None) -> list[Base]:
    """Without headings: a first column that grows is time; a mere count is left for a second one that grows too."""
    first, rest = usable[0], usable[1:]
    scale = _scale_s(layout, columns, first)
    counting = len(usable) > 2 and counts_up(columns[first]) and grows(columns[rest[0]])
    if counting:
        return [Base(rest[0], tuple(rest[1:]), _scale_s(layout, columns, rest[0]))]
    pairs = len(usable) >= 4 and len(usable) % 2 == 0
    pairs = pairs and all(grows(columns[column]) for column in usable[::2])
    if pairs and not any(grows(columns[column]) for column in usable[1::2]):
        return [Base(usable[n], (usable[n + 1],), scale) for n in range(0, len(usable), 2)]
    if rate and scale is None and counts_up(columns[first]):
        return [Base(first, tuple(rest), 1 / rate, counts=True)]
    return [Base(first, tuple(rest), scale)]


def edge_lists(columns: Sequence[Array]) -> bool:
    """Whether every column is a list of growing times, shorter ones blank at their end.

    Parameters
    ----------
    columns
        The columns, shape (rows,) each.
    """
    return all(np.isfinite(column[:2]).all() and column.size > 1 and grows(column, strictly=True) for column in columns)
