"""The tension over the pointer window: the adjuster re-solved at each pointer, or the belt's length varied."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from twoturn.drive.model.tensioners import DoubleEccentric, Hydraulic
from twoturn.drive.path import BoolArray, FloatArray
from twoturn.mechanics.adjusting import Adjustments, adjusters_from
from twoturn.mechanics.kinds.ram import RamArm
from twoturn.mechanics.limits import Limits
from twoturn.mechanics.loop import Cord, Look, Loop, balance, look
from twoturn.mechanics.rest import Balances, fitting_length_mm
from twoturn.mechanics.roots import find_roots, outermost
from twoturn.mechanics.stand import Stand

EDGE_HALVINGS = 48


@dataclass(frozen=True)
class Window:
    """Tension over the part of the pointer window that can be reached.

    Attributes
    ----------
    low_n, high_n
        Least (M − friction)/g and greatest (M + friction)/g there [N].
    reached
        First and last pointer of the window that can be reached [° or mm].
    """

    low_n: float
    high_n: float
    reached: tuple[float, float]


@dataclass(frozen=True)
class Sweep:
    """A belt's tensioner moved through its window at one temperature.

    Attributes
    ----------
    stand, loop, free_mm
        The stand, its loop and the belt's length without load at the temperature [mm].
    start_deg
        Adjuster angle at the rest position [°].
    """

    stand: Stand
    loop: Loop
    free_mm: float
    start_deg: float

    @property
    def re_solves(self) -> bool:
        """True when the setting eccentric is turned for each pointer."""
        return isinstance(self.stand.table, DoubleEccentric)

    def looks(self, pointer: FloatArray) -> tuple[Look, BoolArray]:
        """Looks at pointers [° or mm] of the window, and which of them can be reached."""
        if self.re_solves:
            return self._re_solved(pointer)
        seen = look(self.loop, pointer)
        return seen, holds_with_any_belt(seen, self.stand.cord, self.loop.kind.per_unit)

    def _re_solved(self, pointer: FloatArray) -> tuple[Look, BoolArray]:
        stand = self.stand
        frees = np.full(pointer.size, self.free_mm)
        asked = Adjustments(self.loop, stand.cord, stand.limits, frees, pointer, stand.adjust_way)
        angles = adjusters_from(asked, self.start_deg)
        found = ~np.isnan(angles)
        return look(self.loop, pointer, np.where(found, angles, self.start_deg)), found

    def tension_n(self, pointer: FloatArray, friction: float) -> FloatArray:
        """(M + friction·F)/g at pointers [° or mm], NaN where not reached; ``friction`` is −1, 0 or +1 [-]."""
        seen, found = self.looks(pointer)
        effort = seen.pose.effort + friction * seen.pose.friction
        return np.where(found, np.maximum(effort, 0.0) / np.where(found, seen.lever, 1.0), np.nan)

    def edges(self, places: FloatArray, found: BoolArray) -> tuple[float, float] | None:
        """First and last pointer that can be reached, from a grid of pointers [° or mm] and what was found there."""
        if not found.any():
            return None
        first, last = int(np.argmax(found)), found.size - 1 - int(np.argmax(found[::-1]))
        low, high = float(places[first]), float(places[last])
        ends = self._adjuster_ends() if not found.all() else np.empty(0)
        if first > 0:
            low = self._edge(low, float(places[first - 1]), ends)
        if last < found.size - 1:
            high = self._edge(high, float(places[last + 1]), ends)
        return low, high

    def _adjuster_ends(self) -> FloatArray:
        """Pointers at which the setting eccentric comes to an end of its range."""
        limits = self.stand.limits
        if not self.re_solves or limits.adjuster_range is None:
            return np.empty(0)
        ends = []
        for angle in limits.adjuster_range:
            rows = Balances(self.loop, self.stand.cord, limits, angle, np.array([self.free_mm]), np.zeros(1))
            places = limits.grid()
            values, slopes = rows.function(places, np.zeros(places.size, dtype=int))
            roots = find_roots(rows.function, places, values[None, :], slopes[None, :])
            ends.append(roots.at[rows.stable(roots)[0]] if roots.row.size else np.empty(0))
        return np.concatenate(ends)

    def _edge(self, good: float, bad: float, ends: FloatArray) -> float:
        """The last pointer that can be reached between a good one and a bad one."""
        between = ends[(ends >= min(good, bad)) & (ends <= max(good, bad))]
        if between.size:
            return float(between[np.argmax(np.abs(between - good))])
        for _ in range(EDGE_HALVINGS):
            middle = (good + bad) / 2
            good, bad = (middle, bad) if self.looks(np.array([middle]))[1][0] else (good, middle)
        return good


def holds_with_any_belt(seen: Look, cord: Cord, per_unit: float) -> BoolArray:
    """Where a sprung arm would rest if the belt were cut to fit: enough lever, the spring pushing, and stable.

    Parameters
    ----------
    seen
        The looks.
    cord
        The belt's stretch.
    per_unit
        rad of ``x`` a degree of pointer, or 1 [-].
    """
    free = fitting_length_mm(seen, cord)
    slope = balance(seen, cord, np.where(seen.closed, free, 1.0), per_unit).slope
    with np.errstate(invalid="ignore"):
        return np.asarray(seen.leads & (seen.pose.effort > 0) & (slope < 0))


def limits_at(stand: Stand, loop: Loop) -> Limits:
    """Limits of a tensioner at a temperature: the protrusion window of a ram as pointers of its arm.

    Parameters
    ----------
    stand, loop
        The stand and its loop at the temperature.
    """
    limits, table, arm = stand.limits, stand.table, loop.kind
    if not isinstance(table, Hydraulic) or not isinstance(arm, RamArm) or table.window_mm is None:
        return limits
    if table.protrusion_at_notch_mm is None:
        return limits
    wanted = np.array(table.window_mm) - table.protrusion_at_notch_mm + arm.at_notch_mm

    def function(pointer: FloatArray, row: np.ndarray) -> tuple[FloatArray, FloatArray]:
        length, slope, _ = arm.ram(pointer)
        return length - wanted[row], slope * arm.per_unit

    places = limits.grid()
    length, slope, _ = arm.ram(places)
    roots = find_roots(function, places, length - wanted[:, None], np.tile(slope * arm.per_unit, (2, 1)))
    ends = list(limits.span)
    for row in (0, 1):
        mine = roots.at[(roots.row == row) & (roots.slope > 0)]
        if mine.size:
            ends[row] = float(mine[np.argmin(np.abs(mine))])
    return replace(limits, window=(ends[0], ends[1]))


def window_between_stops(stand: Stand, loop: Loop) -> tuple[float, float] | None:
    """The pointer window cut at the stops [° or mm]; None where there is none.

    Parameters
    ----------
    stand, loop
        The stand and its loop at the temperature.
    """
    limits = limits_at(stand, loop)
    if limits.window is None:
        return None
    low, high = limits.window
    if limits.stops is not None:
        low, high = max(low, limits.stops[0]), min(high, limits.stops[1])
    return (low, high) if low <= high else None


def tension_over_window(sweep: Sweep, window: tuple[float, float]) -> Window | None:
    """Tension band over the pointers of a window that can be reached.

    Parameters
    ----------
    sweep
        The tensioner and its belt.
    window
        First and last pointer [° or mm].

    Returns
    -------
    Window | None
        None where no pointer of the window can be reached.
    """
    places = np.linspace(*window, 25)
    reached = sweep.edges(places, sweep.looks(places)[1])
    if reached is None:
        return None
    low = outermost(lambda at: sweep.tension_n(at, -1.0), *reached, greatest=False)
    high = outermost(lambda at: sweep.tension_n(at, 1.0), *reached, greatest=True)
    return Window(low, high, reached)
