"""The tension band of a tensioner: friction at the pointer, over its window, and where friction lets the arm settle."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from twoturn.drive.model.tensioners import LockedEccentric
from twoturn.mechanics.answers.window import Sweep, Window, tension_over_window, window_between_stops
from twoturn.mechanics.rest.balances import Standing
from twoturn.mechanics.rest.known import Resting
from twoturn.mechanics.rest.loop import look
from twoturn.mechanics.rest.stand import Stand
from twoturn.mechanics.setting.settling import sprung_rests


@dataclass(frozen=True)
class Settled:
    """Where friction lets the arm come to rest, adjuster held: tensions [N] and pointers [° or mm] of both ends."""

    low_n: float
    high_n: float
    low_pointer: float
    high_pointer: float


@dataclass(frozen=True)
class Band:
    """What friction and window leave open.

    Attributes
    ----------
    low_n, high_n
        (M ∓ friction)/g at the rest pointer [N]; None for a locked roller and on a stop.
    window
        Over the pointer window; None without one, out of reach, or for a locked roller.
    settled
        With friction, adjuster held; None for a locked roller or where no position is accepted.
    """

    low_n: float | None = None
    high_n: float | None = None
    window: Window | None = None
    settled: Settled | None = None


def is_held(resting: Resting, warmer_k: float) -> bool:
    """Whether the roller is locked at this temperature, ``warmer_k`` [K] above the reference: no spring decides."""
    if isinstance(resting.stand.table, LockedEccentric):
        return True
    return resting.stand.setting.pointer is not None and warmer_k != 0


def tension_band(resting: Resting, warmer_k: float) -> Band:
    """Tension band of one tensioner at rest, the only one of its belt.

    Parameters
    ----------
    resting
        The tensioner.
    warmer_k
        Temperature above the reference temperature [K].
    """
    stand, rest = resting.stand, resting.rest
    if is_held(resting, warmer_k):
        return Band()
    low, high = friction_band_n(stand, rest, warmer_k)
    loop = stand.loop(warmer_k)
    sweep = Sweep(stand, loop, float(stand.free_mm(warmer_k)), rest.adjuster_deg)
    between = window_between_stops(stand, loop)
    window = None if between is None else tension_over_window(sweep, between)
    return Band(low, high, window, settled_band(stand, rest, warmer_k))


def friction_band_n(stand: Stand, rest: Standing, warmer_k: float) -> tuple[float | None, float | None]:
    """(M − friction)/g and (M + friction)/g at the rest pointer [N], never below 0; None on a stop.

    Parameters
    ----------
    stand, rest
        The tensioner and where it stands.
    warmer_k
        Temperature above the reference temperature [K].
    """
    if rest.on_stop is not None:
        return None, None
    seen = look(stand.loop(warmer_k), np.array([rest.pointer]), rest.adjuster_deg)
    ends = [(seen.pose.effort + side * seen.pose.friction) / seen.lever for side in (-1.0, 1.0)]
    return max(float(ends[0][0]), 0.0), float(ends[1][0])


def settled_band(stand: Stand, rest: Standing, warmer_k: float) -> Settled | None:
    """Where friction lets the arm come to rest with the adjuster held; a stop's values where it meets one.

    Parameters
    ----------
    stand, rest
        The tensioner and where it stands without friction.
    warmer_k
        Temperature above the reference temperature [K].
    """
    low, high = sprung_rests(stand, warmer_k, (-1.0, 1.0), near=rest.pointer)
    if not (isinstance(low, Standing) and isinstance(high, Standing)):
        return None
    return Settled(low.tension_n, high.tension_n, low.pointer, high.pointer)
