"""Recordings of the third generator, after a telephone's file format."""

from __future__ import annotations

from tests.pluck.third.draw import drawn

from bench.heard import Drawn, rows_of
from bench.table import Row

PLUCKED, OTHERS = 150, 120
FIRST_SEED = 930_000
DRAWN = Drawn(
    name="third generator",
    draw=lambda seed, plucked: drawn(seed, plucked=plucked),
    first_seed=FIRST_SEED,
    plucked=PLUCKED,
    others=OTHERS,
    how=f"{PLUCKED} recordings of a third generator, written by somebody who had not seen the reader nor the others; "
    "the weights of the evidence were later grown on all three, other seeds",
    others_how=f"{OTHERS} of the same generator: bars, sheets, wood, plastic, skins, feet, claps, synthetic speech, "
    "tools, engines, beeps, hum, silence",
    interval="",
)


def measure() -> list[Row]:
    """Rows of the plucked recordings, of the others and of the speed."""
    return rows_of(DRAWN)
