"""What was measured between points in the plane, and what comes of it.

Points are complex numbers x + i·y [mm].
"""

from __future__ import annotations

import cmath
import math
from dataclasses import dataclass, field

Places = dict[str, complex]


@dataclass(frozen=True)
class Distance:
    """A measured distance between two points, with its standard uncertainty [mm]."""

    a: str
    b: str
    mm: float
    u_mm: float


@dataclass(frozen=True)
class Bearing:
    """Clock bearing [°] from point a to point b, its standard uncertainty [°] (0: exact), and their distance [mm]."""

    a: str
    b: str
    deg: float
    u_deg: float
    mm: float

    @property
    def direction(self) -> complex:
        """Unit vector from a to b, x + i·y [-]."""
        return cmath.exp(1j * math.radians(90.0 - self.deg))


@dataclass(frozen=True)
class Side:
    """Point b lies left of (``"x"``: smaller x) or above (``"y"``: greater y) point ``other``; ``row`` says so."""

    b: str
    other: str
    axis: str
    row: int


@dataclass(frozen=True)
class Network:
    """What was measured; ``anchors`` are points with known place, ``anchor_u_mm`` their uncertainty (x, y) [mm]."""

    anchors: Places
    distances: list[Distance]
    bearings: list[Bearing] = field(default_factory=list)
    sides: list[Side] = field(default_factory=list)
    anchor_u_mm: dict[str, tuple[float, float]] = field(default_factory=dict)

    @property
    def unknown(self) -> list[str]:
        """Points to be placed, in the order of the distances."""
        ends = [end for row in self.distances for end in (row.a, row.b)]
        return [name for name in dict.fromkeys(ends) if name not in self.anchors]


@dataclass(frozen=True)
class Solution:
    """Points placed: where [mm], their standard uncertainty (x, y) [mm], and measured less fitted distances [mm].

    ``parts``: how one standard uncertainty of every measured row moves each point, x + i·y [mm]; rows are independent.
    """

    places: Places
    u_mm: dict[str, tuple[float, float]]
    residuals_mm: list[float]
    parts: dict[str, tuple[complex, ...]] = field(default_factory=dict)

    def chi_squared(self, network: Network) -> float:
        """Σ (residual/u)² over the distances [-]."""
        rows = zip(self.residuals_mm, network.distances, strict=True)
        return sum((residual / row.u_mm) ** 2 for residual, row in rows)


class NetworkError(Exception):
    """Why a network has no answer.

    Attributes
    ----------
    reason
        ``"rotation"``, ``"lacking"``, ``"mirror"``, ``"side"`` or ``"residual"``.
    points
        The points it concerns.
    row, axis
        Number of the distance or side at fault, or None; the axis of the side.
    residual_u
        For ``"residual"``: how many times its own uncertainty the greatest residual is [-].
    rows, fitted_mm
        For ``"residual"``: the distances that share this residual and cannot be told apart, and for each the distance
        that the others say [mm].
    """

    def __init__(
        self,
        reason: str,
        points: list[str],
        row: int | None = None,
        *,
        axis: str = "",
        residual_u: float = 0.0,
        rows: list[int] | None = None,
        fitted_mm: list[float] | None = None,
    ) -> None:
        super().__init__(f"{reason}: {', '.join(points)}")
        self.reason = reason
        self.points = points
        self.row = row
        self.axis = axis
        self.residual_u = residual_u
        self.rows = rows or []
        self.fitted_mm = fitted_mm or []
