"""What a tensioner allows: its stops, its window, its adjuster's range, in the unit of its pointer."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from twoturn.drive.model.tensioners import DoubleEccentric, Hydraulic, LockedEccentric, Slide, SprungArm, Tensioner
from twoturn.drive.path import FloatArray

Pair = tuple[float, float]
FARTHEST_SLIDE_MM = 200.0
NEEDS: dict[type, tuple[str, ...]] = {
    LockedEccentric: ("tightens", "bolt_mm", "arm_mm", "notch_deg"),
    DoubleEccentric: ("tightens", "bolt_mm", "adjuster_mm", "arm_mm", "notch_deg"),
    SprungArm: ("tightens", "pivot_mm", "arm_mm", "notch_deg"),
    Slide: ("at_notch_mm", "tightens_deg"),
    Hydraulic: ("tightens", "pivot_mm", "base_mm", "arm_mm", "notch_deg", "ram_arm_mm", "ram_deg"),
}
SPRINGS = {DoubleEccentric: "spring_nm", SprungArm: "spring_nm", Slide: "spring_n", Hydraulic: "ram_n"}


@dataclass(frozen=True)
class Limits:
    """How far a tensioner may go.

    Attributes
    ----------
    stops
        Pointer at the stops [° or mm]; None where nothing stops it.
    window
        Allowed pointer [° or mm]; None where none is given.
    adjuster_range
        Clock angles between which the setting eccentric may stand [°]; None for a whole turn.
    unit
        "deg", or "mm" for a slide.
    """

    stops: Pair | None
    window: Pair | None
    adjuster_range: Pair | None
    unit: str

    @property
    def span(self) -> Pair:
        """Pointers in which a rest position is looked for [° or mm]: between the stops, else all there are."""
        if self.stops is not None:
            return self.stops
        far = 180.0 if self.unit == "deg" else FARTHEST_SLIDE_MM
        return (-far, far)

    def grid(self) -> FloatArray:
        """Pointers for a first look over :attr:`span`, about a degree or a millimetre apart [° or mm]."""
        low, high = self.span
        return np.linspace(low, high, int(np.clip(high - low, 48, 400)) + 1)

    def adjuster_grid(self) -> FloatArray:
        """Adjuster angles for a first look over its range [°]."""
        low, high = self.adjuster_range or (-180.0, 180.0)
        return np.linspace(low, high, int(np.clip(high - low, 48, 360)) + 1)

    def in_window(self, pointer: float) -> bool | None:
        """Whether a pointer [° or mm] lies in the window; None where no window is given."""
        return None if self.window is None else bool(self.window[0] - 1e-9 <= pointer <= self.window[1] + 1e-9)

    def reaches(self, adjuster_deg: float) -> bool:
        """Whether the setting eccentric can stand at a clock angle [°]."""
        low, high = self.adjuster_range or (-180.0, 180.0)
        return low - 1e-9 <= self.held_in_range(adjuster_deg) <= high + 1e-9

    def held_in_range(self, adjuster_deg: float) -> float:
        """The same clock angle as the value inside the adjuster's range [°], where it lies there."""
        low, high = self.adjuster_range or (-180.0, 180.0)
        middle = (low + high) / 2
        return float(middle + (adjuster_deg - middle + 180.0) % 360.0 - 180.0)


def limits_of(table: Tensioner) -> Limits:
    """Limits of a tensioner as its table gives them; a range whose end lies below its start runs on past 360°."""
    if isinstance(table, Slide):
        return Limits(table.stops_mm, table.window_mm, None, "mm")
    turning = table.adjuster_range_deg if isinstance(table, DoubleEccentric) else None
    if turning is not None and turning[1] < turning[0]:
        turning = (turning[0], turning[1] + 360.0)
    return Limits(table.stops_deg, table.window_deg, turning, "deg")


def missing_keys(table: Tensioner) -> list[str]:
    """Keys without which the tensioner's pulley cannot be placed."""
    return [key for key in NEEDS[type(table)] if getattr(table, key) is None]


def missing_spring(table: Tensioner) -> str | None:
    """The key of the spring or ram that is missing, or None."""
    key = SPRINGS.get(type(table))
    return key if key is not None and getattr(table, key) is None else None
