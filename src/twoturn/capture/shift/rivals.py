"""More edges than were expected: whether another than the nearest would do as well, so that no shift can be told."""

from __future__ import annotations

from collections.abc import Sequence

from twoturn.capture.cams import CamEdge
from twoturn.capture.shift.match import Expected, Match, every_match, wrapped

SAME_PATTERN_DEG = 3.0
"""How far an edge may lie from its polarity's shift in the same pattern [crank degrees]."""
THINKABLE_SHIFT_DEG = 60.0
"""So far out a cam is found, three teeth of 20 [crank degrees]; common practice, no source."""


def surplus(expected: Sequence[Expected], seen: Sequence[CamEdge]) -> dict[str, tuple[int, int]]:
    """Polarities of which more edges are seen than expected.

    Parameters
    ----------
    expected, seen
        Edges over the two turns of a cycle.

    Returns
    -------
    dict
        For each such polarity how many are seen and how many expected [-].
    """
    counts = {}
    for edge in sorted({one.edge for one in expected}):
        have, want = (sum(one.edge == edge for one in row) for row in (seen, expected))
        if have > want:
            counts[edge] = (have, want)
    return counts


def rival_deg(
    expected: Sequence[Expected], seen: Sequence[CamEdge], offsets_deg: Sequence[float], match: Match
) -> float | None:
    """The smallest other shift that fits as well as the one taken and may as well be meant.

    Where more edges are seen than expected, the expected ones lie on seen ones at several shifts. The nearest is only
    sure where every other one is further than a cam is ever found out, and more than twice as far as the nearest.

    Parameters
    ----------
    expected, seen
        Edges over the two turns of a cycle.
    offsets_deg
        The zeros of the crank wheel that may be meant [crank degrees].
    match
        The one taken.

    Returns
    -------
    float or None
        That shift [crank degrees], positive late; None where the one taken is sure.
    """
    if not surplus(expected, seen):
        return None
    others = [
        other.shift_deg
        for offset in offsets_deg
        for other in every_match(expected, seen, offset)
        if other.paired >= match.paired
        and other.spread_deg <= SAME_PATTERN_DEG
        and abs(float(wrapped(other.shift_deg - match.shift_deg))) > SAME_PATTERN_DEG
    ]
    nearest = min(others, key=abs, default=None)
    if nearest is None or abs(nearest) > max(THINKABLE_SHIFT_DEG, 2 * abs(match.shift_deg)):
        return None
    return nearest
