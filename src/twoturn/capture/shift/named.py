"""What else explains a shift of a cam as well as a belt tooth does, and whether a second witness is needed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from twoturn.quantity.reading import Reading
from twoturn.quantity.show import plus_minus

ALIKE_DEG: Final = 1.5
"""Cams that moved by the same within this moved together [crank degrees] (judgement)."""
LEAST_OUT_DEG: Final = 1.5
"""Below this a shift needs no explanation: a keyed hub's rest [crank degrees]; common practice."""
GAP_MOST_DEG: Final = 3.0
"""Further than this a changed gap of the sensor moves no edge [crank degrees] (judgement)."""
PLACE_DEG: Final = 1.0
"""So near a whole place of the crank wheel counts as one [crank degrees] (judgement)."""


@dataclass(frozen=True)
class Phaser:
    """Variable cam timing of a shaft, as far as it is told.

    Attributes
    ----------
    range_deg
        How far it can turn its camshaft [crank degrees]; None where not told.
    locked_at
        ``"late"`` or ``"early"``: the end of its range at which it is locked; None where not told.
    """

    range_deg: float | None = None
    locked_at: str | None = None

    def explains(self, deg: float, u: float) -> bool:
        """Whether a phaser out of its locked place could make a shift [crank degrees] of this uncertainty."""
        if self.range_deg is not None and abs(deg) > self.range_deg + max(1.0, 2 * u):
            return False
        return not ((self.locked_at == "late" and deg > 0) or (self.locked_at == "early" and deg < 0))


@dataclass(frozen=True)
class Rival:
    """Another explanation of a shift.

    Attributes
    ----------
    kind
        ``"phaser"``, ``"crank wheel"``, ``"cam sensor"`` or ``"sensor gap"``.
    words
        What would have happened, in words.
    """

    kind: str
    words: str


@dataclass(frozen=True)
class Seen:
    """What is known round a shift.

    Attributes
    ----------
    deg, u
        The shift and its standard uncertainty [crank degrees], with the authority's tolerance.
    all_deg
        Shifts of all cams of the recording [crank degrees].
    one_polarity
        Whether only rising or only falling edges were compared.
    wheel
        The crank wheel in words.
    place_deg
        One place of the crank wheel [crank degrees]; None where unknown.
    witness
        What the compression wave says: ``"stayed"``, ``"moved alike"`` or ``"silent"``.
    phaser
        The shaft's phaser; None where it has none or nobody knows.
    """

    deg: float
    u: float
    all_deg: Sequence[float]
    one_polarity: bool
    wheel: str
    place_deg: float | None
    witness: str = "silent"
    phaser: Phaser | None = None

    @property
    def out(self) -> bool:
        """Whether the shift needs an explanation at all."""
        return abs(self.deg) > max(LEAST_OUT_DEG, 2 * self.u)


def whole_places(deg: float, u: float, place_deg: float | None) -> int:
    """How many whole places of the crank wheel a shift is [-]; 0 where it is none.

    Parameters
    ----------
    deg, u
        The shift and its standard uncertainty [crank degrees].
    place_deg
        One place of the crank wheel [crank degrees].
    """
    if not place_deg or place_deg < 3 * PLACE_DEG:
        return 0
    whole = round(deg / place_deg)
    return whole if whole and abs(deg - whole * place_deg) <= min(max(PLACE_DEG, 2 * u), 1.5 * PLACE_DEG) else 0


def rivals_of(seen: Seen) -> tuple[Rival, ...]:
    """What explains a shift as well as belt teeth do; empty for a shift that needs no explanation.

    Parameters
    ----------
    seen
        What is known round the shift.
    """
    if not seen.out:
        return ()
    found = []
    if seen.phaser is not None and seen.phaser.explains(seen.deg, seen.u):
        found.append(Rival("phaser", "the timing adjuster (phaser) is not in its locked place"))
    alike = all(abs(deg - seen.deg) <= max(ALIKE_DEG, 2 * seen.u) for deg in seen.all_deg)
    if alike and seen.witness != "stayed":
        found.append(Rival("crank wheel", _wheel_words(seen)))
    if seen.witness != "moved alike":
        found.append(Rival("cam sensor", "the cam's own sensor or its wheel has moved"))
    if seen.one_polarity and abs(seen.deg) <= GAP_MOST_DEG:
        found.append(Rival("sensor gap", "the sensor's gap has changed (only one flank could be compared)"))
    return tuple(found)


def _wheel_words(seen: Seen) -> str:
    whole = abs(whole_places(seen.deg, seen.u, seen.place_deg))
    words = "the crank sensor or its wheel has moved the other way"
    if not whole:
        return words
    places = "place" if whole == 1 else "places"
    return f"{words} ({abs(seen.deg):.1f}° is also {whole} whole {places} of the {seen.wheel} crank wheel)"


def witness_words(seen: Seen, wave: tuple[float, float] | None) -> str:
    """What the compression wave says of a shift, in a sentence; empty where it is silent or there is no shift."""
    if wave is None or not seen.out or seen.witness == "silent":
        return ""
    told = _late(*wave)
    if seen.witness == "stayed":
        return (
            f"the compression wave in the speed has not moved on the crank wheel ({told}): a second witness that crank "
            "sensor and wheel sit where they did"
        )
    return (
        f"the compression wave in the speed moved alike ({told}): the crank sensor or its wheel has moved rather than "
        "the belt"
    )


def _late(deg: float, u: float) -> str:
    """An angle of the wave with its standard uncertainty [crank degrees], as late or early with its 95 % interval."""
    size, _, half = plus_minus(abs(deg), Reading(deg, u, "°").expanded, "").partition(" ± ")
    return f"{size}° {'early' if deg < 0 else 'late'} ± {half or 0}°"
