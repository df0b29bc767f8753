"""Cam edges on the two turns of a cycle: which belong together, their mean, scatter and uncertainty."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from math import lcm

import numpy as np
from numpy.typing import NDArray

from twoturn.capture.model import Array
from twoturn.capture.signal.edges import EdgeTrain
from twoturn.quantity.reading import coverage_factor

CYCLE_DEG = 720.0
LEAST_SHARE = 0.5
LEAST_U_DEG = 0.003
"""No angle is known better than this: rounding of times and reading between teeth [crank degrees]."""
RECURRING, MOST_SECTIONS = 0.85, 800
"""Share of the edges that must come again [-], and the most sections tried."""
FAULTY, SAME_PLACE = 0.7, 0.25
"""Least share where edges were lost now and then [-], and how near edges of one place lie [tolerances]."""
NEARLY_ALL, MOSTLY = 0.8, 0.5
"""Shares of the edges of a place that come again [-]; of six cam teeth evenly spaced but one, four of five do."""
SPLIT_DEG = 2.5
ONE_EDGE_DEG, ONE_EDGE_SHARE = 8.0, 0.15
"""Groups of readings apart by less than this [crank degrees] of which at most this share comes in the same cycles [-]
are one edge that scatters."""
LOST = 1.2
"""Steps longer than this lack teeth [longest steps of the wheel]."""
END_DEG = 30.0
"""How near the ends of a recording an edge is not missed [crank degrees]."""
FLOOR_DEG = 0.02
LEAST_DRIFT = 6
"""Cycles behind a drift [-]."""


@dataclass(frozen=True)
class CamEdge:
    """One cam edge over a cycle.

    Attributes
    ----------
    edge
        ``"rising"``, ``"falling"`` or ``"as recorded"``.
    angle_deg
        Mean crank angle after the zero, 0 to 720 [crank degrees].
    u
        Its standard uncertainty [crank degrees].
    scatter_deg
        Standard deviation from cycle to cycle [crank degrees].
    count
        Cycles in the mean [-].
    cycles_deg
        The angle of each cycle in the mean, in time order, on the same turn as their mean [crank degrees].
    drift_deg, drift_u
        By how much it moved from the first to the last cycle, by a straight line, and the standard uncertainty of that
        [crank degrees]; None for fewer than six cycles.
    """

    edge: str
    angle_deg: float
    u: float
    scatter_deg: float
    count: int
    cycles_deg: tuple[float, ...] = ()
    drift_deg: float | None = None
    drift_u: float | None = None


@dataclass(frozen=True)
class Cam:
    """A cam channel: its edges over a cycle in the order of their angle.

    Attributes
    ----------
    channel
        The channel's name.
    edges
        Its edges.
    sensor
        The kind of sensor.
    repeat_sections
        After how many sections of the crank wheel its pattern repeats [-]; 0 where that was not found.
    """

    channel: str
    edges: tuple[CamEdge, ...]
    sensor: str
    repeat_sections: int


def pattern_repeat(
    positions: Array,
    kinds: Array,
    tolerance: float,
    stretch: NDArray[np.int64] | None = None,
    most: int = MOST_SECTIONS,
) -> int:
    """After how many sections of the crank wheel the edges of a cam channel repeat.

    Parameters
    ----------
    positions
        Positions of its edges in time order, in sections of the crank wheel, shape (n,) [-].
    kinds
        1 for rising, 0 for falling edges, shape (n,) [-].
    tolerance
        How far positions may differ [sections].
    stretch
        Number of the stretch between silences each edge lies in, shape (n,) [-]; only edges of one are compared.
    most
        The most sections a cycle may have [-].

    Returns
    -------
    int
        The smallest number of sections after which nearly all edges recur; 0 where none is found.
    """
    seen: dict[int, _Again] = {}
    most = int(min(most, MOST_SECTIONS, (positions[-1] - positions[0]) // 1.5)) if positions.size > 3 else 0

    def share(whole: int) -> float:
        if whole not in seen:
            seen[whole] = _recurring(positions, kinds, tolerance, whole, stretch)
        return seen[whole].share

    for whole in range(1, most + 1):
        if share(whole) < FAULTY or (share(whole) < RECURRING and seen[whole].steady < RECURRING):
            continue
        while (
            2 * whole <= most
            and 1 - share(2 * whole) < 0.5 * (1 - share(whole)) - 0.01
            and seen[whole].mostly != 1.0  # else edges were lost now and then, none lacks in every other cycle
        ):
            whole *= 2  # noqa: PLW2901 - a pattern with one odd edge among many nearly recurs before it does
        return whole
    return 0


@dataclass(frozen=True)
class _Again:
    """How well edges come again after so many sections.

    The share of them that do; and the shares of those at places where nearly all, or most do: what a drop-out or a
    disturbance loses now and then does not count there (NaN where no place is seen twice) [-].
    """

    share: float
    steady: float
    mostly: float


def _recurring(
    positions: Array, kinds: Array, tolerance: float, whole: int, stretch: NDArray[np.int64] | None
) -> _Again:
    """How well the edges come again after so many sections, as far as the recording goes."""
    places, again = [], []
    part = np.zeros(positions.size, dtype=np.int64) if stretch is None else stretch
    for kind in (0.0, 1.0):
        for number in np.unique(part):
            mine = np.sort(positions[(kinds == kind) & (part == number)])
            if mine.size < 2:
                continue
            due = mine + whole
            due = due[due <= mine[-1] + tolerance]
            after = np.clip(np.searchsorted(mine, due), 1, mine.size - 1)
            near = np.minimum(np.abs(mine[after] - due), np.abs(mine[after - 1] - due))
            places.append(due % whole + 2 * whole * kind)
            again.append(near < tolerance)
    found = np.concatenate(again) if again else np.zeros(0, dtype=np.bool_)
    if found.size < 2:
        return _Again(0.0, 0.0, 0.0)
    return _Again(float(found.mean()), *_by_place(np.concatenate(places), found, tolerance))


def _by_place(places: Array, found: NDArray[np.bool_], tolerance: float) -> tuple[float, float]:
    """Shares of the edges that lie at places where nearly all, or most are found [-]; places seen once do not count."""
    order = np.argsort(places, kind="stable")
    group = np.concatenate([[0], np.cumsum(np.diff(places[order]) > SAME_PLACE * tolerance)])
    count = np.bincount(group)
    rate = np.bincount(group, weights=found[order]) / count
    told = count >= 2
    if not told.any():
        return float("nan"), float("nan")
    nearly, mostly = (float(count[told & (rate > least)].sum() / count[told].sum()) for least in (NEARLY_ALL, MOSTLY))
    return nearly, mostly


def common_repeat(repeats: list[int]) -> int:
    """The number of sections after which every cam channel repeats [-]; 0 where none is known."""
    known = [repeat for repeat in repeats if repeat]
    return lcm(*known) if known else 0


def cam_edges(
    train: EdgeTrain, angles_deg: Array, u_system_deg: Callable[[Array], Array], cycles: float
) -> tuple[CamEdge, ...]:
    """The edges of a cam channel over a cycle.

    Parameters
    ----------
    train
        The channel's edges.
    angles_deg
        Unwrapped crank angle of each of them [crank degrees], shape (n,); NaN where unknown.
    u_system_deg
        Gives the standard uncertainty of angles within the cycle that repeats with the wheel: placement of teeth,
        reading between them [crank degrees].
    cycles
        Cycles in the capture [-].

    Returns
    -------
    tuple
        Edges that come in at least half of the cycles, in the order of their angle.
    """
    found: list[CamEdge] = []
    for edge in train.polarities:
        chosen = np.isfinite(angles_deg)
        if edge != "as recorded":
            chosen &= train.rising == (edge == "rising")
        groups = _groups(angles_deg[chosen])
        least = max(2.0, LEAST_SHARE * (cycles - 1)) if cycles >= 2 else 1.0
        found += [_summary(edge, group) for group in groups if group.size >= least]
    if not found:
        return ()
    system = u_system_deg(np.array([item.angle_deg for item in found]))
    found = [
        replace(item, u=float(np.sqrt(item.u**2 + u**2 + LEAST_U_DEG**2)))
        for item, u in zip(found, system, strict=True)
    ]
    return tuple(sorted(found, key=lambda item: item.angle_deg))


def in_drop_out(teeth_s: Array, teeth_deg: Array, widest_deg: float, times_s: Array) -> NDArray[np.bool_]:
    """Which moments lie between teeth further apart than any of the wheel: some were lost there.

    Parameters
    ----------
    teeth_s, teeth_deg
        Times [s] and unwrapped angles [crank degrees] of the teeth, shape (n,) each.
    widest_deg
        Longest step of the wheel [crank degrees].
    times_s
        The moments, shape (m,) [s].

    Returns
    -------
    array
        Shape (m,); all false where teeth are lost in most cycles: then it is no drop-out.
    """
    wide = np.diff(teeth_deg) > LOST * widest_deg
    if wide.sum() > (teeth_deg[-1] - teeth_deg[0]) / CYCLE_DEG:
        return np.zeros(times_s.size, dtype=np.bool_)
    after = np.searchsorted(teeth_s, times_s)
    return np.asarray(wide[np.clip(after, 1, wide.size) - 1])


def lacking_cycles(
    train: EdgeTrain, angles_deg: Array, edges: Sequence[CamEdge], span_deg: tuple[float, float]
) -> tuple[int, int]:
    """In how many cycles the edge that was lost most often lacks, and of how many [-].

    Parameters
    ----------
    train, angles_deg
        The channel's edges and their unwrapped angles, NaN where not known, shape (n,) [crank degrees].
    edges
        Its edges over a cycle.
    span_deg
        First and last angle of the recording [crank degrees].
    """
    worst = (0, 0)
    for edge in edges:
        kind = np.ones(train.times_s.size, dtype=np.bool_)
        if edge.edge != "as recorded":
            kind = train.rising == (edge.edge == "rising")
        off = np.abs((angles_deg[kind] - edge.angle_deg + CYCLE_DEG / 2) % CYCLE_DEG - CYCLE_DEG / 2)
        first, last = ((at - edge.angle_deg) / CYCLE_DEG for at in (span_deg[0] + END_DEG, span_deg[1] - END_DEG))
        due = int(np.floor(last) - np.ceil(first)) + 1
        worst = max(worst, (due - int(np.count_nonzero(off < ONE_EDGE_DEG)), due))
    return worst


def _groups(angles: Array) -> list[Array]:
    """Unwrapped angles that belong together on the circle of a cycle, each group in time order."""
    if angles.size == 0:
        return []
    order = np.argsort(angles % CYCLE_DEG, kind="stable")
    round_deg = (angles % CYCLE_DEG)[order]
    steps = np.diff(np.concatenate([round_deg, [round_deg[0] + CYCLE_DEG]]))
    turn = int(np.argmax(steps)) + 1
    order, steps = np.roll(order, -turn), np.roll(steps, -turn)
    parts = [np.sort(angles[part]) for part in np.split(order, np.flatnonzero(steps[:-1] > SPLIT_DEG) + 1)]
    groups = parts[:1]
    for part in parts[1:]:
        if _one_edge(groups[-1], part):
            groups[-1] = np.sort(np.concatenate([groups[-1], part]))
        else:
            groups.append(part)
    return groups


def _one_edge(first: Array, second: Array) -> bool:
    """Whether two groups side by side are one edge that scatters: hardly a cycle shows both."""
    both = np.sort(np.concatenate([first, second]))
    cycle = np.rint((both - both[0]) / CYCLE_DEG)
    apart = (np.median(second % CYCLE_DEG) - np.median(first % CYCLE_DEG)) % CYCLE_DEG
    alone = min(first.size, second.size)
    return bool(apart < ONE_EDGE_DEG and both.size - np.unique(cycle).size <= ONE_EDGE_SHARE * alone)


def _summary(edge: str, angles: Array) -> CamEdge:
    """Mean, scatter and uncertainty of one edge; values far from the middle (start, a lost tooth) are left out.

    The uncertainty is widened for few cycles, so that twice of it holds (Student's t, JCGM 100:2008, G.3).
    """
    cycle = np.rint((angles - angles[0]) / CYCLE_DEG)
    angles = angles - CYCLE_DEG * (cycle + np.floor(angles[0] / CYCLE_DEG))
    middle = float(np.median(angles))
    spread = max(FLOOR_DEG, 1.4826 * float(np.median(np.abs(angles - middle))))
    near = np.abs(angles - middle) <= 4 * spread
    kept = angles[near]
    scatter = float(kept.std(ddof=1)) if kept.size > 1 else float("nan")
    mean = float(kept.mean()) % CYCLE_DEG
    own = (
        scatter / np.sqrt(kept.size) * coverage_factor(kept.size - 1) / coverage_factor(np.inf)
        if kept.size > 1
        else 1.0
    )
    drift, drift_u = _drift(cycle[near], kept)
    told = 0.0 if kept.size < 2 else scatter
    return CamEdge(edge, mean, float(own), told, int(kept.size), tuple(map(float, kept)), drift, drift_u)


def _drift(cycle: Array, angles: Array) -> tuple[float | None, float | None]:
    """Movement from first to last cycle by a straight line through the angles of the cycles [crank degrees]."""
    if angles.size < LEAST_DRIFT or cycle[-1] <= cycle[0]:
        return None, None
    x = cycle - cycle.mean()
    slope = float(x @ (angles - angles.mean()) / (x @ x))
    left = angles - angles.mean() - slope * x
    u = float(np.sqrt(left @ left / (angles.size - 2) / (x @ x)))
    reach = float(cycle[-1] - cycle[0])
    return slope * reach, u * reach
