"""Whether a belt's length and its path agree: the offset between them against its standard uncertainty."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from twoturn.drive.model.tensioners import AnyTensioner, DoubleEccentric
from twoturn.drive.parts import Belt, Drive
from twoturn.drive.path import FloatArray, belt_path
from twoturn.mechanics.rest.known import BeltAtRest, Closure, Shape, notch_shape, where
from twoturn.mechanics.rest.stand import Stand
from twoturn.mechanics.setting.length_u import length_u_mm

DOUBT = "Check the drive file first: "
MOST_U = 2.0
SETTINGS = 73


@dataclass(frozen=True)
class Misfit:
    """How far a belt's path is from the belt's length.

    Attributes
    ----------
    offset_mm
        Path less belt, without load [mm].
    u_mm
        Standard uncertainty of the path's length [mm].
    beyond_mm
        What is left of the offset [mm] once the tensioner has gone as far as it may; the offset itself where its
        place is given.
    where
        Where the path was taken, in words.
    """

    offset_mm: float
    u_mm: float
    beyond_mm: float
    where: str

    @property
    def doubtful(self) -> bool:
        """Whether no allowed setting comes within two standard uncertainties."""
        return bool(abs(self.beyond_mm) > MOST_U * self.u_mm)


def checked(drive: Drive, rest: BeltAtRest) -> BeltAtRest:
    """A belt at rest with its closure and, where length and path contradict each other, that doubt first in ``why``.

    Parameters
    ----------
    drive
        The drive.
    rest
        One of its belts.
    """
    found = misfit(drive, rest)
    if found is None or math.isnan(found.offset_mm) or math.isnan(found.u_mm):
        return rest
    table = rest.belt.table
    if table.closure == "at notch" and rest.closure is None:
        free = (rest.free_mm or math.nan) + found.offset_mm * (1 + table.expansion_per_k * rest.warmer_k)
        rest = replace(rest, closure=Closure(found.offset_mm, found.u_mm), free_mm=free)
    return replace(rest, why=(_doubt(rest.belt, found), *rest.why)) if found.doubtful else rest


def misfit(drive: Drive, rest: BeltAtRest) -> Misfit | None:
    """How far path and belt are apart at the reference temperature; None where a free tensioner takes it up.

    Parameters
    ----------
    drive
        The drive.
    rest
        One of its belts.

    Notes
    -----
    With ``closure = "at notch"`` at the notch; where no rest position is known or a tensioner rests on its stop, the
    nearest that any allowed setting comes; a roller locked at ``set_deg`` and a belt without tensioner where they
    stand.
    """
    belt = rest.belt
    if rest.closure is not None:
        offset = rest.closure.offset_mm
        return Misfit(offset, rest.closure.u_mm, offset, where(belt))
    free_to_move = [table for table in belt.tensioners if getattr(table, "set_deg", None) is None]
    found_place = rest.tensioners and not any(row.rest.on_stop for row in rest.tensioners)
    if rest.shape is None or belt.table.pitch_mm is None or (found_place and free_to_move):
        return None
    shape = notch_shape(drive, replace(rest, warmer_k=0.0))
    made = belt.table.teeth * belt.table.pitch_mm + belt.table.length_error_mm
    offset = float(shape.path.length_mm) - made
    low, high = offset, offset
    if belt.table.closure != "at notch":
        for table in free_to_move:
            least, most = _reach(drive, belt, table, shape)
            low, high = low + least, high + most
    beyond = low if low > 0 else high if high < 0 else 0.0
    return Misfit(offset, length_u_mm(belt, shape.path), beyond, where(belt))


def _reach(drive: Drive, belt: Belt, table: AnyTensioner, shape: Shape) -> tuple[float, float]:
    """How much shorter and longer than ``shape`` [mm] the settings of one tensioner can make the path."""
    stand = Stand(drive, belt, table)  # type: ignore[arg-type]
    pointers = np.linspace(*(stand.limits.window or stand.limits.span), SETTINGS)
    adjusters: FloatArray = np.zeros(1)
    if isinstance(table, DoubleEccentric):
        turning = stand.limits.adjuster_range or (-180.0, 180.0)
        adjusters = np.linspace(*turning, SETTINGS)
        if table.adjuster_deg is not None:
            adjusters = np.array([stand.limits.held_in_range(table.adjuster_deg)])
    pointer, adjuster = (grid.ravel() for grid in np.meshgrid(pointers, adjusters))
    centres = np.repeat(shape.centres[None, :], pointer.size, axis=0)
    centres[:, stand.at] = stand.kind(1.0).pose(pointer, adjuster).centre
    inside = np.array([pulley.inside for pulley in belt.pulleys])
    with np.errstate(invalid="ignore"):
        path = belt_path(centres, shape.radii_mm, inside, belt.sense)
    lengths = path.length_mm[path.closed] - float(shape.path.length_mm)
    return (min(0.0, float(lengths.min())), max(0.0, float(lengths.max()))) if lengths.size else (0.0, 0.0)


def _doubt(belt: Belt, found: Misfit) -> str:
    pitch = belt.table.pitch_mm or math.nan
    way = "longer" if found.offset_mm > 0 else "shorter"
    size = f"{abs(found.offset_mm):.1f} mm ({abs(found.offset_mm) / pitch:.1f} teeth) {way} than the belt"
    unset = [row for row in belt.tensioners if isinstance(row, DoubleEccentric) and row.adjuster_deg is None]
    middle = " and the setting eccentric in the middle of its range" if unset else ""
    reach = ""
    if abs(found.beyond_mm) < abs(found.offset_mm) - 0.05:
        reach = f"; no allowed setting comes nearer than {abs(found.beyond_mm):.1f} mm"
    culprits = ["the tooth count", "the pitch", "a diameter", "a coordinate or distance"]
    culprits += ["the tensioner's place"] if belt.tensioners else []
    return (
        f"{DOUBT}{found.where}{middle} the path is {size} of {belt.table.teeth} teeth{reach}. That is more than "
        f"twice its uncertainty of {found.u_mm:.1f} mm: {', '.join(culprits[:-1])} or {culprits[-1]} is wrong."
    )
