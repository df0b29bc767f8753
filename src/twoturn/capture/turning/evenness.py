"""Cranking evenness by cylinder: how much each compression slows the crankshaft, against the mean of all."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from twoturn.capture.angle.curve import AngleTrack
from twoturn.capture.cams import CYCLE_DEG
from twoturn.capture.model import Array
from twoturn.capture.turning.wave import Wave

LEAST_TEETH: Final = 6
"""Teeth in a compression's share of the cycle that must be there [-]."""
LEAST_CYCLES: Final = 3
SMOOTH_DEG: Final = 15.0
"""Speed is smoothed over this [crank degrees]: single teeth stand out of place, a compression is wider."""
WEAK_SHARE: Final = 0.75
"""A cylinder that slows the crankshaft by less than this share of the mean is named [-] (judgement)."""


@dataclass(frozen=True)
class Compression:
    """One compression of the cycle.

    Attributes
    ----------
    cylinder
        The cylinder's number by the firing order; None where TDC or the order is not known.
    at_deg
        Where the crankshaft is slowest, or TDC where it is known, after the zero of the wheel [crank degrees].
    share
        How much it slows the crankshaft, in speed squared, against the mean of all [-].
    u
        Its standard uncertainty from cycle to cycle [-].
    """

    cylinder: int | None
    at_deg: float
    share: float
    u: float

    @property
    def weak(self) -> bool:
        """Whether it is clearly less than the others."""
        return self.share + 2 * self.u < WEAK_SHARE


def firing_tdcs(tdc_deg: float | None, cylinders: int | None, order: Sequence[int]) -> tuple[tuple[int, float], ...]:
    """Firing TDC of every cylinder within the cycle, evenly spaced.

    Parameters
    ----------
    tdc_deg
        Firing TDC of cylinder 1 after the zero of the crank wheel [crank degrees]; None where unknown.
    cylinders
        Their number [-]; by default that of the order.
    order
        The firing order; empty where unknown.

    Returns
    -------
    tuple
        Rows (cylinder, angle [crank degrees]); empty where TDC or the order is unknown.
    """
    if tdc_deg is None or not order or (cylinders is not None and cylinders != len(order)) or 1 not in order:
        return ()
    first = list(order).index(1)
    turned = [*order[first:], *order[:first]]
    step = CYCLE_DEG / len(turned)
    return tuple((cylinder, (tdc_deg + number * step) % CYCLE_DEG) for number, cylinder in enumerate(turned))


def compressions(track: AngleTrack, wave: Wave, tdcs: Sequence[tuple[int, float]] = ()) -> tuple[Compression, ...]:
    """How much each compression slows the crankshaft.

    The kinetic energy lost from the fastest moment before to the slowest one at TDC is what the gas took; by cycle,
    then the mean. Only the ratio between cylinders is told.

    Parameters
    ----------
    track
        Crank angle over time of a recording made with the starter.
    wave
        Its compression wave.
    tdcs
        Firing TDC of every cylinder, as from :func:`firing_tdcs`.

    Returns
    -------
    tuple
        One row a compression, in the order of their angle; empty for too few teeth or cycles.
    """
    count = len(tdcs) or wave.per_cycle
    if tdcs and wave.per_cycle != len(tdcs):
        return ()
    period = CYCLE_DEG / count
    angles = (track.angles_deg[1:] + track.angles_deg[:-1]) / 2
    speeds = np.diff(track.angles_deg) / np.maximum(np.diff(track.times_s), 1e-12)
    if angles.size < LEAST_TEETH * count or np.median(np.diff(angles)) * LEAST_TEETH > period:
        return ()
    places: list[tuple[int | None, float]] = [(number, angle) for number, angle in tdcs] or [
        (None, (wave.slowest_deg + number * period) % CYCLE_DEG) for number in range(count)
    ]
    grid = np.arange(angles[0], angles[-1], 1.0)
    energy = _smooth(np.interp(grid, angles, speeds)) ** 2
    drops = [_drops(grid, energy, at, period) for _, at in places]
    cycles = min(len(row) for row in drops)
    if cycles < LEAST_CYCLES:
        return ()
    table = np.array([row[:cycles] for row in drops])
    share = table / table.mean(axis=0).mean()
    u = share.std(axis=1, ddof=1) / np.sqrt(cycles)
    rows = [
        Compression(number, float(at), float(mean), float(one))
        for (number, at), mean, one in zip(places, share.mean(axis=1), u, strict=True)
    ]
    return tuple(sorted(rows, key=lambda row: row.at_deg))


def _smooth(speeds: Array) -> Array:
    """Speeds on a grid of one degree, running mean over some degrees; the ends keep what they have."""
    width = int(SMOOTH_DEG)
    ones = np.convolve(np.ones(speeds.size), np.ones(width), mode="same")
    return np.asarray(np.convolve(speeds, np.ones(width), mode="same") / ones)


def _drops(grid: Array, energy: Array, at_deg: float, period: float) -> list[float]:
    """Speed squared lost before each passage of an angle [deg²/s²], in time order."""
    first = np.ceil((grid[0] + period - at_deg) / CYCLE_DEG)
    last = np.floor((grid[-1] - period / 2 - at_deg) / CYCLE_DEG)
    found = []
    for number in np.arange(first, last + 1):
        tdc = at_deg + number * CYCLE_DEG
        before = energy[(grid >= tdc - period) & (grid <= tdc)]
        near = energy[(grid >= tdc - period / 3) & (grid <= tdc + period / 3)]
        if before.size and near.size:
            found.append(float(before.max() - near.min()))
    return found
