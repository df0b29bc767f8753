"""Turns and zero of a crank wheel: how many of its sections make a turn, and which tooth is 0."""

from __future__ import annotations

from twoturn.capture.cams import CYCLE_DEG
from twoturn.capture.crank.choose import CrankCandidate
from twoturn.capture.wheel.shape import Wheel
from twoturn.capture.wheel.written import Stated


def sections_of(
    best: CrankCandidate, repeat: int, why: list[str], stated: Stated | None = None
) -> tuple[int | None, bool]:
    """Sections of the wheel in one turn, and whether a cam channel told so."""
    if best.stated and stated is not None and stated.even and repeat in (0, stated.places, 2 * stated.places):
        if repeat == stated.places:
            why.append("the cam pattern comes again every turn of the wheel: the two turns of a cycle look alike")
        return stated.places, repeat == 2 * stated.places
    if repeat and repeat % 2 == 0:
        return repeat // 2, True
    wheel = Wheel(best.shape.steps)
    if wheel.even and not repeat:
        why.append(
            f"{best.train.name} shows an even row of teeth without a gap and no cam channel that repeats: the number "
            "of teeth in a turn and the zero cannot be told"
        )
        return None, False
    if wheel.even:
        why.append(f"the cam pattern comes again after {repeat} teeth; that was taken as one turn of the crankshaft")
    elif repeat == 1:
        why.append("the cam pattern comes again every turn of the wheel: the two turns of a cycle look alike")
    return (repeat or 1), False


def anchor_of(wheel: Wheel, certain: bool) -> tuple[str, int]:
    """The sentence on the zero, and how many zeros a cycle has."""
    zeros = 2 * wheel.sections
    tooth = "a tooth (no gap marks one)" if wheel.even else "the first edge after the longest gap"
    if not wheel.even and len(set(wheel.steps)) > 1 and max(wheel.steps) == wheel.normal_step:
        tooth = "the tooth before the extra one"
    every = CYCLE_DEG / zeros
    rule = f"0 is {tooth}; {zeros} such edges come in two turns, {every:g}° apart, and the last one at or before the "
    rule += "first crank edge of the recording was taken"
    if not certain:
        rule += "; no cam channel tells the two turns apart" if wheel.sections == 1 else ""
    return rule, zeros
