"""Recordings of the second generator, after a telephone's file format."""

from __future__ import annotations

from tests.pluck.second.draw import drawn
from tests.pluck.second.voices import PROGRAM, can_speak

from bench.heard import Drawn, rows_of
from bench.table import Row

PLUCKED, OTHERS = 150, 120
FIRST_SEED = 860_000
NAME = "second generator"
DRAWN = Drawn(
    name=NAME,
    draw=lambda seed, plucked: drawn(seed, plucked=plucked),
    first_seed=FIRST_SEED,
    plucked=PLUCKED,
    others=OTHERS,
    how=f"{PLUCKED} recordings of a second generator, written by somebody who had not seen the reader; the weights of "
    "the evidence were later grown on all three generators, other seeds",
    others_how=f"{OTHERS} of the same generator: knocks of five kinds, claps, synthetic speech, tools, engines, beeps, "
    "buzz, wind, silence",
    interval="",
)


def measure() -> list[Row]:
    """Rows of the plucked recordings, of the others and of the speed; one that says so where no speech can be made."""
    if not can_speak():
        return [
            Row(
                f"pluck: {NAME}",
                f"the speech synthesiser {PROGRAM} is not installed",
                "not measured",
                "95 % found",
                None,
            )
        ]
    return rows_of(DRAWN)
