"""The free span a note is taken from: its length at rest, how sure that is, and what lies at its ends."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from twoturn.errors import DomainError
from twoturn.mechanics.rest.known import BeltAtRest
from twoturn.mechanics.setting.length_u import coordinate_u_mm


@dataclass(frozen=True)
class SpanGeometry:
    """A free span at rest.

    Attributes
    ----------
    start, end
        Pulley ids, along travel.
    length_mm
        From tangent point to tangent point [mm].
    u_mm
        Standard uncertainty from both pulleys' centres, 1 mm a coordinate where none is given [mm].
    toothed_ends
        Whether the pulleys at its start and its end are toothed.
    """

    start: str
    end: str
    length_mm: float
    u_mm: float
    toothed_ends: tuple[bool, bool]


def span_geometry(rest: BeltAtRest, span: str) -> SpanGeometry:
    """Geometry of the free span ``from:to`` of a belt at rest.

    Parameters
    ----------
    rest
        The belt at rest.
    span
        Pulley ids in belt order, ``"crank:tensioner"``.

    Returns
    -------
    SpanGeometry
        Its free length with uncertainty; ℓ² = |c_b − c_a|² − q², so ∂ℓ/∂c_b = (c_b − c_a)/ℓ.

    Raises
    ------
    DomainError
        No such span, or the drive has no coordinates.
    """
    pulleys = rest.belt.pulleys
    names = [f"{pulley.id}:{after.id}" for pulley, after in zip(pulleys, (*pulleys[1:], pulleys[0]), strict=True)]
    if span not in names:
        raise DomainError(f'the belt "{rest.belt.id}" has no span "{span}"', allowed=", ".join(names))
    if rest.shape is None:
        raise DomainError(
            f'the length of the span "{span}" is not known: the drive file gives no coordinates',
            next_step="give at_mm or [[distance]], or measure the free span",
        )
    index = names.index(span)
    after = (index + 1) % len(pulleys)
    length = float(rest.shape.path.spans_mm[index])
    across = rest.shape.centres[after] - rest.shape.centres[index]
    square = 0.0
    for at in (index, after):
        u_x, u_y = coordinate_u_mm(rest.belt, pulleys[at])
        square += (across.real / length * u_x) ** 2 + (across.imag / length * u_y) ** 2
    ends = (pulleys[index].toothed, pulleys[after].toothed)
    return SpanGeometry(pulleys[index].id, pulleys[after].id, length, float(np.sqrt(square)), ends)
