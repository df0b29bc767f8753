"""Edges of sampled voltages: two-level sensors by their middle, inductive sensors by the crossing between lobes."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from twoturn.capture.model import Array

Bools = NDArray[np.bool_]
TWO_LEVEL_SHARE = 0.7


def analogue_edges(times_s: Array, values: Array) -> tuple[Array, Bools, str, float]:
    """Edges of one analogue channel.

    Parameters
    ----------
    times_s
        Sample times, shape (n,) [s].
    values
        Samples, shape (n,) [V].

    Returns
    -------
    tuple
        Times of the edges [s], True where rising, the kind of sensor, standard uncertainty of one edge [s].
    """
    levels = two_levels(values)
    if levels is not None:
        middle, half = (levels[0] + levels[1]) / 2, (levels[1] - levels[0]) / 2
        times, rising = level_edges(times_s, values - middle, 0.4 * half)
        return times, rising, "two-level", _edge_u(times_s)
    times, rising = lobe_edges(times_s, values)
    return times, rising, "inductive", _edge_u(times_s)


def two_levels(values: Array) -> tuple[float, float] | None:
    """The two levels [V] of a two-level signal, or None where it is none.

    Parameters
    ----------
    values
        Samples, shape (n,) [V].
    """
    sample = values[:: max(1, values.size // 200_000)]
    low, high = np.percentile(sample, [1.0, 99.0])
    if high <= low:
        return None
    middle = (low + high) / 2
    below, above = sample[sample < middle], sample[sample >= middle]
    if min(below.size, above.size) < 0.04 * sample.size:
        return None
    first, second = float(np.median(below)), float(np.median(above))
    swing = second - first
    near = (np.abs(sample - first) < 0.15 * swing) | (np.abs(sample - second) < 0.15 * swing)
    share_low = float(np.mean(np.abs(sample - first) < 0.15 * swing))
    share_high = float(np.mean(np.abs(sample - second) < 0.15 * swing))
    if near.mean() < TWO_LEVEL_SHARE or min(share_low, share_high) < 0.04:
        return None
    return first, second


def level_edges(times_s: Array, values: Array, guard: float) -> tuple[Array, Bools]:
    """Crossings of 0 by a signal that goes beyond ±guard on both sides.

    Parameters
    ----------
    times_s, values
        Samples [s], [V], shape (n,) each.
    guard
        How far beyond 0 the signal must go to count as changed [V].

    Returns
    -------
    tuple
        Times of the crossings [s] (between samples by a straight line; the middle of several) and True where rising.
    """
    state = np.zeros(values.size, dtype=np.int8)
    state[values > guard] = 1
    state[values < -guard] = -1
    told = np.flatnonzero(state)
    if told.size < 2:
        return np.empty(0), np.empty(0, dtype=bool)
    change = np.flatnonzero(np.diff(state[told]))
    last, first = told[change], told[change + 1]
    cross = np.flatnonzero((values[:-1] >= 0) != (values[1:] >= 0))
    early = cross[np.clip(np.searchsorted(cross, last), 0, cross.size - 1)]
    late = cross[np.clip(np.searchsorted(cross, first) - 1, 0, cross.size - 1)]
    times = (_crossing(times_s, values, early) + _crossing(times_s, values, late)) / 2
    return times, state[first] > 0


def lobe_edges(times_s: Array, values: Array) -> tuple[Array, Bools]:
    """Zero crossings of an inductive sensor: between a lobe and the next one of the other sign.

    The baseline is a slow mean; lobes that are small against their neighbours (noise in a gap, hum) are merged away,
    smallest first, so that the amplitude may grow with speed.

    Parameters
    ----------
    times_s, values
        Samples [s], [V], shape (n,) each.

    Returns
    -------
    tuple
        Times of the crossings [s] and True where the voltage rises through the baseline.
    """
    signal = values - _baseline(values)
    sign = signal >= 0
    cross = np.flatnonzero(sign[1:] != sign[:-1])
    if cross.size < 8:
        return np.empty(0), np.empty(0, dtype=bool)
    starts = np.concatenate([[0], cross + 1])
    peaks = np.maximum.reduceat(np.abs(signal), starts)
    noise = 3.0 * float(np.median(np.abs(np.diff(signal)))) / 0.954
    lobes = _merge(starts, peaks, min(noise, 0.1 * float(np.percentile(peaks, 95))))
    for fraction, reach, rank in ((0.04, 9, 100), (0.08, 9, 100), (0.25, 7, 50), (0.4, 7, 50)):
        for _ in range(6):
            starts, peaks = lobes
            limit = fraction * _local(peaks, reach, rank)
            if not (peaks < limit).any():
                break
            lobes = _merge(starts, peaks, limit)
    begin = lobes[0][1:]
    return _crossing(times_s, signal, begin - 1), sign[begin]


def _baseline(values: Array) -> Array:
    """Slow mean of a signal over a fortieth of its length [V], shape (n,)."""
    from scipy.ndimage import uniform_filter1d

    window = max(3, values.size // 40)
    return np.asarray(uniform_filter1d(uniform_filter1d(values, window, mode="nearest"), window, mode="nearest"))


def _local(peaks: Array, reach: int, rank: int) -> Array:
    """A percentile of the peaks of the neighbouring lobes, shape (n,)."""
    from scipy.ndimage import percentile_filter

    return np.asarray(percentile_filter(peaks, rank, size=2 * reach + 1, mode="nearest"))


def _merge(starts: NDArray[np.int64], peaks: Array, limit: Array | float) -> tuple[NDArray[np.int64], Array]:
    """Merge lobes below a limit into their neighbours: the two of the other sign become one."""
    keep = peaks >= limit
    keep_at = np.flatnonzero(keep)
    if keep_at.size < 2:
        return starts, peaks
    parity = keep_at % 2
    new = np.concatenate([[True], parity[1:] != parity[:-1]])
    group = np.cumsum(new) - 1
    first = keep_at[new]
    merged = np.zeros(group[-1] + 1)
    np.maximum.at(merged, group, peaks[keep_at])
    return starts[first], merged


def _crossing(times: Array, values: Array, index: NDArray[np.int64]) -> Array:
    """Time at which the straight line from sample ``index`` to the next one passes 0 [s]."""
    here, there = values[index], values[index + 1]
    drop = np.where(there == here, 1.0, there - here)
    share = np.clip(np.where(there == here, 0.5, -here / drop), 0.0, 1.0)
    return np.asarray(times[index] + share * (times[index + 1] - times[index]))


def _edge_u(times: Array) -> float:
    """Standard uncertainty of a crossing between samples [s]: a tenth of a step (noise shows in the scatter)."""
    return 0.1 * float(times[-1] - times[0]) / max(1, times.size - 1)
