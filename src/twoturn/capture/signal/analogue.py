"""Edges of sampled voltages: two-level sensors by their middle, inductive sensors by the crossing between lobes."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from twoturn.capture.model import Array
from twoturn.capture.signal.hum import without_hum

Bools = NDArray[np.bool_]
TWO_LEVEL_SHARE, LEAST_SHARE = 0.7, 0.003
LOBE_SHARE = 0.3
"""A lobe counts from this share of the amplitude round it [-]."""
THIRD_LEVEL, RESTING = 0.25, 0.12
"""A signal that rests between its extremes, so far from both and so near, has three levels [share of its range]."""
SPARSE_PEAK, SPARSE_SHARE, STEEP_SHARE, JUMP_SHARE = 4.0, 0.25, 0.3, 0.9
"""Few pulses on a quiet baseline: peaks above the usual voltage by this factor, lobes for this share of the time; a
crossing counts from this share of the steepness round it; a jump within a sample or two [share of the peaks]."""


@dataclass(frozen=True, eq=False)
class AnalogueEdges:
    """Edges of one analogue channel.

    Attributes
    ----------
    times_s, rising
        Times of the edges [s], True where rising, shape (n,) each.
    sensor
        The kind of sensor.
    u_s
        Standard uncertainty of one edge [s].
    steep_v_per_s
        How steep each crossing is, shape (n,) [V/s]; None for two levels.
    hum_hz
        Frequency of the mains hum that was taken out [Hz]; None where none was.
    """

    times_s: Array
    rising: Bools
    sensor: str
    u_s: float
    steep_v_per_s: Array | None = None
    hum_hz: float | None = None


def analogue_edges(times_s: Array, values: Array) -> AnalogueEdges:
    """Edges of one analogue channel.

    Parameters
    ----------
    times_s
        Sample times, shape (n,) [s].
    values
        Samples, shape (n,) [V].

    Returns
    -------
    AnalogueEdges
        Times of the edges [s] and what is known of them.
    """
    levels = two_levels(values)
    if levels is not None:
        middle, half = (levels[0] + levels[1]) / 2, (levels[1] - levels[0]) / 2
        times, rising = level_edges(times_s, values - middle, 0.4 * half)
        return AnalogueEdges(times, rising, "two-level", _edge_u(times_s))
    signal, hum_hz = without_hum(times_s, values - _baseline(values))
    times, rising, steep = lobe_edges(times_s, signal)
    return AnalogueEdges(times, rising, "inductive", _edge_u(times_s), steep, hum_hz)


def two_levels(values: Array) -> tuple[float, float] | None:
    """The two levels [V] of a two-level signal, or None where it is none.

    Parameters
    ----------
    values
        Samples, shape (n,) [V].
    """
    sample = values[:: max(1, values.size // 200_000)]
    low, high = np.percentile(sample, [0.05, 99.95])
    if high <= low:
        return None
    rest = float(np.median(sample))
    if (
        min(high - rest, rest - low) > THIRD_LEVEL * (high - low)
        and np.mean(np.abs(sample - rest) < RESTING * (high - low)) > 0.5
    ):
        return None  # at rest between pulses of both signs: an inductive sensor
    middle = (low + high) / 2
    below, above = sample[sample < middle], sample[sample >= middle]
    if min(below.size, above.size) < LEAST_SHARE * sample.size:
        return None
    first, second = float(np.median(below)), float(np.median(above))
    swing = second - first
    near = (np.abs(sample - first) < 0.15 * swing) | (np.abs(sample - second) < 0.15 * swing)
    share_low = float(np.mean(np.abs(sample - first) < 0.15 * swing))
    share_high = float(np.mean(np.abs(sample - second) < 0.15 * swing))
    if near.mean() < TWO_LEVEL_SHARE or min(share_low, share_high) < LEAST_SHARE:
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


def lobe_edges(times_s: Array, signal: Array) -> tuple[Array, Bools, Array]:
    """Zero crossings of an inductive sensor: between a lobe and the next one of the other sign.

    A lobe counts when it reaches a share of the amplitude round it, which may grow with
    speed. The signal is smoothed as far as noise demands and the teeth allow: over a sixteenth of a tooth.

    Parameters
    ----------
    times_s, signal
        Times [s] and samples about their baseline [V], shape (n,) each.

    Returns
    -------
    tuple
        Times of the crossings [s], True where the voltage rises through the baseline, and steepness [V/s].
    """
    window = _smoothing(signal)
    smooth = _mean(signal, window)
    found = _schmitt(smooth)
    if found.at.size > 8:
        jumps = _jumps(signal)
        if jumps:
            window = 1
        elif found.pulses:
            window = max(1, int(found.lobe / 6))
        else:
            spacing = float(np.percentile(np.diff(found.at), 20))
            window = int(np.clip(spacing / 10, 1, window if window > 1 else 64))
        smooth = _mean(signal, window)
        found = _schmitt(smooth, pulses=found.pulses or jumps)
    step = (times_s[-1] - times_s[0]) / max(1, times_s.size - 1)
    at, rising, reach = found.at, found.rising, window if found.pulses else 0
    steep = np.abs(smooth[np.minimum(at + 1 + reach, smooth.size - 1)] - smooth[np.maximum(at - reach, 0)])
    if found.pulses:
        kept = _steep_enough(steep)
        at, rising, steep = at[kept], rising[kept], steep[kept]
    return _line_crossing(times_s, smooth, at, window), rising, steep / (step * (1 + 2 * reach))


@dataclass(frozen=True, eq=False)
class _Lobes:
    """Crossings between lobes.

    ``at`` sample before each, ``rising`` its sense, ``pulses`` whether the lobes are few on a quiet baseline (then slow
    returns to it are still among them), ``lobe`` samples of a middling lobe.
    """

    at: NDArray[np.int64]
    rising: Bools
    pulses: bool
    lobe: float


def _jumps(signal: Array) -> bool:
    """Whether the voltage jumps within a sample or two: a Hall sensor behind a capacitor, not a wave."""
    at = _schmitt(signal, pulses=True).at
    if at.size < 8:
        return False
    step = np.abs(signal[np.minimum(at + 2, signal.size - 1)] - signal[np.maximum(at - 1, 0)])
    return bool(np.percentile(step, 60) > JUMP_SHARE * np.percentile(np.abs(signal), 98))


def _steep_enough(steep: Array) -> Bools:
    """Crossings that are no slow return to the baseline between pulses."""
    from scipy.ndimage import maximum_filter1d

    return np.asarray(steep >= STEEP_SHARE * maximum_filter1d(steep, 9, mode="nearest")) if steep.size else steep > 0


def _smoothing(signal: Array) -> int:
    """Samples to smooth over so that noise makes no lobes: the least from which on their number stays the same."""
    middle = signal.size // 2
    part = signal[max(0, middle - 200_000) : middle + 200_000]
    windows = [w for w in (1, 2, 4, 8, 16, 32, 64, 128, 256, 512, 1024, 2048) if 40 * w < part.size] or [1]
    counts = np.array([_schmitt(_mean(part, window)).at.size for window in windows], dtype=np.float64)
    for index in range(len(windows) - 1):
        here, there = counts[index], counts[index + 1]
        if there >= 8 and abs(here - there) <= 0.03 * there + 1:
            return windows[index]
    return 1


def _mean(signal: Array, window: int) -> Array:
    """Running mean, twice, without delay, shape (n,)."""
    if window < 2:
        return signal
    from scipy.ndimage import uniform_filter1d

    odd = window | 1
    return np.asarray(uniform_filter1d(uniform_filter1d(signal, odd, mode="nearest"), odd, mode="nearest"))


def _schmitt(signal: Array, *, pulses: bool = False) -> _Lobes:
    """Crossings of 0 between lobes that reach a share of the local amplitude.

    Where lobes are few pulses on a quiet baseline, or are told to be, the crossing just before each lobe counts.
    """
    guard = LOBE_SHARE * _amplitude(signal)
    state = np.zeros(signal.size, dtype=np.int8)
    state[signal > guard] = 1
    state[signal < -guard] = -1
    told = np.flatnonzero(state)
    if told.size < 2:
        return _Lobes(np.empty(0, dtype=np.int64), np.empty(0, dtype=bool), False, 1.0)
    change = np.flatnonzero(np.diff(state[told]))
    last, first = told[change], told[change + 1]
    cross = np.flatnonzero((signal[:-1] >= 0) != (signal[1:] >= 0))
    early = cross[np.clip(np.searchsorted(cross, last), 0, cross.size - 1)]
    late = cross[np.clip(np.searchsorted(cross, first) - 1, 0, cross.size - 1)]
    few = pulses or told.size < SPARSE_SHARE * signal.size
    lobe = float(np.median(last[1:] - first[:-1])) if change.size > 1 else 1.0
    return _Lobes(late if few else (early + late) // 2, state[first] > 0, few, lobe)


def _amplitude(signal: Array) -> Array:
    """Amplitude of the lobes round each sample, shape (n,) [V]: from blocks, so that it follows speed but not a gap.

    Of few pulses on a quiet baseline it is what most of them reach in a quarter of the recording.
    """
    from scipy.ndimage import median_filter, percentile_filter

    size = max(16, signal.size // 160)
    blocks = signal.size // size
    if blocks < 4:
        return np.full(signal.size, float(np.percentile(np.abs(signal), 90)))
    high = np.percentile(np.abs(signal[: blocks * size]).reshape(blocks, size)[:, :: max(1, size // 4000)], 90, axis=1)
    peaks = np.abs(signal[: blocks * size]).reshape(blocks, size).max(axis=1)
    level = median_filter(high, size=5, mode="nearest")
    if np.percentile(peaks, 90) > SPARSE_PEAK * np.median(high) and _quiet(signal):
        level = percentile_filter(peaks, 95, size=max(5, blocks // 4), mode="nearest") / 1.3
    floor = 0.02 * float(level.max())
    centres = (np.arange(blocks) + 0.5) * size
    return np.asarray(np.interp(np.arange(signal.size), centres, np.maximum(level, floor)))


def _quiet(signal: Array) -> bool:
    """Whether a good part of a recording shows no pulse at all."""
    size = max(8, signal.size // 1000)
    blocks = signal.size // size
    peaks = np.abs(signal[: blocks * size]).reshape(blocks, size).max(axis=1)
    return bool(np.percentile(peaks, 99) > SPARSE_PEAK * np.percentile(peaks, 40))


def _baseline(values: Array) -> Array:
    """Slow mean of a signal over a fortieth of its length [V], shape (n,)."""
    return _mean(values, max(3, values.size // 40))


def _line_crossing(times: Array, values: Array, index: NDArray[np.int64], window: int) -> Array:
    """Time at which a straight line through the samples round each crossing passes 0 [s]."""
    reach = max(1, window // 2)
    if reach == 1 or index.size == 0:
        return _crossing(times, values, index)
    offsets = np.arange(-reach, reach + 2)
    rows = np.clip(index[:, None] + offsets[None, :], 0, values.size - 1)
    near, at = values[rows], times[rows] - times[index][:, None]
    slope = np.sum((at - at.mean(1, keepdims=True)) * near, 1) / np.sum((at - at.mean(1, keepdims=True)) ** 2, 1)
    zero = at.mean(1) - near.mean(1) / np.where(slope == 0, np.inf, slope)
    limit = (offsets[-1] + 1) * (times[-1] - times[0]) / max(1, times.size - 1)
    return np.asarray(np.where(np.abs(zero) <= limit, times[index] + zero, _crossing(times, values, index)))


def _crossing(times: Array, values: Array, index: NDArray[np.int64]) -> Array:
    """Time at which the straight line from sample ``index`` to the next one passes 0 [s]."""
    here, there = values[index], values[index + 1]
    drop = np.where(there == here, 1.0, there - here)
    share = np.clip(np.where(there == here, 0.5, -here / drop), 0.0, 1.0)
    return np.asarray(times[index] + share * (times[index + 1] - times[index]))


def _edge_u(times: Array) -> float:
    """Standard uncertainty of a crossing between samples [s]: a tenth of a step (noise shows in the scatter)."""
    return 0.1 * float(times[-1] - times[0]) / max(1, times.size - 1)
