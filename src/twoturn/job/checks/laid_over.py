"""Edges of a sensor recording laid over expected ones, and why a shift may be none: another engine, another edge."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from twoturn.capture.cams import CYCLE_DEG, CamEdge
from twoturn.capture.shift.match import Expected, Match, best_match
from twoturn.capture.shift.rivals import SAME_PATTERN_DEG, THINKABLE_SHIFT_DEG, rival_deg, surplus
from twoturn.words.numbers import phase_words

LEAST_PAIRED = 0.6
"""Share of the expected edges that must be seen [-], as the capture command asks."""

Seen = Mapping[str, Sequence[CamEdge]]
Wanted = Mapping[str, Sequence[Expected]]


@dataclass(frozen=True)
class Laid:
    """How the edges of one shaft lie over the expected ones.

    Attributes
    ----------
    match
        The match taken.
    doubt
        Why no shift can be told from it, in one sentence; empty where one can.
    surplus
        What to say of more edges than were expected; empty where there are none.
    offset_deg
        Which of the possible zeros agrees with the expected edges [crank degrees].
    """

    match: Match
    doubt: str = ""
    surplus: str = ""
    offset_deg: float = 0.0


def laid_over(wanted: Wanted, seen: Seen, zeros: int) -> dict[str, Laid]:
    """How recorded edges lie over the expected ones, by shaft; the crank wheel's zero is the same for all shafts.

    Parameters
    ----------
    wanted, seen
        Expected and recorded edges, by shaft.
    zeros
        How many places of the crank wheel could be its zero in two turns [-].
    """
    offsets = [number * CYCLE_DEG / zeros for number in range(zeros)]
    best: tuple[float, dict[str, Match], float] = (math.inf, {}, 0.0)
    for offset in offsets:
        tried = {shaft: best_match(wanted[shaft], edges, offset) for shaft, edges in seen.items()}
        rows = {shaft: match for shaft, match in tried.items() if match is not None}
        cost = sum(match.cost for match in rows.values()) + 1e3 * (len(seen) - len(rows))
        if rows and cost < best[0] - 1e-9:
            best = (cost, rows, offset)
    return {
        shaft: replace(_judged(shaft, match, wanted, seen, offsets), offset_deg=best[2])
        for shaft, match in best[1].items()
    }


def _judged(shaft: str, match: Match, wanted: Wanted, seen: Seen, offsets: Sequence[float]) -> Laid:
    if not _fits(match):
        return Laid(match, "The recording does not show the pattern of edges expected: another channel or engine.")
    more = surplus(wanted[shaft], seen[shaft])
    said = " and ".join(f"{have} {edge} edges where {want} is stated" for edge, (have, want) in more.items())
    rival = rival_deg(wanted[shaft], seen[shaft], _possible(shaft, wanted, seen, offsets), match)
    if rival is not None:
        either = f"{phase_words(match.shift_deg)} or {phase_words(rival)}"
        return Laid(match, f"The recording shows {said}: {either}, it cannot tell which.")
    if abs(match.shift_deg) > THINKABLE_SHIFT_DEG:
        far = f"The nearest edge lies {phase_words(match.shift_deg)}, further than a camshaft is found out"
        return Laid(match, f"{far}: it may be another channel, edge or engine.")
    return Laid(match, "", f"The recording shows {said}; the nearest was taken." if said else "")


def _fits(match: Match) -> bool:
    enough = match.paired >= LEAST_PAIRED * match.expected
    return match.spread_deg <= SAME_PATTERN_DEG and enough and not match.elsewhere


def _possible(shaft: str, wanted: Wanted, seen: Seen, offsets: Sequence[float]) -> list[float]:
    """The zeros [crank degrees] at which the other shafts show their patterns too; all where none does."""
    possible = []
    for offset in offsets:
        tried = [best_match(wanted[other], edges, offset) for other, edges in seen.items() if other != shaft]
        if all(one is not None and _fits(one) and abs(one.shift_deg) <= THINKABLE_SHIFT_DEG for one in tried):
            possible.append(offset)
    return possible or list(offsets)
