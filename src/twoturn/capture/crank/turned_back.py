"""A crankshaft that turned back while it was recorded: where, and the longest run without that.

One sensor cannot see a direction. But whatever turns back comes to a stand on the way: over the teeth on both sides the
speed goes with the root of the angle from there, to nothing. A compression slows the engine over a longer way and not
to nothing, and the teeth come on after it as the wheel has them. So a stand is taken for a turning back where teeth or
cam edges do not come on as they do elsewhere.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from twoturn.capture.cams import common_repeat
from twoturn.capture.crank.choose import MISREAD, CrankCandidate, oddness, repeat_of
from twoturn.capture.model import Array
from twoturn.capture.signal.edges import EdgeTrain
from twoturn.capture.wheel.shape import Wheel

AROUND = 7
"""How many teeth away the speed is compared with that at a stand [-]."""
SLOWER, FAR_SLOWER = 1.5, 2.5
"""Ratio of the intervals at a stand to those around it, on both sides, or on one where another stand is near [-]."""
LONGEST = 3.2
"""Longest interval of a stand against those around it, at least [-]; by the root law it is four."""
LEAST_FAULTS = 2
"""Teeth too many or too few, within a section of the wheel, that make a stand a turning back [-]."""
LEAST_EDGES = 40


def stands(times_s: Array, steps: Array | None = None) -> list[float]:
    """Moments at which the crankshaft all but stood still between faster turning.

    Parameters
    ----------
    times_s
        Times of the edges of one polarity of the crank channel, shape (n,) [s].
    steps
        Steps between them where known, shape (n - 1,) [normal steps].

    Returns
    -------
    list
        Times [s], growing.
    """
    from scipy.ndimage import median_filter

    if times_s.size < LEAST_EDGES:
        return []
    raw = np.diff(times_s) / (1.0 if steps is None else steps)
    slow = median_filter(raw, size=5, mode="nearest")
    before = np.concatenate([np.full(AROUND, np.nan), slow[:-AROUND]])
    after = np.concatenate([slow[AROUND:], np.full(AROUND, np.nan)])
    ratios = slow / np.array([before, after])
    both = np.nan_to_num(ratios, nan=np.inf).min(axis=0)
    most = np.nan_to_num(ratios, nan=0.0).max(axis=0)
    found = np.flatnonzero((both > SLOWER) | (most > FAR_SLOWER))
    if not found.size:
        return []
    groups = np.split(found, np.flatnonzero(np.diff(found) > AROUND) + 1)
    fast = np.fmin(before, after)
    return [
        _slowest(times_s, raw, int(group[0]), int(group[-1]))
        for group in groups
        if raw[max(0, group[0] - 2) : group[-1] + 3].max() > LONGEST * np.nanmin(fast[group])
    ]


def _slowest(times_s: Array, raw: Array, first: int, last: int) -> float:
    """The middle of the longest interval of a slow stretch [s]."""
    longest = first + int(np.argmax(raw[first : last + 1]))
    return float(times_s[longest] + times_s[longest + 1]) / 2


def turned_back(candidate: CrankCandidate, cams: Sequence[EdgeTrain]) -> list[float]:
    """Moments at which the crankshaft seems to have turned back.

    Parameters
    ----------
    candidate
        The crank channel as it was read, silences mended.
    cams
        The cam channels.

    Returns
    -------
    list
        Times [s], growing; empty where every stand was passed forwards.
    """
    if oddness(candidate) == MISREAD:
        return stands(candidate.train.of(candidate.edge))
    slow = stands(candidate.train.of(candidate.edge), _steps(candidate))
    if not slow:
        return []
    wrong = np.sort(np.concatenate([_tooth_faults(candidate), *_strange_edges(candidate, cams)]))
    reach = len(candidate.shape.steps) + AROUND
    times = candidate.train.of(candidate.edge)
    found = []
    for at in slow:
        here = int(np.searchsorted(times, at))
        begin, end = times[max(0, here - reach)], times[min(times.size - 1, here + reach)]
        if np.count_nonzero((wrong >= begin) & (wrong <= end)) >= LEAST_FAULTS:
            found.append(at)
    return found


def _steps(candidate: CrankCandidate) -> Array:
    """Steps between all edges of the polarity: those of the wheel between teeth that follow each other, else 1 [-]."""
    times, track = candidate.train.of(candidate.edge), candidate.track
    wheel = Wheel(candidate.shape.steps)
    counted = np.isin(times, track.times_s)
    tooth = np.zeros(times.size, dtype=np.int64)
    tooth[counted] = track.tooth[: np.count_nonzero(counted)]
    known = counted[1:] & counted[:-1] & (np.diff(tooth) == 1)
    size = np.array(wheel.steps)[tooth[:-1] % len(wheel.steps)] / wheel.normal_step
    return np.where(known, size, 1.0)


def _tooth_faults(candidate: CrankCandidate) -> Array:
    """Times of the edges that are no teeth, and of the teeth after missed ones, once for each missed one [s]."""
    track = candidate.track
    times = candidate.train.of(candidate.edge)
    false = times[~np.isin(times, track.times_s)]
    missed = np.diff(track.tooth) - 1
    missed[[number - 1 for number in track.breaks]] = 0
    return np.concatenate([false, np.repeat(track.times_s[1:], np.minimum(missed, LEAST_FAULTS))])


def _strange_edges(candidate: CrankCandidate, cams: Sequence[EdgeTrain]) -> list[Array]:
    """Times of the cam edges that come where no other of their kind comes, each twice [s]."""
    repeat = common_repeat([repeat_of(candidate, train) for train in cams])
    if not repeat:
        return []
    track = candidate.positions_track()
    tolerance = 0.3 if len(candidate.shape.steps) == 1 else 0.08
    found = []
    for train in cams:
        positions, _ = track.at(train.times_s)
        for kind in (False, True):
            mine = np.flatnonzero((train.rising == kind) & np.isfinite(positions))
            places = positions[mine] / 360.0 % repeat
            near = _near(places, tolerance, float(repeat))
            cycles = np.ptp(positions[mine]) / 360.0 / repeat if mine.size else 0.0
            found.append(np.repeat(train.times_s[mine[near < max(1.0, 0.3 * cycles)]], LEAST_FAULTS))
    return found


def _near(places: Array, tolerance: float, repeat: float) -> NDArray[np.int64]:
    """How many others lie within a tolerance on a circle, shape (n,) [-]."""
    order = np.sort(np.concatenate([places - repeat, places, places + repeat]))
    low = np.searchsorted(order, places - tolerance)
    return np.asarray(np.searchsorted(order, places + tolerance, side="right") - low - 1)


def longest_run(times_s: Array, cuts: Sequence[float]) -> tuple[float, float]:
    """Begin and end of the longest run between turnings back, by its edges.

    Parameters
    ----------
    times_s
        Times of the edges of the crank channel, shape (n,) [s].
    cuts
        Moments of turning back, growing [s].

    Returns
    -------
    tuple
        Times [s].
    """
    ends = [-np.inf, *cuts, np.inf]
    return max(pairwise(ends), key=lambda run: int(np.count_nonzero((times_s > run[0]) & (times_s < run[1]))))


def within(train: EdgeTrain, run: tuple[float, float]) -> EdgeTrain:
    """The edges of a channel within a run.

    Parameters
    ----------
    train
        The channel's edges.
    run
        Begin and end [s].
    """
    kept = (train.times_s > run[0]) & (train.times_s < run[1])
    steep = None if train.steep_v_per_s is None else train.steep_v_per_s[kept]
    return replace(train, times_s=train.times_s[kept], rising=train.rising[kept], steep_v_per_s=steep)
