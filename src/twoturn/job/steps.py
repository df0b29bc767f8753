"""The order of the plan's steps: where in the work each entry's ``done`` lies."""

from __future__ import annotations

from twoturn.drive.parts import Drive
from twoturn.plan.assemble import step_order


def step_numbers(drive: Drive) -> dict[str, int]:
    """Number of every step that a plan for this drive may have, counted from 0, by id.

    Parameters
    ----------
    drive
        The drive. Nothing is taken for granted of the vehicle, so that every step that may apply has its place.
    """
    return {step_id: number for number, step_id in enumerate(step_order(drive))}
