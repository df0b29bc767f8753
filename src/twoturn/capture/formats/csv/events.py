"""Lists of events: each row a time, the name or number of a channel, and the level it went to."""

from __future__ import annotations

import re

import numpy as np

from twoturn.capture.formats.channels import LATEST, channel_of
from twoturn.capture.formats.csv.columns import counts_up, grows
from twoturn.capture.formats.csv.layout import Layout
from twoturn.capture.model import Array, Channel

_CHANNEL = re.compile(
    r"^\W*(channel|chan|ch|signal|line|input|pin|source|sensor|kanal|eingang|name|id|probe)\W*$", re.IGNORECASE
)
_LEVEL = re.compile(
    r"\b(state|level|value|edge|transition|polarity|pegel|wert|zustand|flanke|data|new)\b", re.IGNORECASE
)
MOST_CHANNELS = 64


def event_columns(layout: Layout, columns: list[Array]) -> tuple[int, int, int | None] | None:
    """Columns of time, channel and level of a list of events; None where the file is none.

    Parameters
    ----------
    layout
        Layout of the file.
    columns
        Its columns, shape (rows,) each.

    Returns
    -------
    tuple or None
        Time, channel, and level (None for bare edges).
    """
    channel = layout.label if layout.label is not None else _numbered_channel(layout, columns)
    if channel is None:
        return None
    others = [column for column in range(layout.columns) if column != channel and not layout.is_date(column)]
    growing = [column for column in others if grows(columns[column])]
    times = [column for column in growing if not counts_up(columns[column])] or growing
    if not times:
        return None
    levels = [column for column in others if column not in growing]
    named = [column for column in levels if column < len(layout.header) and _LEVEL.search(layout.header[column])]
    told = named or levels
    return times[0], channel, told[0] if told else None


def _numbered_channel(layout: Layout, columns: list[Array]) -> int | None:
    """A column of channel numbers by its heading, next to one of levels."""
    if len(layout.header) != layout.columns or not any(_LEVEL.search(name) for name in layout.header):
        return None
    for column, name in enumerate(layout.header):
        values = columns[column]
        if _CHANNEL.match(name) and np.isfinite(values).all() and (values == np.round(values)).all():
            return column if np.unique(values).size <= MOST_CHANNELS else None
    return None


def event_channels(
    layout: Layout, columns: list[Array], place: tuple[int, int, int | None], scale_s: float
) -> list[Channel]:
    """The channels of a list of events, each at its own times.

    Parameters
    ----------
    layout, columns
        Layout and columns of the file.
    place
        Columns of time, channel and level.
    scale_s
        Seconds of one unit of time [s].

    Returns
    -------
    list
        Those that change.
    """
    time, channel, level = place
    by_number = {number: name for name, number in layout.labels.items()}
    heading = layout.header[channel] if channel < len(layout.header) else "channel"
    out: list[Channel] = []
    for number in np.unique(columns[channel]):
        if not np.isfinite(number):
            continue
        mine = columns[channel] == number
        name = by_number.get(int(number), f"{heading.strip() or 'channel'} {number:g}")
        times = columns[time][mine] * scale_s
        times[np.abs(times) > LATEST] = np.nan
        if level is None:
            times = np.unique(times[np.isfinite(times)])
            out += [Channel(name, "edges", times, np.empty(0))] if times.size > 1 else []
            continue
        values = columns[level][mine]
        keep = np.isfinite(values) & np.isfinite(times)
        times, values = times[keep], values[keep]
        if times.size > 1 and (values == values[0]).all():  # one kind of edge alone was listed
            times = np.unique(times)
            out += [Channel(name, "edges", times, np.empty(0))] if times.size > 1 else []
            continue
        made = channel_of(name, times, values, None)
        out += [made] if made else []
    return out
