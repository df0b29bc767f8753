"""The tension over the pointer window: the adjuster re-solved at each pointer, or the belt's length varied."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from twoturn.drive.model.tensioners import DoubleEccentric, Hydraulic
from twoturn.drive.path import BoolArray, FloatArray
from twoturn.mechanics.kinds.ram import RamArm
from twoturn.mechanics.rest.balances import fitting_length_mm
from twoturn.mechanics.rest.limits import Limits
from twoturn.mechanics.rest.loop import Cord, Look, Loop, balance, look
from twoturn.mechanics.rest.roots import find_roots, outermost
from twoturn.mechanics.rest.stand import Stand
from twoturn.mechanics.setting.adjusting import Adjustments, adjusters_from

EDGE_HALVINGS = 48
NEWTON_STEPS = 15
GRID = 25


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
class Corner:
    """A pointer [°] and the adjuster angle that puts it there [°]."""

    pointer: float
    adjuster_deg: float


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

    def tension_n(self, seen: Look, good: BoolArray, friction: float) -> FloatArray:
        """(M + friction·F)/g of looks, NaN where not ``good``; ``friction`` is −1, 0 or +1 [-]."""
        effort = seen.pose.effort + friction * seen.pose.friction
        return np.where(good, np.maximum(effort, 0.0) / np.where(good, seen.lever, 1.0), np.nan)

    def any_belt(self, pointer: FloatArray) -> tuple[Look, BoolArray]:
        """Looks at pointers [° or mm] with belts cut to fit, and where the arm would rest."""
        seen = look(self.loop, pointer)
        return seen, holds_with_any_belt(seen, self.stand.cord, self.loop.kind.per_unit)

    def adjusters(self, pointer: FloatArray) -> FloatArray:
        """Adjuster angle for every pointer [°], NaN where none in its range does it."""
        stand = self.stand
        frees = np.full(pointer.size, self.free_mm)
        asked = Adjustments(self.loop, stand.cord, stand.limits, frees, pointer, stand.adjust_way)
        return adjusters_from(asked, self.start_deg)

    def pointers(self, adjuster_deg: FloatArray, start: FloatArray) -> tuple[FloatArray, Look, BoolArray]:
        """Rest pointers at adjuster angles [°] by Newton steps from ``start`` [°], and which of them hold."""
        at = np.array(np.broadcast_to(start, adjuster_deg.shape), dtype=float)
        moved = np.full(at.shape, np.inf)
        for _ in range(NEWTON_STEPS):
            seen = look(self.loop, at, adjuster_deg)
            found = balance(seen, self.stand.cord, self.free_mm, self.loop.kind.per_unit)
            with np.errstate(divide="ignore", invalid="ignore"):
                step = np.clip(found.lead / found.slope, -5.0, 5.0)
            good = seen.leads & (found.slope < 0) & (found.tension_n > 0)
            moved = np.where(good, np.abs(step), np.inf)
            at = at - np.where(np.isfinite(step), step, 0.0)
            if np.all(np.abs(step[good]) < 1e-10):
                break
        return at, look(self.loop, at, adjuster_deg), np.asarray(moved < 1e-8)

    def farthest(self, start: Corner, towards: float) -> Corner:
        """Where the setting eccentric takes the pointer nearest to one it cannot reach: a fold, or the range's end."""
        sign = 1.0 if towards > start.pointer else -1.0
        low, high = self.stand.limits.adjuster_range or (start.adjuster_deg - 180.0, start.adjuster_deg + 180.0)

        def reach(adjuster: FloatArray) -> FloatArray:
            at, seen, good = self.pointers(adjuster, np.array(start.pointer))
            way = self.stand.adjust_way
            good &= (seen.by_adjuster * way > -1e-6 * np.abs(seen.reach)) if way else True
            return np.where(good, at, np.nan)

        pointer, angle = outermost(reach, low, high, greatest=sign > 0)
        return Corner(pointer, angle) if (pointer - start.pointer) * sign > 0 else start


def _window_of_any_belt(sweep: Sweep, window: tuple[float, float]) -> Window | None:
    """Window of an arm or a slide, the belt's length varied."""
    places = np.linspace(*window, GRID)
    found = sweep.any_belt(places)[1]
    if not found.any():
        return None
    ends = [_edge(sweep, places, found, last) for last in (False, True)]

    def tension(pointer: FloatArray, side: float) -> FloatArray:
        return sweep.tension_n(*sweep.any_belt(pointer), side)

    low, high = _band(tension, ends[0], ends[1])
    return Window(low, high, (ends[0], ends[1]))


def _band(tension: Callable[[FloatArray, float], FloatArray], low: float, high: float) -> tuple[float, float]:
    """Least tension with the friction taken off and greatest with it added, between two places."""
    least, _ = outermost(lambda at: tension(at, -1.0), low, high, greatest=False)
    most, _ = outermost(lambda at: tension(at, 1.0), low, high, greatest=True)
    return least, most


def _edge(sweep: Sweep, places: FloatArray, found: BoolArray, last: bool) -> float:
    """First or last pointer at which the arm would rest."""
    step = -1 if last else 1
    index = int(np.argmax(found[::step]))
    good = float(places[::step][index])
    if index == 0:
        return good
    bad = float(places[::step][index - 1])
    for _ in range(EDGE_HALVINGS):
        middle = (good + bad) / 2
        good, bad = (middle, bad) if sweep.any_belt(np.array([middle]))[1][0] else (good, middle)
    return good


def _window_re_solved(sweep: Sweep, window: tuple[float, float]) -> Window | None:
    """Window of an automatic roller: the setting eccentric turned so that the pointer goes through it."""
    places = np.linspace(*window, GRID)
    angles = sweep.adjusters(places)
    found = np.nonzero(~np.isnan(angles))[0]
    if not found.size:
        return None
    corners = []
    for index, end in ((found[0], window[0]), (found[-1], window[1])):
        corner = Corner(float(places[index]), float(angles[index]))
        corners.append(corner if corner.pointer == end else sweep.farthest(corner, end))
    first, last = corners

    def tension(adjuster: FloatArray, side: float) -> FloatArray:
        span = last.adjuster_deg - first.adjuster_deg
        share = (adjuster - first.adjuster_deg) / span if span else np.zeros(adjuster.shape)
        _, seen, good = sweep.pointers(adjuster, first.pointer + share * (last.pointer - first.pointer))
        return sweep.tension_n(seen, good, side)

    ends = sorted((first.adjuster_deg, last.adjuster_deg))
    low, high = _band(tension, ends[0], ends[1])
    return Window(low, high, (first.pointer, last.pointer))


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
    if isinstance(sweep.stand.table, DoubleEccentric):
        return _window_re_solved(sweep, window)
    return _window_of_any_belt(sweep, window)
