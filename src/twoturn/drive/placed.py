"""Where the pulleys of a drive are, and how sure that is."""

from __future__ import annotations

from dataclasses import dataclass, field

Point = tuple[float, float]


@dataclass(frozen=True)
class Centres:
    """Where the pulleys are.

    Attributes
    ----------
    centre_mm
        Centre (x, y) by pulley id [mm]; tensioner pulleys and pulleys of a list drive have none.
    u_mm
        Standard uncertainty of each coordinate by pulley id [mm], where one is known.
    residuals_mm
        Measured less fitted distance by ``"a:b"`` [mm], where coordinates were solved from distances.
    parts
        By pulley id (a tensioner's: of its bolt or pivot), how one standard uncertainty of every measured distance
        moves it, x + i·y [mm], where coordinates were solved from distances.
    """

    centre_mm: dict[str, Point] = field(default_factory=dict)
    u_mm: dict[str, Point] = field(default_factory=dict)
    residuals_mm: dict[str, float] = field(default_factory=dict)
    parts: dict[str, tuple[complex, ...]] = field(default_factory=dict)
