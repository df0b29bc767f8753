"""Recordings far longer than needed: the busiest part is read, and the answer says so."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from twoturn.capture.model import Array, Capture, Channel

MOST_SAMPLES, MOST_CHANGES, LEAST_S = 16_000_000, 120_000, 60.0
"""Samples over all channels and changes of one channel that are read [-]: hundreds of turns; and the least time [s]."""
SPAN_BLOCKS, MOST_ROUNDS = 8, 4
LOOKED_AT = 400


def shortened(capture: Capture) -> Capture:
    """The busiest part of a recording that is far longer than needed; any other as it is.

    Parameters
    ----------
    capture
        A capture as read.

    Returns
    -------
    Capture
        With a sentence among its notes where a part was taken.
    """
    part = capture
    for _ in range(MOST_ROUNDS):
        if part.duration_s <= 0 or (share := _share(part)) > 0.9:
            break
        shorter = _busiest_part(part, share)
        if not shorter.channels:
            break
        part = shorter
    if part is capture:
        return capture
    starts = [min(float(one.times_s[0]) for one in which.channels) for which in (capture, part)]
    note = part_note(capture.duration_s, part.duration_s, starts[1] - starts[0])
    return replace(part, notes=(*capture.notes, note))


def _busiest_part(capture: Capture, share: float) -> Capture:
    """The busiest part of a capture, so long a share of it [-]."""
    blocks = int(np.ceil(SPAN_BLOCKS / share))
    start = min(float(one.times_s[0]) for one in capture.channels)
    bounds = start + capture.duration_s * np.arange(blocks + 1) / blocks
    first = busiest(np.array([_activity(one, bounds) for one in capture.channels]), SPAN_BLOCKS)
    begin, end = float(bounds[first]), float(bounds[min(first + SPAN_BLOCKS, blocks)])
    cut = [_part(one, begin, end) for one in capture.channels]
    return replace(capture, channels=tuple(one for one in cut if one.times_s.size > 1), duration_s=end - begin)


def part_note(whole_s: float, part_s: float, start_s: float) -> str:
    """The sentence on a part that was taken.

    Parameters
    ----------
    whole_s, part_s, start_s
        Length of the recording, of the part, and where that begins [s].
    """
    return f"the recording is {whole_s:.0f} s long; {part_s:.0f} s of it were read, from {start_s:.0f} s on"


def busiest(activity: Array, size: int) -> int:
    """Where the run of blocks begins in which most channels are busy most of the time.

    Parameters
    ----------
    activity
        What goes on in each block, shape (channels, blocks), any scale a channel [-].
    size
        Blocks in a run [-].
    """
    scale = np.percentile(activity, 90, axis=1, keepdims=True)
    busy = np.minimum(activity / np.where(scale > 0, 0.5 * scale, 1.0), 1.0).sum(axis=0)
    sums = np.convolve(busy, np.ones(min(size, busy.size)), mode="valid")
    return int(np.argmax(sums > sums.max() - 1e-9))


def swings(values: NDArray[np.float64] | NDArray[np.float32], blocks: int) -> Array:
    """Peak to peak of a signal in each of so many blocks, from some samples of each.

    Parameters
    ----------
    values
        Samples, shape (n,), any unit [-].
    blocks
        Their number [-].
    """
    size = max(1, values.size // blocks)
    cut = values[: size * min(blocks, values.size // size)].reshape(-1, size)[:, :: max(1, size // LOOKED_AT)]
    return np.resize(np.ptp(cut, axis=1).astype(np.float64), blocks)


def _share(capture: Capture) -> float:
    """The share of a recording that is read [-]."""
    samples = sum(one.values.size for one in capture.channels if one.kind == "analogue")
    share = MOST_SAMPLES / max(samples, 1)
    changes = max((_change_times(one).size for one in capture.channels if one.kind != "analogue"), default=0)
    if changes > MOST_CHANGES:
        least = LEAST_S / capture.duration_s if capture.time_known and capture.unit_stated else 0.0
        share = min(share, max(MOST_CHANGES / changes, min(least, 5 * MOST_CHANGES / changes)))
    return share


def _change_times(channel: Channel) -> Array:
    """Times at which a channel of levels changes, or of its edges [s]."""
    if channel.kind == "edges":
        return channel.times_s
    return np.asarray(channel.times_s[1:][np.diff(channel.values) != 0])


def _activity(channel: Channel, bounds: Array) -> Array:
    """How much goes on in a channel between bounds, shape (bounds − 1,) [-]."""
    if channel.kind == "analogue":
        return swings(channel.values, bounds.size - 1)
    return np.diff(np.searchsorted(_change_times(channel), bounds)).astype(np.float64)


def _part(channel: Channel, begin: float, end: float) -> Channel:
    """A channel between two times [s], with the level before them."""
    first, last = np.searchsorted(channel.times_s, [begin, end]).tolist()
    first = max(0, first - (channel.kind == "logic"))
    times, values = channel.times_s[first:last].copy(), channel.values[first:last].copy()
    return replace(channel, times_s=times, values=values)
