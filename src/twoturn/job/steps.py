"""The order of the plan's steps: where in the work each entry's ``done`` lies."""

from __future__ import annotations

import weakref

from twoturn.drive.parts import Drive
from twoturn.plan import make_plan

_KNOWN: dict[int, tuple[weakref.ref[Drive], dict[str, int]]] = {}


def step_numbers(drive: Drive) -> dict[str, int]:
    """Number of every step that a plan for this drive may have, counted from 0, by id.

    Parameters
    ----------
    drive
        The drive. Nothing is taken for granted of the vehicle, so that every step that may apply has its place. The
        answer is kept as long as the drive is: a drive never changes.
    """
    kept = _KNOWN.get(id(drive))
    if kept is not None and kept[0]() is drive:
        return kept[1]
    numbers = {step.id: number for number, step in enumerate(make_plan(drive).steps)}
    key = id(drive)
    _KNOWN[key] = (weakref.ref(drive, lambda _: _KNOWN.pop(key, None)), numbers)
    return numbers
