"""Starting places for least squares: circles intersected point after point, every arrangement kept that may hold."""

from __future__ import annotations

import math
from itertools import combinations

import numpy as np

from twoturn.drive.network_model import Distance, Network, Places, Side

MOST_BRANCHES = 256
MOST_STARTS = 64


def starting_places(network: Network) -> list[Places]:
    """Starting places: circles intersected point after point, or spread at random where that does not lead through.

    Parameters
    ----------
    network
        Anchors, distances, bearings and sides.

    Returns
    -------
    list
        Arrangements of all points [mm], the most likely first.
    """
    if len(network.anchors) >= 2:
        branches = _chain(network, dict(network.anchors))
    else:
        bearing = network.bearings[0]
        branches = _chain(network, {bearing.a: 0j, bearing.b: bearing.mm * bearing.direction})
        branches = [_moved(network, branch) for branch in branches]
    if not branches:
        return _random_starts(network)
    most = 100.0 * (_misfit(network, branches[0]) + len(network.distances))
    return [branch for branch in branches[:MOST_STARTS] if _misfit(network, branch) <= most]


def _moved(network: Network, branch: Places) -> Places:
    """A branch moved so that the only anchor lies where it belongs."""
    for name, place in network.anchors.items():
        shift = place - branch.get(name, place)
        return {**{one: where + shift for one, where in branch.items()}, name: place}
    return branch


def _chain(network: Network, seed: Places) -> list[Places]:
    """All arrangements by intersecting circles from ``seed`` on; empty when some point never meets two circles."""
    names = list(dict.fromkeys([*network.unknown, *network.anchors]))
    needed = [name for name in names if any(name in (row.a, row.b) for row in network.distances)]
    branches = [seed]
    placed = set(seed)
    while any(name not in placed for name in needed):
        open_points = [name for name in needed if name not in placed]
        target = max(open_points, key=lambda name: len(_ties(network, name, placed)))
        ties = _ties(network, target, placed)
        if len({other for other, _ in ties}) < 2:
            return []
        longer: list[Places] = []
        for branch in branches:
            longer += [{**branch, target: place} for place in _meetings(branch, ties)]
        placed.add(target)
        branches = sorted(longer, key=lambda branch: _misfit(network, branch))[:MOST_BRANCHES]
        branches = [branch for branch in branches if _may_hold(network, branch)] or branches
    return branches


def _ties(network: Network, name: str, placed: set[str]) -> list[tuple[str, Distance]]:
    """Distances from a point to points that are placed already."""
    ends = [(row.b if row.a == name else row.a, row) for row in network.distances if name in (row.a, row.b)]
    return [(other, row) for other, row in ends if other in placed]


def _meetings(branch: Places, ties: list[tuple[str, Distance]]) -> list[complex]:
    """Where the circles of two distances meet: of the pair of ties that cross at the best angle."""
    best: tuple[float, list[complex]] = (-1.0, [])
    for (first, one), (second, other) in combinations(ties, 2):
        if first == second or branch[first] == branch[second]:
            continue
        across = branch[second] - branch[first]
        apart = abs(across)
        along = (one.mm**2 - other.mm**2 + apart**2) / (2 * apart)
        height = math.sqrt(max(0.0, one.mm**2 - along**2))
        sine = height * apart / (one.mm * other.mm)
        unit = across / apart
        if sine > best[0]:
            meetings = [branch[first] + unit * (along + 1j * height), branch[first] + unit * (along - 1j * height)]
            best = (sine, meetings if height > 0 else meetings[:1])
    return best[1]


def _misfit(network: Network, branch: Places) -> float:
    rows = [row for row in network.distances if row.a in branch and row.b in branch]
    return sum(((abs(branch[row.b] - branch[row.a]) - row.mm) / row.u_mm) ** 2 for row in rows)


def _may_hold(network: Network, branch: Places) -> bool:
    """Whether a branch may still lie on the stated sides, with 5 mm to spare for what least squares moves."""
    known = [side for side in network.sides if side.b in branch and side.other in branch]
    return all(holds(side, branch, spare_mm=5.0) for side in known)


def holds(side: Side, places: Places, spare_mm: float = 0.0) -> bool:
    """Whether a stated side is true of an arrangement.

    Parameters
    ----------
    side
        What was stated.
    places
        Places of the points, x + i·y [mm].
    spare_mm
        How far it may be missed [mm].
    """
    step = places[side.b] - places[side.other]
    return -step.real > -spare_mm if side.axis == "x" else step.imag > -spare_mm


def _random_starts(network: Network, count: int = 240) -> list[Places]:
    random = np.random.default_rng(7)
    size = max(row.mm for row in network.distances)
    unknown = network.unknown
    spread = random.uniform(-1.5 * size, 1.5 * size, (count, len(unknown), 2)) @ np.array([1.0, 1j])
    return [{**network.anchors, **dict(zip(unknown, row, strict=True))} for row in spread]
