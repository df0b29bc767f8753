"""Whole places from measured intervals: the speed's swing within a turn is told from the wheel's gaps.

Within a turn the speed swings smoothly, a few times a turn at most; a gap jumps. So the log intervals of a section are
taken as the log of whole steps and a short Fourier series over the angle that the steps themselves give.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from twoturn.capture.model import Array

Ints = NDArray[np.int64]
SMALL, LEAST_FREE, KEPT = 16, 9, 12


def starts(relative: Array) -> Iterator[tuple[int, Ints]]:
    """First guesses of the steps.

    Parameters
    ----------
    relative
        Log interval of each tooth of a section against their mean, shape (teeth,) [-].

    Yields
    ------
    tuple
        Places of a normal step [-] and the steps [places], shape (teeth,).
    """
    count = relative.size
    yield 1, np.ones(count, dtype=np.int64)
    if count < 2:
        return
    if count <= SMALL:
        yield from sorted(_plain_wheels(count), key=lambda start: _quick_misfit(relative, *start))[:KEPT]
    if count < LEAST_FREE:
        return
    for width in (9, 5):
        for unit in (1, 2, 3, 4):
            yield unit, _rounded(relative - _median_round(relative, width), unit)
    for level in (float(np.median(relative)), float(relative.min())):
        for unit in (1, 2, 3):
            yield unit, _rounded(relative - level, unit)


def refined(relative: Array, guess: Ints, unit: int, *, fixed: bool = False) -> tuple[Ints, float, float, float]:
    """Steps refined against a smooth speed.

    Parameters
    ----------
    relative
        Log intervals, shape (teeth,) [-].
    guess
        First steps [places], shape (teeth,).
    unit
        Places of a normal step [-].
    fixed
        Whether the steps are known and stay.

    Returns
    -------
    tuple
        Steps [places], root mean square and greatest misfit of the log intervals [-], and the swing of the log speed
        that they ask for [-].
    """
    steps = guess
    fit = _smooth_speed(relative - np.log(steps / unit), steps)
    for _ in range(0 if fixed else 6):
        new = _rounded(relative - fit, unit)
        if (new == steps).all():
            break
        steps = new
        fit = _smooth_speed(relative - np.log(steps / unit), steps)
    off = relative - fit - np.log(steps / unit)
    return steps, float(np.sqrt(np.mean(off**2))), float(np.max(np.abs(off))), float(np.ptp(fit))


def plainness(steps: Ints, unit: int) -> float:
    """How far a wheel is from the usual ones [-]: 0 without gap, little for gaps of one size, much for odd steps.

    Parameters
    ----------
    steps
        Steps of a section [places].
    unit
        Places of a normal step [-].
    """
    values, counts = np.unique(steps, return_counts=True)
    odd = int(counts.sum() - counts.max())
    if values.size == 1:
        return 0.0
    short = steps[steps < unit]
    if unit > 1:
        extra = values.max() == unit and short.sum() == unit and short.size == 2
        if not extra and steps.size < LEAST_FREE:
            return np.inf
        return 0.6 if extra else 1.5 + 0.5 * (values.size - 1) + 0.1 * odd
    unusual = (0.5 if values.max() > 5 else 0.0) + (0.6 if steps.sum() % 2 and steps.sum() > 3 else 0.0)
    return 0.3 * (values.size - 1) + 0.04 * odd + unusual


def _plain_wheels(count: int) -> Iterator[tuple[int, Ints]]:
    """Every wheel of few teeth with one gap of one or two places, or with one extra tooth."""
    for place in range(count):
        for gap in (2, 3):
            steps = np.ones(count, dtype=np.int64)
            steps[place] = gap
            yield 1, steps
        for unit, part in ((2, 1), (3, 1), (3, 2), (4, 1), (4, 3)):
            if count >= 4:
                steps = np.full(count, unit, dtype=np.int64)
                steps[place], steps[(place + 1) % count] = part, unit - part
                yield unit, steps


def _quick_misfit(relative: Array, unit: int, steps: Ints) -> float:
    """How badly steps fit with a speed of the lowest orders."""
    log_slow = relative - np.log(steps / unit)
    design = _harmonics(steps, min(4, (steps.size - 1) // 3))
    fit = design @ np.linalg.lstsq(design, log_slow, rcond=None)[0]
    return float(np.mean((log_slow - fit) ** 2)) + 0.01 * float(np.ptp(fit))


def _harmonics(steps: Ints, orders: int) -> Array:
    """Columns of a Fourier series at the middles of the steps, shape (teeth, 1 + 2·orders)."""
    ends = np.cumsum(steps)
    middle = 2 * np.pi * (ends - steps / 2) / ends[-1]
    columns = [np.ones(steps.size)]
    for order in range(1, orders + 1):
        columns += [np.cos(order * middle), np.sin(order * middle)]
    return np.column_stack(columns)


def _rounded(excess: Array, unit: int) -> Ints:
    """Nearest whole places, at least one."""
    whole: Ints = np.clip(np.rint(unit * np.exp(np.clip(excess, -4, 4))), 1, None).astype(np.int64)
    return whole


def _median_round(relative: Array, width: int) -> Array:
    """Running median round the section."""
    from scipy.ndimage import median_filter

    if relative.size < width:
        return np.full(relative.size, float(np.median(relative)))
    return np.asarray(median_filter(relative, size=width, mode="wrap"))


def _smooth_speed(log_slow: Array, steps: Ints) -> Array:
    """The smooth part of the log time a place takes: a Fourier series over the section, single outliers held back."""
    count = steps.size
    design = _harmonics(steps, min(4, (count - 1) // 3))
    weight = np.ones(count)
    fit = np.full(count, float(np.median(log_slow)))
    for _ in range(4):
        root = np.sqrt(weight)
        factors = np.linalg.lstsq(design * root[:, None], log_slow * root, rcond=None)[0]
        fit = design @ factors
        off = np.abs(log_slow - fit)
        spread = max(0.01, 1.5 * float(np.median(off)))
        weight = 1 / np.maximum(1.0, off / (2 * spread)) ** 2
    return np.asarray(fit)
