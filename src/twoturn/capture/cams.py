"""Cam edges on the two turns of a cycle: which belong together, their mean, scatter and uncertainty."""

from __future__ import annotations

from collections.abc import Callable
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
SPLIT_DEG = 2.5
ONE_EDGE_DEG, ONE_EDGE_SHARE = 8.0, 0.15
"""Groups of readings apart by less than this [crank degrees] of which at most this share comes in the same cycles [-]
are one edge that scatters."""
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


def pattern_repeat(positions: Array, kinds: Array, tolerance: float, stretch: NDArray[np.int64] | None = None) -> int:
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

    Returns
    -------
    int
        The smallest number of sections after which nearly all edges recur; 0 where none is found.
    """
    shares: dict[int, float] = {}
    most = int(min(MOST_SECTIONS, (positions[-1] - positions[0]) // 1.5)) if positions.size > 3 else 0

    def share(whole: int) -> float:
        if whole not in shares:
            shares[whole] = _recurring(positions, kinds, tolerance, whole, stretch)
        return shares[whole]

    for whole in range(1, most + 1):
        if share(whole) < RECURRING:
            continue
        while 2 * whole <= most and 1 - share(2 * whole) < 0.5 * (1 - share(whole)) - 0.01:
            whole *= 2  # noqa: PLW2901 - a pattern with one odd edge among many nearly recurs before it does
        return whole
    return 0


def _recurring(
    positions: Array, kinds: Array, tolerance: float, whole: int, stretch: NDArray[np.int64] | None
) -> float:
    """Share of the edges that come again after so many sections, as far as the recording goes [-]."""
    found = tried = 0
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
            found += int((near < tolerance).sum())
            tried += due.size
    return found / tried if tried >= 2 else 0.0


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
