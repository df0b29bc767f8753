"""A straight line through points, with the uncertainty of everything read from it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from twoturn.errors import QuantityError
from twoturn.quantity.reading import Reading


@dataclass(frozen=True)
class StraightLine:
    """A straight line y = intercept + slope·(x − origin) fitted to points.

    Attributes
    ----------
    origin
        The x at which the intercept is taken, in the unit of x.
    intercept, slope
        Best estimates, in the unit of y and in unit of y per unit of x.
    u_intercept, u_slope
        Their standard uncertainties.
    correlation
        Correlation coefficient of intercept and slope [-].
    scatter
        Standard deviation of the points about the line, in the unit of y.
    dof
        Degrees of freedom, points − 2 [-].
    unit
        Unit of y.
    """

    origin: float
    intercept: float
    slope: float
    u_intercept: float
    u_slope: float
    correlation: float
    scatter: float
    dof: float
    unit: str

    def at(self, x: float) -> Reading:
        """What the line says at ``x`` [unit of x]: the mean there, not one further point (JCGM 100:2008, (H.15))."""
        step = x - self.origin
        mixed = 2 * step * self.u_intercept * self.u_slope * self.correlation
        variance = self.u_intercept**2 + (step * self.u_slope) ** 2 + mixed
        value = self.intercept + self.slope * step
        return Reading(value, math.sqrt(max(variance, 0.0)), self.unit, self.dof, source="straight line")


def fit_line(
    x: Sequence[float] | NDArray[np.float64],
    y: Sequence[float] | NDArray[np.float64],
    unit: str,
    origin: float = 0.0,
) -> StraightLine:
    """Least-squares straight line through points of equal weight.

    Parameters
    ----------
    x
        Where the points lie, shape (points,) [unit of x], taken as exact.
    y
        What was read there, shape (points,) [``unit``].
    unit
        Unit of y.
    origin
        The x [unit of x] at which the intercept is taken.

    Returns
    -------
    StraightLine
        The line with uncertainties from the scatter of the points.

    Raises
    ------
    QuantityError
        Fewer than three points, unlike lengths, values that are not finite, or all points at one x.

    References
    ----------
    JCGM 100:2008, H.3, equations (H.13a) to (H.13h).
    """
    across, up = np.asarray(x, dtype=float) - origin, np.asarray(y, dtype=float)
    if across.shape != up.shape or across.ndim != 1 or across.size < 3:
        raise QuantityError(f"{across.size} and {up.size} numbers make no line", allowed="three points or more")
    if not (np.isfinite(across).all() and np.isfinite(up).all()):
        raise QuantityError("a point of the line is not a number", allowed="finite numbers")
    centre = float(across.mean())
    spread = float(np.sum((across - centre) ** 2))
    if spread == 0:
        raise QuantityError(f"all points lie at {across[0] + origin:g}", allowed="points at different places")
    slope = float(np.sum((across - centre) * up)) / spread
    intercept = float(up.mean()) - slope * centre
    dof = across.size - 2
    scatter = math.sqrt(float(np.sum((up - intercept - slope * across) ** 2)) / dof)
    square = float(np.mean(across**2))
    u_intercept, u_slope = scatter * math.sqrt(square / spread), scatter / math.sqrt(spread)
    correlation = -centre / math.sqrt(square) if square else 0.0
    return StraightLine(origin, intercept, slope, u_intercept, u_slope, correlation, scatter, dof, unit)
