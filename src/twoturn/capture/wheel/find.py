"""Finding out what wheel a row of edges comes from, without being told.

Speed changes slowly from tooth to tooth while the wheel repeats exactly: so the ratios of neighbouring intervals repeat
with the wheel. The period is the lag at which they repeat best; the steps are the intervals, cleared of speed, as whole
numbers of places.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from twoturn.capture.model import Array
from twoturn.capture.wheel.shape import Wheel, from_zero
from twoturn.capture.wheel.steps import LEAST_FREE, plainness, refined, starts

MAX_PERIOD = 260
STRETCHES = (7, 2)
"""Sections over which a wheel is looked at: many against noise, few between faults [-]."""
MOST_EDGES = 12_000
EVEN_JUMP, EVEN_SHARE, MOST_NOISE = 0.45, 0.025, 0.45
DIP = 0.85
GAP_SHOWS = 0.5
"""How far a stated gap must stand out from the intervals beside it, against what an even speed makes of it [-]."""
MOST_WORST, MOST_MISFIT = 0.32, 0.13
"""Greatest and root mean square misfit of the log intervals of a wheel [-]."""
LIKELY_SWING = 0.8
"""Log of greatest over least speed within a turn that an engine has [-]: more is held against a wheel."""


@dataclass(frozen=True, eq=False)
class Shape:
    """The repeating steps of a wheel and where they were seen.

    Attributes
    ----------
    steps
        Steps of one section from its tooth 0 [places].
    misfit
        Root mean square of the log of measured over whole steps [-].
    cost
        Misfit and how far the wheel is from the usual ones, for choosing [-].
    noise
        Typical change of the interval ratio from turn to turn [-].
    edge_zero
        Index of an edge that is a tooth 0 [-].
    first, last
        The stretch of edges on which this was seen [-].
    """

    steps: tuple[int, ...]
    misfit: float
    cost: float
    noise: float
    edge_zero: int
    first: int
    last: int


def find_shapes(times_s: Array, most: int = 3, steps: tuple[int, ...] | None = None) -> Iterator[Shape]:
    """Wheels that a row of edges of one polarity may come from, the likeliest first, one without a gap last.

    Parameters
    ----------
    times_s
        Times of the edges, shape (n,) [s].
    most
        How many to give [-].
    steps
        Steps of the wheel where a person states it [places]: then it alone.

    Yields
    ------
    Shape
        None at all where no period is found.
    """
    if times_s.size < 12:
        return
    if steps is not None:
        if (shape := stated_shape(times_s, steps)) is not None:
            yield shape
        return
    skip = max(0, (times_s.size - MOST_EDGES) // 2)
    part = times_s[skip : skip + MOST_EDGES]
    log_d = np.log(np.maximum(np.diff(part), 1e-12))
    ratio = np.diff(log_d)
    scores = lag_scores(ratio)
    shapes: list[Shape] = []
    even: list[Shape] = []
    for period in _candidates(scores):
        for sections in STRETCHES:
            shape = _shape(log_d, ratio, (period, sections), skip)
            if shape is not None and all(shape.steps != other.steps for other in shapes + even):
                (even if len(set(shape.steps)) == 1 else shapes).append(shape)
                if shapes and shapes[-1] is shape:
                    yield shape
        if len(shapes) + len(even) >= most:
            break
    yield from even


def stated_shape(times_s: Array, steps: tuple[int, ...]) -> Shape | None:
    """A wheel of known steps, found in a row of edges of one polarity.

    Parameters
    ----------
    times_s
        Times of the edges, shape (n,) [s].
    steps
        Steps of a turn, the gap last [places].

    Returns
    -------
    Shape or None
        None where the intervals do not repeat so, or no place shows the gap.
    """
    skip = max(0, (times_s.size - MOST_EDGES) // 2)
    log_d = np.log(np.maximum(np.diff(times_s[skip : skip + MOST_EDGES]), 1e-12))
    ratio, period = np.diff(log_d), len(steps)
    if period < 2 or ratio.size < 4 * period:
        return None
    first, last = _best_stretch(ratio, period, STRETCHES[0])
    relative = _relative(log_d[first:last], period)
    beside = (np.roll(relative, 1) + np.roll(relative, -1)) / 2
    gap = int(np.argmax(relative - beside))
    turned = np.roll(np.array(steps, dtype=np.int64), gap + 1)
    _, misfit, worst, swing = refined(relative, turned, 1, fixed=True)
    noise = float(np.median(np.abs(ratio[period:] - ratio[:-period]))) / 0.954
    plain = relative[gap] - beside[gap] > GAP_SHOWS * np.log(max(steps))
    if not plain or worst > MOST_WORST or misfit > MOST_MISFIT or noise > MOST_NOISE:
        return None
    zero = surest_zero(ratio, np.array(steps, dtype=np.float64), first + gap + 1)
    return Shape(steps, misfit, misfit + 0.05 * swing, noise, skip + zero, skip + first, skip + last)


def lag_scores(ratio: Array) -> Array:
    """How badly the log ratios of intervals repeat after each lag.

    Parameters
    ----------
    ratio
        Differences of the log intervals, shape (n,) [-].

    Returns
    -------
    array
        Mean of the differences, cut at 1 [-]; entry p is lag p, entry 0 is infinite.
    """
    most = min(MAX_PERIOD, int(ratio.size / 2.2))
    scores = np.full(most + 1, np.inf)
    for lag in range(1, most + 1):
        scores[lag] = np.minimum(np.abs(ratio[lag:] - ratio[:-lag]), 1.0).mean()
    return scores


def _candidates(scores: Array) -> list[int]:
    """Periods worth a try: the shortest one nearly as good as the best, then the next best."""
    order = np.argsort(scores, kind="stable")
    best = float(scores[order[0]])
    good = np.flatnonzero(scores <= 1.2 * best + 0.003)
    first = int(good[0])
    parts = [p for p in range(2, first) if first % p == 0 and (scores[p] <= 1.5 * best + 0.01 or _dips(scores, p))]
    tried = [*parts, first, int(order[0]), *good[:6].tolist(), *order[1:6].tolist(), 1]
    return [period for period in dict.fromkeys(tried) if period > 0]


def _dips(scores: Array, period: int) -> bool:
    """Whether the ratios repeat plainly better after this lag than after one more or one less.

    Where cylinders differ two turns repeat far better than one, which still stands out from its neighbours.
    """
    return bool(scores[period] < DIP * min(scores[period - 1], scores[period + 1]))


def _shape(log_d: Array, ratio: Array, wanted: tuple[int, int], skip: int) -> Shape | None:
    """Steps of a wheel of given teeth, seen on so many sections; None where they are no whole numbers of places."""
    period, sections = wanted
    if ratio.size < 2 * period:
        return None
    first, last = _best_stretch(ratio, period, sections)
    part = log_d[first:last]
    relative = _relative(part, period)
    steps, misfit, cost = _whole_steps(relative)
    if steps is None:
        return None
    section, rotated = from_zero(steps)
    if len(set(section)) == 1 and not _even_enough(ratio):
        return None
    if len(section) < LEAST_FREE and not Wheel(section).usual:
        return None
    lag = np.abs(ratio[period:] - ratio[:-period])
    noise = float(np.median(lag)) / 0.954 if lag.size else 0.1
    if noise > MOST_NOISE:
        return None
    zero = surest_zero(ratio, np.array(section, dtype=np.float64), first + rotated)
    return Shape(section, misfit, cost, noise, skip + zero, skip + first, skip + last)


def surest_zero(ratio: Array, steps: Array, guess: int) -> int:
    """The edge that is most surely a tooth 0: two whole sections after it follow the wheel best.

    Parameters
    ----------
    ratio
        Differences of the log intervals, shape (n,) [-].
    steps
        Steps of a section from its tooth 0 [places].
    guess
        The answer where there are too few edges to look [-].
    """
    expected = np.log(steps / np.roll(steps, 1))
    count = ratio.size - 2 * steps.size
    if steps.size == 1 or count < 1:
        return guess
    off = np.zeros(count)
    for tooth in range(2 * steps.size):
        # ratio[i] compares the intervals after and before edge i + 1
        off += np.minimum(np.abs(ratio[tooth : tooth + count] - expected[tooth % steps.size]), 1.0)
    return int(np.argmin(off)) + 1


def _even_enough(ratio: Array) -> bool:
    """Whether neighbouring intervals are alike throughout: no gap hides among them."""
    jumps = np.abs(ratio) > EVEN_JUMP
    return bool(np.median(np.abs(ratio)) < 0.25 and jumps.mean() <= EVEN_SHARE)


def _best_stretch(ratio: Array, period: int, sections: int) -> tuple[int, int]:
    """The stretch of some sections in which the ratios repeat best, as first and last interval."""
    lag = np.minimum(np.abs(ratio[period:] - ratio[:-period]), 1.0)
    width = min(lag.size, max(sections * period, 60 if sections > 2 else 1))
    if width == 0:
        return 0, ratio.size + 1
    sums = np.concatenate([[0.0], np.cumsum(lag)])
    start = int(np.argmin(sums[width:] - sums[:-width]))
    return start, min(ratio.size + 1, start + width + period + 1)


def _relative(log_d: Array, period: int) -> Array:
    """Log interval of each tooth of a section against the mean over the section round it, shape (period,) [-]."""
    if period == 1:
        return np.zeros(1)
    sums = np.concatenate([[0.0], np.cumsum(log_d)])
    mean = (sums[period:] - sums[:-period]) / period
    if period % 2:
        half = period // 2
        excess = log_d[half : half + mean.size] - mean
    else:
        half = period // 2
        mean = (mean[1:] + mean[:-1]) / 2
        excess = log_d[half : half + mean.size] - mean
    phase = (np.arange(excess.size) + half) % period
    return np.array([np.median(excess[phase == tooth]) if (phase == tooth).any() else 0.0 for tooth in range(period)])


def _whole_steps(relative: Array) -> tuple[tuple[int, ...] | None, float, float]:
    """Steps in whole places from relative log intervals, their root mean square misfit, and what speaks against them.

    Several first guesses are refined; among those that fit, the plainest wheel wins.
    """
    best: tuple[float, tuple[int, ...] | None, float] = (np.inf, None, np.inf)
    for unit, guess in starts(relative):
        steps, misfit, worst, swing = refined(relative, guess, unit)
        cost = misfit + 0.03 * plainness(steps, unit) + 0.05 * swing + 0.3 * max(0.0, swing - LIKELY_SWING)
        if worst < MOST_WORST and misfit < MOST_MISFIT and cost < best[0]:
            best = (cost, tuple(int(step) for step in steps), misfit)
    return best[1], best[2], best[0]
