"""The order of the plan's steps: where in the work each entry's ``done`` lies."""

from __future__ import annotations

import weakref
from collections.abc import Mapping
from types import MappingProxyType

from twoturn.drive.parts import Drive
from twoturn.plan.assemble import step_order

_FOUND: dict[int, tuple[weakref.ref[Drive], Mapping[str, int]]] = {}
"""The numbers of drives that are in use, by the drive itself: a bench asks for the same ones with every entry."""


def step_numbers(drive: Drive) -> Mapping[str, int]:
    """Number of every step that a plan for this drive may have, counted from 0, by id.

    Parameters
    ----------
    drive
        The drive. Nothing is taken for granted of the vehicle, so that every step that may apply has its place.
    """
    known = _FOUND.get(id(drive))
    if known is not None and known[0]() is drive:
        return known[1]
    numbers = MappingProxyType({step_id: number for number, step_id in enumerate(step_order(drive))})
    here = id(drive)
    _FOUND[here] = (weakref.ref(drive, lambda _: _FOUND.pop(here, None)), numbers)
    return numbers
