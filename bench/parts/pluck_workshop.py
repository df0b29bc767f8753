"""Workshop recordings from the tests' own generator, independent of the reader."""

from __future__ import annotations

from tests.pluck.workshop import workshop

from bench.heard import Drawn, rows_of
from bench.table import Row

PLUCKED, OTHERS = 160, 300
FIRST_SEED = 700_000
DRAWN = Drawn(
    name="workshop",
    draw=lambda seed, plucked: workshop(seed, plucked=plucked),
    first_seed=FIRST_SEED,
    plucked=PLUCKED,
    others=OTHERS,
    how=f"{PLUCKED} recordings of 1 to 10 plucks: hum, speech, impacts, air tool, reverberation, clipping, gates, gain",
    others_how=f"{OTHERS} recordings of knocks, claps, speech and noise without a pluck",
    interval="the last widening of the interval was chosen after one look at this figure, on other seeds",
)


def measure() -> list[Row]:
    """Rows of the plucked recordings, of the others and of the speed."""
    return rows_of(DRAWN)
