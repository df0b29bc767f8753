"""The runs forwards round a crankshaft that turned back, put together: each has its own zero, the cams tell which.

A run is laid over the longest one by the zero at which all its cam edges come where they came there, within what both
scatter. Where no zero does, or another does as well, it is not used: cycles of different zeros are never mixed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from twoturn.capture.cams import CYCLE_DEG, Cam, CamEdge
from twoturn.capture.decoded import Decoded
from twoturn.quantity.reading import coverage_factor

LEAST_CYCLES = 2
"""Cycles that every edge of a run must show [-]."""
AGREE, AGREE_DEG = 3.0, 0.1
"""How far the edges of two runs may differ: standard uncertainties [-] and crank degrees besides."""
RIVAL_DEG = 5.0
"""A zero at which the edges come no further off than this would do as well [crank degrees]."""


def together(longest: Decoded, others: Sequence[Decoded]) -> tuple[Decoded, int, int]:
    """The longest run with the cycles of the others that agree with it.

    Parameters
    ----------
    longest, others
        The runs, each decoded on its own.

    Returns
    -------
    tuple
        The reading; how many other runs are in it, and how many show the same wheel but disagree [-].
    """
    used: list[tuple[Decoded, float]] = []
    against = 0
    for other in others:
        if not _comparable(longest, other):
            continue
        zero = _zero(longest, other)
        if zero is None:
            against += 1
        else:
            used.append((other, zero))
    if not used or against:
        return longest, 0, against
    cams = tuple(
        replace(cam, edges=tuple(_pooled(edge, [_partner(edge, cam, *one)[0] for one in used]) for edge in cam.edges))
        for cam in longest.cams
    )
    turns = longest.turns + sum(other.turns for other, _ in used)
    return replace(longest, cams=cams, turns=turns), len(used), 0


def _comparable(longest: Decoded, other: Decoded) -> bool:
    """Whether a run shows the same wheel and cams, every edge in cycles enough."""
    if longest.crank is None or other.crank is None or not longest.cams:
        return False
    same = (longest.crank.channel, longest.crank.edge, longest.crank.wheel.steps, longest.crank.zeros) == (
        other.crank.channel,
        other.crank.edge,
        other.crank.wheel.steps,
        other.crank.zeros,
    )
    shown = {cam.channel: [edge.edge for edge in cam.edges] for cam in other.cams}
    alike = all(sorted(shown.get(cam.channel, [])) == sorted(edge.edge for edge in cam.edges) for cam in longest.cams)
    enough = all(edge.count >= LEAST_CYCLES for run in (longest, other) for cam in run.cams for edge in cam.edges)
    return same and alike and enough


def _zero(longest: Decoded, other: Decoded) -> float | None:
    """The one zero at which a run agrees with the longest [crank degrees]; None where none does, or several may."""
    assert longest.crank is not None  # noqa: S101 - told above
    zeros = [number * CYCLE_DEG / longest.crank.zeros for number in range(longest.crank.zeros)]
    off, fits = [], []
    for zero in zeros:
        pairs = [(edge, *_partner(edge, cam, other, zero)) for cam in longest.cams for edge in cam.edges]
        off.append(max(abs(deg) for _, _, deg in pairs))
        fits.append(all(abs(deg) <= AGREE * float(np.hypot(edge.u, two.u)) + AGREE_DEG for edge, two, deg in pairs))
    best = int(np.argmin(off))
    near = sum(deg < RIVAL_DEG for deg in off)
    return zeros[best] if fits[best] and near == 1 else None


def _partner(edge: CamEdge, cam: Cam, other: Decoded, zero: float) -> tuple[CamEdge, float]:
    """The edge of a run that comes nearest at a zero, on the turn of the given one, and how far off [crank degrees]."""
    mine = next(one for one in other.cams if one.channel == cam.channel)
    found = [one for one in mine.edges if one.edge == edge.edge]
    off = [(one.angle_deg + zero - edge.angle_deg + 360) % CYCLE_DEG - 360 for one in found]
    best = int(np.argmin(np.abs(off)))
    turn = edge.angle_deg + off[best] - found[best].angle_deg
    cycles = tuple(at + turn for at in _round(found[best]))
    return replace(found[best], cycles_deg=cycles, angle_deg=edge.angle_deg + off[best]), off[best]


def _round(edge: CamEdge) -> list[float]:
    """The angle of each cycle, on the turn of their mean [crank degrees]."""
    return [(at - edge.angle_deg + 360) % CYCLE_DEG - 360 + edge.angle_deg for at in edge.cycles_deg]


def _pooled(edge: CamEdge, more: Sequence[CamEdge]) -> CamEdge:
    """One edge with the cycles of other runs; what each run has in itself alike does not average away."""
    runs = [replace(edge, cycles_deg=tuple(_round(edge))), *more]
    cycles = np.concatenate([np.array(run.cycles_deg) for run in runs])
    share = np.array([run.count for run in runs]) / cycles.size
    mean, scatter = float(cycles.mean()), float(cycles.std(ddof=1))
    own = scatter / np.sqrt(cycles.size) * coverage_factor(cycles.size - 1) / coverage_factor(np.inf)
    apart = float(np.sqrt(share @ (np.array([np.mean(run.cycles_deg) for run in runs]) - mean) ** 2))
    alike = float(share @ np.array([_alike(run) for run in runs]))
    u = float(np.sqrt(own**2 + apart**2 + alike**2))
    return replace(
        edge,
        angle_deg=mean % CYCLE_DEG,
        u=u,
        scatter_deg=scatter,
        count=int(cycles.size),
        cycles_deg=tuple(map(float, cycles)),
    )


def _alike(run: CamEdge) -> float:
    """Standard uncertainty alike in every cycle of a run [crank degrees]: all but what its scatter makes of it."""
    own = run.scatter_deg / np.sqrt(run.count) * coverage_factor(run.count - 1) / coverage_factor(np.inf)
    return float(np.sqrt(max(0.0, run.u**2 - own**2)))
