"""Standard uncertainty of a path's length from that of the centres: 1 mm a coordinate where none is given."""

from __future__ import annotations

import math

import numpy as np

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
    """Standard uncertainty of the length of a path of one case [mm].

    Parameters
    ----------
    belt
        The belt.
    path
        Its path, arrays of shape (n,) or (1, n).

    Notes
    -----
    √Σ(|u_in − u_out|·u_i)², coordinate by coordinate; points placed by measured distances move together, so for them
    the sum runs over the distances (JCGM 100, 5.2.2).
    """
    total, shared = 0.0, np.zeros(1)
    for pulley, pull in zip(belt.pulleys, path.pulls.ravel(), strict=True):
        parts = belt.parts.get(pulley.id)
        if parts is not None:
            shared = shared + (np.conj(pull) * np.array(parts)).real
            continue
        u_x, u_y = coordinate_u_mm(belt, pulley)
        total += (pull.real * u_x) ** 2 + (pull.imag * u_y) ** 2
    return math.sqrt(total + float(np.sum(np.square(shared))))
