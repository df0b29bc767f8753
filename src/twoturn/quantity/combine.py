"""Several readings of one quantity in one state, made into one."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from twoturn.errors import QuantityError
from twoturn.quantity.reading import Reading, coverage_factor

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Combined:
    """Several readings made into one.

    Attributes
    ----------
    reading
        The weighted mean with its 95 % interval.
    consistent
        False when the readings spread beyond what their U allow: the check is then not shown.
    chi_square
        Sum of squared deviations from the mean, each over its own uncertainty [-].
    critical
        The value ``chi_square`` exceeds in one of twenty sets of good readings [-].
    count
        How many readings went in [-].
    """

    reading: Reading
    consistent: bool
    chi_square: float
    critical: float
    count: int


def welch_satterthwaite(contributions: Sequence[float], dofs: Sequence[float]) -> float:
    """Effective degrees of freedom of independent contributions to one standard uncertainty.

    Parameters
    ----------
    contributions
        Standard uncertainties in the unit of the result, one an input.
    dofs
        Degrees of freedom of each [-]; infinity where the uncertainty is taken as known.

    Returns
    -------
    float
        Effective degrees of freedom [-], neither rounded nor truncated.

    References
    ----------
    JCGM 100:2008, equation (G.2b).
    """
    squares = np.square(np.asarray(contributions, dtype=float))
    top = float(squares.sum())
    if top == 0:
        return math.inf
    bottom = float(np.sum((squares / top) ** 2 / np.asarray(dofs, dtype=float)))
    return 1 / bottom if bottom > 0 else math.inf


def combine(readings: Sequence[Reading], common_u: float = 0.0) -> Combined:
    """The mean of readings of one quantity, weighted by their uncertainty, and whether they agree.

    Parameters
    ----------
    readings
        One or more readings in one unit, all of one state.
    common_u
        Standard uncertainty that all of them share [their unit] (one phone, one belt mass): it is part of each
        reading's own, does not average out, and says nothing about their agreement.

    Returns
    -------
    Combined
        The mean. With known uncertainties it is the mean weighted by 1/u². Uncertainties estimated from few repeats
        must not weigh that way (plucks that agree by luck would rule, and up to 15 % would be proven falsely): the
        readings' confidence distributions are then added on the normal scale, which keeps the 95 % interval exact.

    Raises
    ------
    QuantityError
        No reading, unlike units, or a common part larger than a reading's own uncertainty.

    References
    ----------
    Cox, Metrologia 39 (2002) 589, procedure A (weighted mean, chi-square test at 95 %); Singh, Xie and Strawderman,
    Annals of Statistics 33 (2005) 159 (combining confidence distributions).
    """
    _check(readings, common_u)
    if len(readings) == 1:
        return Combined(readings[0], True, 0.0, 0.0, 1)
    values = np.array([reading.value for reading in readings])
    own = np.array([math.sqrt(max(reading.u**2 - common_u**2, 0.0)) for reading in readings])
    if not own.all():
        return _ruled_by_exact(readings, values, own, common_u)
    dofs = np.array([_own_dof(reading, part) for reading, part in zip(readings, own, strict=True)])
    mean, low, high = _interval(values, own, dofs)
    common = coverage_factor(math.inf) * common_u
    interval = (mean - math.hypot(mean - low, common), mean + math.hypot(high - mean, common))
    chi_square = float(np.sum(_normal_score(values - mean, own, dofs) ** 2))
    critical = _chi_square_limit(len(readings) - 1)
    u = (interval[1] - interval[0]) / 2 / coverage_factor(math.inf)
    reading = Reading(mean, u, readings[0].unit, interval=interval, source=_source(readings))
    return Combined(reading, chi_square <= critical, chi_square, critical, len(readings))


def _interval(values: Floats, own: Floats, dofs: Floats) -> tuple[float, float, float]:
    """Centre and 95 % ends: there the weighted normal scores of all readings add up to 0 and ±1.96 of their spread."""
    from scipy.optimize import brentq

    known = np.isinf(dofs)
    weights = np.ones_like(values)
    if known.any():  # known ones among themselves by 1/u, as a group like any other reading for each of its members
        weights[known] = 1 / own[known]
        weights[known] *= math.sqrt(np.count_nonzero(known) / float(np.sum(weights[known] ** 2)))
    norm = float(np.sqrt(np.sum(weights**2)))
    reach = own * np.array([coverage_factor(dof) for dof in dofs]) * 1.001
    ends = float(np.min(values - reach)), float(np.max(values + reach))

    def score(centre: float, wanted: float) -> float:
        return float(np.sum(weights * _normal_score(values - centre, own, dofs))) / norm - wanted

    k = coverage_factor(math.inf)
    mean, low, high = (float(brentq(score, *ends, args=(wanted,), xtol=1e-300, rtol=1e-12)) for wanted in (0, k, -k))
    return mean, low, high


def _normal_score(deviations: Floats, own: Floats, dofs: Floats) -> Floats:
    """Deviations over u, carried from Student's to the normal scale [-]."""
    from scipy.special import ndtri, stdtr

    ratio = deviations / own
    known = np.isinf(dofs)
    tail = stdtr(np.where(known, 1.0, dofs), -np.abs(ratio))
    return np.where(known, ratio, -np.sign(ratio) * ndtri(tail))


def _own_dof(reading: Reading, own: float) -> float:
    """Degrees of freedom of the part not shared: all that is estimated lies in it."""
    return max(1.0, reading.dof * (own / reading.u) ** 4)


def _ruled_by_exact(readings: Sequence[Reading], values: Floats, own: Floats, common_u: float) -> Combined:
    """Readings without own uncertainty (counted ones) rule the mean; the others must hold it within their U."""
    exact = values[own == 0]
    mean = float(exact.mean())
    agree = bool(np.ptp(exact) == 0) and all(
        abs(reading.value - mean) <= coverage_factor(reading.dof) * part
        for reading, part in zip(readings, own, strict=True)
    )
    result = Reading(mean, common_u, readings[0].unit, source=_source(readings))
    return Combined(result, agree, 0.0 if agree else math.inf, 0.0, len(readings))


def _check(readings: Sequence[Reading], common_u: float) -> None:
    if not readings:
        raise QuantityError("no reading to combine", allowed="one or more")
    units = sorted({reading.unit for reading in readings})
    if len(units) > 1:
        raise QuantityError(f"readings in {' and '.join(units)} cannot be combined", next_step="convert them first")
    least = min(reading.u for reading in readings)
    if not 0 <= common_u <= least * (1 + 1e-12):
        raise QuantityError(
            f"a shared uncertainty of {common_u:g} {units[0]} is more than the {least:g} {units[0]} of a reading",
            allowed=f"0 to {least:g} {units[0]}",
        )


def _chi_square_limit(dof: int) -> float:
    from scipy.special import chdtri

    return float(chdtri(dof, 0.05))


def _source(readings: Sequence[Reading]) -> str:
    names = list(dict.fromkeys(reading.source for reading in readings if reading.source))
    return f"mean of {len(readings)} readings" + (f" ({', '.join(names)})" if names else "")
