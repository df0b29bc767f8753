"""Laying one pattern of cam edges over another: by how much it is late, and whether it is the same pattern."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from twoturn.capture.cams import CYCLE_DEG, CamEdge
from twoturn.capture.model import Array

MISFIT_DEG = 1.5
LIKELY_SHIFT_DEG = 25.0
NO_PARTNER = 9.0
GAP_DEG = 0.3
"""How far a sensor left in place may move rising and falling edges oppositely [crank degrees], 1 σ (judgement)."""
GAP_SEEN_DEG = 0.5
"""Moved apart further than this, the sensor's gap has changed [crank degrees] (judgement)."""


@dataclass(frozen=True)
class Expected:
    """An edge that should be seen.

    Attributes
    ----------
    edge
        ``"rising"`` or ``"falling"``.
    angle_deg
        Where, after the zero of the crank wheel [crank degrees].
    u
        Its standard uncertainty [crank degrees].
    """

    edge: str
    angle_deg: float
    u: float


@dataclass(frozen=True)
class Match:
    """One pattern laid over another.

    Attributes
    ----------
    shift_deg
        How late the seen pattern is [crank degrees]; where both polarities are there, their mean, in which the sharper
        flank counts more (:func:`both_flanks`).
    u
        Its standard uncertainty from the edges alone [crank degrees].
    rising_deg, falling_deg
        The same by the edges of one polarity [crank degrees]; None without any.
    spread_deg
        Greatest difference of an edge from its polarity's shift [crank degrees].
    paired, expected
        Edges that found a partner, and edges that should be seen [-].
    elsewhere
        Edges that are seen elsewhere than expected: of one polarity both seen and expected ones without a partner [-].
    cost
        How badly it fits [-]; for choosing among matches.
    """

    shift_deg: float
    u: float
    rising_deg: float | None
    falling_deg: float | None
    spread_deg: float
    paired: int
    expected: int
    cost: float
    elsewhere: int = 0

    @property
    def gap_deg(self) -> float:
        """Half of what rising and falling edges moved apart [crank degrees]: a sensor's gap, not timing."""
        if self.rising_deg is None or self.falling_deg is None:
            return 0.0
        return (self.rising_deg - self.falling_deg) / 2


def wrapped(deg: Array | float) -> Array:
    """Angles on the circle of a cycle, within ±360 [crank degrees], any shape.

    Parameters
    ----------
    deg
        Any angles [crank degrees].
    """
    return np.asarray((np.asarray(deg) + CYCLE_DEG / 2) % CYCLE_DEG - CYCLE_DEG / 2)


def best_match(expected: Sequence[Expected], seen: Sequence[CamEdge], offset_deg: float) -> Match | None:
    """Lay the seen edges over the expected ones.

    Every pairing of one expected with one seen edge of its polarity proposes a shift; the one is taken that brings
    most edges together and is not needlessly large.

    Parameters
    ----------
    expected
        Edges that should be seen.
    seen
        Edges that were seen.
    offset_deg
        Added to the expected angles: which of the possible zeros was meant [crank degrees].

    Returns
    -------
    Match or None
        None where no polarity is common to both.
    """
    return min(every_match(expected, seen, offset_deg), key=lambda match: match.cost, default=None)


def every_match(expected: Sequence[Expected], seen: Sequence[CamEdge], offset_deg: float) -> list[Match]:
    """Every way to lay the seen edges over the expected ones that brings one edge of each together.

    Parameters
    ----------
    expected, seen
        As for ``best_match``.
    offset_deg
        Added to the expected angles [crank degrees].
    """
    found: list[Match] = []
    for first in expected:
        for edge in seen:
            if edge.edge == first.edge:
                shift = float(wrapped(edge.angle_deg - first.angle_deg - offset_deg))
                match = _laid(expected, seen, offset_deg, shift)
                if match is not None:
                    found.append(match)
    return found


def _laid(expected: Sequence[Expected], seen: Sequence[CamEdge], offset: float, shift: float) -> Match | None:
    """The match that a proposed shift leads to."""
    late: dict[str, list[tuple[float, float]]] = {"rising": [], "falling": []}
    cost = 2 * float(np.log1p((shift / LIKELY_SHIFT_DEG) ** 2))
    for want in expected:
        partners = [edge for edge in seen if edge.edge == want.edge]
        off = [float(wrapped(edge.angle_deg - want.angle_deg - offset - shift)) for edge in partners]
        if not off:
            cost += NO_PARTNER
            continue
        best = int(np.argmin(np.abs(off)))
        cost += min(NO_PARTNER, (off[best] / MISFIT_DEG) ** 2)
        if abs(off[best]) < 3 * MISFIT_DEG:
            late.setdefault(want.edge, []).append((shift + off[best], float(np.hypot(partners[best].u, want.u))))
    polar = {edge: _mean(rows) for edge, rows in late.items() if rows}
    if not polar:
        return None
    paired = sum(len(rows) for rows in late.values())
    spread = max(abs(deg - polar[edge][0]) for edge, rows in late.items() for deg, _ in rows)
    rising, falling = polar.get("rising"), polar.get("falling")
    shift_deg, u = both_flanks(rising, falling) if rising and falling else next(iter(polar.values()))
    return Match(
        shift_deg,
        u,
        rising[0] if rising else None,
        falling[0] if falling else None,
        spread,
        paired,
        len(expected),
        cost,
        _elsewhere(expected, seen, late),
    )


def _elsewhere(
    expected: Sequence[Expected], seen: Sequence[CamEdge], late: dict[str, list[tuple[float, float]]]
) -> int:
    """How many edges lie elsewhere than expected [-]: as many seen as expected, but some without a partner."""
    count = 0
    for edge in ("rising", "falling"):
        wanted, have = (sum(one.edge == edge for one in row) for row in (expected, seen))
        if wanted == have:
            count += wanted - len(late[edge])
    return count


def both_flanks(rising: tuple[float, float], falling: tuple[float, float]) -> tuple[float, float]:
    """Shift by both flanks together; the sharper one counts more, but a changed gap of the sensor still cancels.

    Rising edges show s + g, falling ones s − g, with g ~ Normal(0, 0.3°²) what the sensor's gap does: s by generalised
    least squares (Aitken's estimator). Flanks that are sharp against g get like weights, a blunt one little. Where the
    gap has changed for all to see, the plain mean cancels it.

    Parameters
    ----------
    rising, falling
        Shift and standard uncertainty by the edges of each polarity [crank degrees].

    Returns
    -------
    tuple
        The shift and its standard uncertainty [crank degrees].
    """
    gap = abs(rising[0] - falling[0]) / 2
    if gap > max(GAP_SEEN_DEG, float(np.hypot(rising[1], falling[1]))):
        return (rising[0] + falling[0]) / 2, float(np.hypot(rising[1], falling[1])) / 2
    own = np.diag([rising[1] ** 2, falling[1] ** 2]) + 1e-12 * np.eye(2)
    covariance = own + GAP_DEG**2 * np.array([[1.0, -1.0], [-1.0, 1.0]])
    weights = np.linalg.solve(covariance, np.ones(2))
    u = float(1 / np.sqrt(weights.sum()))
    return float(weights @ [rising[0], falling[0]] / weights.sum()), u


def _mean(rows: list[tuple[float, float]]) -> tuple[float, float]:
    """Mean shift of one polarity and its uncertainty; what the edges share does not average away."""
    deg = np.array([row[0] for row in rows])
    u = np.array([row[1] for row in rows])
    return float(deg.mean()), float(
        np.hypot(np.sqrt(np.mean(u**2)), deg.std(ddof=1) / np.sqrt(deg.size) if deg.size > 1 else 0)
    )


def alike_cam(name: str, other: str) -> bool:
    """Whether two names mean the same cam: equal, or both inlet or both exhaust."""
    kinds = (("inlet", "intake", "in cam"), ("exhaust", "outlet", "ex cam"))
    first, second = name.lower(), other.lower()
    return first == second or any(
        any(word in first for word in words) and any(word in second for word in words) for words in kinds
    )
