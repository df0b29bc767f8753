"""Which tooth counts some allowed setting takes, and how probable that is with the centres' uncertainty."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from twoturn.drive.model.tensioners import DoubleEccentric, LockedEccentric
from twoturn.drive.path import BoolArray, FloatArray
from twoturn.mechanics.answers.window import holds_with_any_belt, limits_at, window_between_stops
from twoturn.mechanics.kinds.pose import Number
from twoturn.mechanics.rest.balances import Balances, NoPlace, Outcome, Standing, arm_rests
from twoturn.mechanics.rest.loop import Loop, look
from twoturn.mechanics.rest.stand import Stand
from twoturn.mechanics.setting.adjusting import Adjustments, adjusters
from twoturn.mechanics.setting.locking import locked_rests

EITHER_SIDE = 3
ROUNDS = 6


@dataclass(frozen=True)
class Fit:
    """A tooth count that fits.

    Attributes
    ----------
    teeth
        Belt teeth [-].
    pointer
        Where the pointer comes to stand [° or mm]: on the notch where the setting eccentric reaches it.
    in_window
        Whether that lies in the window; None where there is no window.
    probability
        Probability [-] that it can be set, with the uncertainty of the path; None with closure "at notch".
    """

    teeth: int
    pointer: float
    in_window: bool | None
    probability: float | None


def belt_fits(stand: Stand, warmer_k: float, u_mm: float) -> list[Fit]:
    """Tooth counts within three of the belt's own that some allowed setting takes.

    Parameters
    ----------
    stand
        The belt and its tensioner, settings solved.
    warmer_k
        Temperature above the reference temperature [K].
    u_mm
        Standard uncertainty of the path's length [mm].

    Notes
    -----
    Everything holds at the temperature asked for. Probability: the mass of Normal(0, u) in the range of
    L₀·(1 + (T − length_at_n)/EA) − L over the allowed settings (pointer in its window, adjuster in its range, accepted
    positions), T = M/g or target_n.
    """
    own = stand.belt.table.teeth
    teeth = np.arange(max(own - EITHER_SIDE, 1), own + EITHER_SIDE + 1, dtype=float)
    frees = np.asarray(stand.free_mm(warmer_k, teeth), dtype=float)
    loop = stand.loop(warmer_k)
    limits = limits_at(stand, loop)
    taken = [
        (row, rest) for row, rest in enumerate(_rests(stand, loop, frees)) if isinstance(rest, Standing) and _off(rest)
    ]
    chances: list[float] | list[None] = [None] * len(taken)
    if stand.belt.table.closure == "as given" and taken:
        chances = _chances(stand, loop, frees[[row for row, _ in taken]], u_mm)
    return [
        Fit(int(teeth[row]), rest.pointer, limits.in_window(rest.pointer), chance)
        for (row, rest), chance in zip(taken, chances, strict=True)
    ]


def _rests(stand: Stand, loop: Loop, frees: FloatArray) -> list[Outcome]:
    if isinstance(stand.table, LockedEccentric):
        return locked_rests(loop, stand.cord, stand.limits, frees, stand.table.target_n or 0.0)
    still = np.zeros(frees.size)
    if not isinstance(stand.table, DoubleEccentric):
        return arm_rests(Balances(loop, stand.cord, stand.limits, 0.0, frees, still), stops=False)
    from_notch = stand.with_setting(replace(stand.setting, adjuster_zero_deg=None)).kind(1.0)
    notch_loop = replace(loop, kind=replace(loop.kind, spring=from_notch.spring))  # type: ignore[attr-defined, type-var]
    asked = Adjustments(notch_loop, stand.cord, stand.limits, frees, still, stand.adjust_way)
    angles = adjusters(asked)
    answer: list[Outcome] = [Standing(0.0, float(angle), 0.0) for angle in angles]
    lost = np.nonzero(np.isnan(angles))[0]
    ends = stand.limits.adjuster_range or ()
    tries = [
        arm_rests(Balances(loop, stand.cord, stand.limits, end, frees[lost], still[lost]), stops=False) for end in ends
    ]
    for place, row in enumerate(lost):
        free = [rest for tried in tries if isinstance(rest := tried[place], Standing)]
        answer[row] = min(free, key=lambda rest: abs(rest.pointer), default=NoPlace("it fits nowhere"))
    return answer


def _off(rest: Standing) -> bool:
    return rest.on_stop is None


@dataclass(frozen=True)
class _Room:
    """The allowed settings of a tensioner: pointer and adjuster."""

    stand: Stand
    loop: Loop
    pointer: tuple[float, float]
    adjuster: tuple[float, float]

    def need(self, pointer: Number, adjuster: Number) -> tuple[FloatArray, FloatArray]:
        """Stretch L/L₀ of a fitting belt and the path's length [mm] at settings; NaN where not accepted."""
        seen = look(self.loop, pointer, adjuster)
        good: BoolArray
        if isinstance(self.stand.table, LockedEccentric):
            good = seen.leads
            tension = np.full(seen.lever.shape, self.stand.table.target_n or 0.0)
        else:
            good = holds_with_any_belt(seen, self.stand.cord, self.loop.kind.per_unit)
            tension = seen.pose.effort / np.where(good, seen.lever, 1.0)
        return self.stand.cord.stretch(tension), np.where(good, seen.length_mm, np.nan)


def _chances(stand: Stand, loop: Loop, frees: FloatArray, u_mm: float) -> list[float]:
    pointer = window_between_stops(stand, loop) or stand.limits.span
    turning = isinstance(stand.table, DoubleEccentric)
    adjuster = (stand.limits.adjuster_range or (-180.0, 180.0)) if turning else (0.0, 0.0)
    room = _Room(stand, loop, pointer, adjuster)
    low, high = _ranges(room, frees)
    return [_mass(a, b, u_mm) for a, b in zip(low, high, strict=True)]


def _ranges(room: _Room, frees: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Least and greatest path error that each belt can take [mm], by grids that close in on both."""
    sides = np.repeat([-1.0, 1.0], frees.size)
    wanted = np.tile(frees, 2)
    count = (33, 49 if room.adjuster[0] < room.adjuster[1] else 1)
    ends = np.array([room.pointer, room.adjuster])
    grids = [np.linspace(end[0], end[1], n) for end, n in zip((room.pointer, room.adjuster), count, strict=True)]
    pointer, adjuster = (grid.ravel() for grid in np.meshgrid(*grids))
    stretch, length = room.need(pointer, adjuster)
    if np.isnan(length).all():
        return np.full(frees.size, np.nan), np.full(frees.size, np.nan)
    value = sides[:, None] * (wanted[:, None] * stretch - length)
    best = np.nanargmax(value, axis=1)
    top, at = value[np.arange(sides.size), best], np.stack([pointer[best], adjuster[best]])
    step = (ends[:, 1] - ends[:, 0]) / np.maximum(np.array(count) - 1, 1)
    offsets = np.stack([grid.ravel() for grid in np.meshgrid(*[np.linspace(-1, 1, 5)] * 2)])
    for _ in range(ROUNDS):
        tried = np.clip(at[:, :, None] + step[:, None, None] * offsets[:, None, :], *ends.T[:, :, None, None])
        stretch, length = room.need(tried[0], tried[1])
        value = np.where(np.isnan(length), -np.inf, sides[:, None] * (wanted[:, None] * stretch - length))
        best = np.argmax(value, axis=1)
        row = np.arange(sides.size)
        better = value[row, best] >= top
        top = np.where(better, value[row, best], top)
        at = np.where(better, tried[:, row, best], at)
        step = step / 2
    return -top[: frees.size], top[frees.size :]


def _mass(low: float, high: float, u_mm: float) -> float:
    """Mass of Normal(0, u) between two path errors [mm]."""
    if math.isnan(low):
        return 0.0
    if u_mm == 0:
        return 1.0 if low <= 0 <= high else 0.0
    return 0.5 * (math.erf(high / u_mm / math.sqrt(2)) - math.erf(low / u_mm / math.sqrt(2)))
