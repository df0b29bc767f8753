"""One belt drive on the page: millimetres to page units, drawn thicknesses, and which side is taut."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from twoturn.drive.laid import LaidBelt
from twoturn.drive.parts import Belt, Drive
from twoturn.drive.path import ComplexArray

Side = Literal["taut", "slack", "between"]
HEAVY_ROLES = ("camshaft", "injection pump", "balance shaft")
FREE_ROLES = ("idler", "tensioner")


def clock(angle_deg: float) -> complex:
    """Unit vector on the page (y down) of a clock angle [°]."""
    angle = np.radians(angle_deg)
    return complex(np.sin(angle), -np.cos(angle))


def span_sides(belt: Belt) -> list[Side]:
    """Taut, slack or between for the span that leaves each pulley, in belt order.

    The driving sprocket pulls the belt in: from the last loaded shaft to it the belt is taut, from it to the first one
    slack. Loaded are the shafts that take real torque; where there are none, any that is no idler or tensioner.
    """
    loaded = [at for at, pulley in enumerate(belt.pulleys) if at and pulley.role in HEAVY_ROLES]
    if not loaded:
        loaded = [at for at, pulley in enumerate(belt.pulleys) if at and pulley.role not in FREE_ROLES]
    if not loaded:
        return ["between"] * len(belt.pulleys)
    return ["slack" if at < loaded[0] else "taut" if at >= loaded[-1] else "between" for at in range(len(belt.pulleys))]


@dataclass(frozen=True)
class Scene:
    """One belt ready to be drawn.

    Attributes
    ----------
    drive, laid
        The drive and its belt on its wheels.
    scale
        Page units a millimetre.
    origin
        Where the drive's origin lies on the page.
    crank_deg
        Crank angle turned on from the setting position [°].
    to_scale
        False for the scheme of a drive without coordinates.
    """

    drive: Drive
    laid: LaidBelt
    scale: float
    origin: complex
    crank_deg: float = 0.0
    to_scale: bool = True

    @property
    def belt(self) -> Belt:
        """The belt."""
        return self.laid.belt

    @property
    def sides(self) -> list[Side]:
        """Side of the span that leaves each pulley."""
        return span_sides(self.belt)

    @property
    def arc_sides(self) -> list[Side]:
        """Side of the belt on each pulley: that of its spans where they agree."""
        spans = self.sides
        return [side if side == spans[at - 1] else "between" for at, side in enumerate(spans)]

    @property
    def back(self) -> float:
        """Drawn thickness from pitch line to back [page units]."""
        return max(self.belt.table.back_mm * self.scale, 2.2)

    @property
    def land(self) -> float:
        """Drawn distance from pitch line to land [page units]."""
        return 0.8

    @property
    def depth(self) -> float:
        """Drawn distance from pitch line to tooth tip [page units]."""
        return max(self.belt.table.tip_mm * self.scale, 3.0)

    @property
    def pitch(self) -> float:
        """One belt tooth [page units]."""
        return self.laid.mm_per_tooth * self.scale

    @property
    def radii(self) -> list[float]:
        """Pitch-line radii [page units]."""
        return [float(radius) * self.scale for radius in self.laid.radii_mm]

    @property
    def centres(self) -> list[complex]:
        """Pulley centres on the page."""
        return [self.page(complex(centre)) for centre in self.laid.centres]

    def rim(self, index: int) -> float:
        """Drawn outer radius of a pulley's body [page units]."""
        radius = self.radii[index]
        if self.belt.pulleys[index].toothed:
            return radius - self.land
        return radius - (self.depth if self.belt.pulleys[index].inside else self.back)

    def page(self, place: complex) -> complex:
        """A place of the engine x + i·y [mm] on the page."""
        return self.origin + self.scale * place.conjugate()

    def page_all(self, places: ComplexArray) -> ComplexArray:
        """Places of the engine [mm] on the page, any shape."""
        return np.asarray(self.origin + self.scale * np.conj(places))

    def heading(self, direction: complex) -> complex:
        """A unit direction of the engine on the page."""
        return direction.conjugate()

    def toothward(self, direction: complex) -> complex:
        """Unit vector on the page from the pitch line to the teeth, where the belt travels along ``direction``."""
        return (-1j * self.belt.sense * direction).conjugate()


def bounds(laid: LaidBelt) -> tuple[complex, complex]:
    """Lower left and upper right corner x + i·y of a belt on its wheels [mm]."""
    low_x = float(np.min(laid.centres.real - laid.radii_mm))
    low_y = float(np.min(laid.centres.imag - laid.radii_mm))
    high_x = float(np.max(laid.centres.real + laid.radii_mm))
    high_y = float(np.max(laid.centres.imag + laid.radii_mm))
    return complex(low_x, low_y), complex(high_x, high_y)
