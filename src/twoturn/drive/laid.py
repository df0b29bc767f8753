"""A belt laid on its wheels: where along the belt something is, and where that is on the engine.

Places along the belt are counted in belt teeth along travel from line 0, which belongs to the driving sprocket's mark
in the setting position.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from twoturn.drive.parts import Belt
from twoturn.drive.path import ComplexArray, FloatArray, Path, belt_path, turning
from twoturn.drive.radii import pitch_line_radii_mm

IntArray = NDArray[np.int64]


@dataclass(frozen=True)
class LaidBelt:
    """One belt on its wheels, one case.

    Attributes
    ----------
    belt
        The belt.
    centres
        Pulley centres x + i·y in belt order; shape (n,) [mm].
    radii_mm
        Pitch-line radii; shape (n,) [mm].
    path
        Its path; every array has shape (n,) or ().
    """

    belt: Belt
    centres: ComplexArray
    radii_mm: FloatArray
    path: Path

    @property
    def length_mm(self) -> float:
        """Length of the pitch line [mm]."""
        return float(self.path.length_mm)

    @property
    def mm_per_tooth(self) -> float:
        """Length of the path that one belt tooth takes [mm]."""
        return self.length_mm / self.belt.table.teeth

    @property
    def way(self) -> FloatArray:
        """+1 for pulleys that turn clockwise, −1 for the others; shape (n,) [-]."""
        return turning(self.path.inside, self.belt.sense)

    @property
    def arcs_mm(self) -> FloatArray:
        """Length of belt on every pulley; shape (n,) [mm]."""
        return np.asarray(self.radii_mm * self.path.wraps_rad)

    @property
    def starts_mm(self) -> FloatArray:
        """Where arc 0, span 0, arc 1, span 1 … begin, from the entry to pulley 0 along travel; shape (2n,) [mm]."""
        pieces = np.empty(2 * len(self.centres))
        pieces[0::2], pieces[1::2] = self.arcs_mm, self.path.spans_mm
        return np.concatenate([[0.0], np.cumsum(pieces)[:-1]])


@dataclass(frozen=True)
class Places:
    """Where some points of a belt are, any shape.

    Attributes
    ----------
    piece
        Index of the pulley they lie on, or of the pulley whose outgoing span they lie on.
    on_pulley
        True on a pulley, False on a free span.
    point
        Place x + i·y [mm] on the pitch line.
    direction
        Unit travel direction there, x + i·y [-].
    clock_deg
        Clock angle seen from that pulley's centre [°]; NaN on a span.
    """

    piece: IntArray
    on_pulley: NDArray[np.bool_]
    point: ComplexArray
    direction: ComplexArray
    clock_deg: FloatArray


def lay(belt: Belt, centres: ComplexArray, warmer_k: float = 0.0) -> LaidBelt:
    """Lay a belt on its wheels.

    Parameters
    ----------
    belt
        The belt.
    centres
        Pulley centres x + i·y in belt order, the tensioners' at the position wanted; shape (n,) [mm].
    warmer_k
        Temperature above the reference temperature [K], for the radii.
    """
    radii = pitch_line_radii_mm(belt, warmer_k)
    inside = np.array([pulley.inside for pulley in belt.pulleys])
    return LaidBelt(belt, centres, radii, belt_path(centres, radii, inside, belt.sense))


def laid_with(laid: LaidBelt, centres: ComplexArray) -> LaidBelt:
    """The same belt, its pulleys' centres x + i·y elsewhere; shape (n,) [mm]."""
    return replace(laid, centres=centres, path=belt_path(centres, laid.radii_mm, laid.path.inside, laid.belt.sense))


def mark_offset_rad(laid: LaidBelt, index: int, clock_deg: float) -> float:
    """How far along travel a clock angle [°] of pulley ``index`` lies past the middle of its wrap, within ±π [rad]."""
    before = laid.path.directions[index - 1]
    middle = before * np.exp(-0.5j * laid.way[index] * laid.path.wraps_rad[index])
    outward = 1j * laid.way[index] * middle
    here = np.exp(1j * (np.pi / 2 - np.radians(clock_deg)))
    return float(-laid.way[index] * np.angle(here / outward))


def distance_to_mark_mm(laid: LaidBelt, index: int, clock_deg: float) -> float:
    """Signed distance along travel from the entry to pulley 0 to a clock angle [°] of pulley ``index`` [mm].

    The angle is taken within ±180° of the middle of the wrap; outside the wrap the arc runs on along the rim.
    """
    past = laid.path.wraps_rad[index] / 2 + mark_offset_rad(laid, index, clock_deg)
    return float(laid.starts_mm[2 * index] + laid.radii_mm[index] * past)


def line_zero_mm(laid: LaidBelt) -> float:
    """Where line 0 lies in the setting position, from the entry to pulley 0 along travel [mm].

    At the driving sprocket's mark; where it has none, in the middle of its wrap.
    """
    mark = laid.belt.driver.table.mark_deg
    return float(laid.arcs_mm[0]) / 2 if mark is None else distance_to_mark_mm(laid, 0, mark)


def places(laid: LaidBelt, teeth: FloatArray) -> Places:
    """Where points of the belt's path are.

    Parameters
    ----------
    laid
        The belt on its wheels.
    teeth
        Places along the path, in belt teeth along travel from the place of line 0 in the setting position; any shape
        [-]; whole laps do not matter.

    Returns
    -------
    Places
        Of the same shape.
    """
    along = np.mod(line_zero_mm(laid) + np.asarray(teeth) * laid.mm_per_tooth, laid.length_mm)
    starts = laid.starts_mm
    slot = np.clip(np.searchsorted(starts, along, side="right") - 1, 0, len(starts) - 1)
    piece, on_pulley = slot // 2, slot % 2 == 0
    rest = along - starts[slot]
    way, radius = laid.way[piece], laid.radii_mm[piece]
    turn = np.exp(-1j * way * np.where(on_pulley, rest / radius, 0.0))
    incoming = laid.path.directions[piece - 1] * turn
    rim = 1j * way * incoming
    direction = np.where(on_pulley, incoming, laid.path.directions[piece])
    on_arc = laid.centres[piece] + radius * rim
    on_span = laid.path.leaves[piece] + rest * laid.path.directions[piece]
    clock = np.where(on_pulley, 90 - np.degrees(np.angle(rim)), np.nan)
    return Places(piece, on_pulley, np.where(on_pulley, on_arc, on_span), direction, np.mod(clock, 360.0))
