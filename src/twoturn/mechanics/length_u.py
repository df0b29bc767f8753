"""Standard uncertainty of a path's length from that of the centres: 1 mm a coordinate where none is given."""

from __future__ import annotations

import math

from twoturn.drive.model.tensioners import AnyTensioner, Hydraulic, Slide, SprungArm
from twoturn.drive.parts import Belt, Pulley
from twoturn.drive.path import Path

UNKNOWN_U_MM = 1.0


def anchor_key(table: AnyTensioner) -> str:
    """The key of the point that a tensioner is bolted to."""
    if isinstance(table, Slide):
        return "at_notch_mm"
    return "pivot_mm" if isinstance(table, SprungArm | Hydraulic) else "bolt_mm"


def coordinate_u_mm(belt: Belt, pulley: Pulley) -> tuple[float, float]:
    """Standard uncertainty of both coordinates of a pulley, or of its tensioner's bolt, pivot or guide [mm]."""
    if not pulley.is_tensioner:
        return pulley.centre_u_mm or (UNKNOWN_U_MM, UNKNOWN_U_MM)
    table = next((row for row in belt.tensioners if row.pulley == pulley.id), None)
    given = None if table is None else table.uncertainties.get(anchor_key(table))
    if given is None:
        return (UNKNOWN_U_MM, UNKNOWN_U_MM)
    return (given[0], given[1]) if isinstance(given, list) else (given, given)


def length_u_mm(belt: Belt, path: Path) -> float:
    """√Σ(|u_in − u_out|·u_i)², coordinate by coordinate, over every pulley of a path of one case [mm]."""
    total = 0.0
    for pulley, pull in zip(belt.pulleys, path.pulls.ravel(), strict=True):
        u_x, u_y = coordinate_u_mm(belt, pulley)
        total += (pull.real * u_x) ** 2 + (pull.imag * u_y) ** 2
    return math.sqrt(total)
