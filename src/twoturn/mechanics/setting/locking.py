"""The fixed roller, set by hand: the pointer that gives a belt its tension, on the side that tightens."""

from __future__ import annotations

import numpy as np

from twoturn.drive.path import FloatArray
from twoturn.mechanics.rest.balances import DEAD_CENTRE, NoPlace, Outcome, Standing
from twoturn.mechanics.rest.limits import Limits
from twoturn.mechanics.rest.loop import Cord, Loop, look
from twoturn.mechanics.rest.roots import find_roots, outermost


def locked_rests(loop: Loop, cord: Cord, limits: Limits, free_mm: FloatArray, target_n: float) -> list[Outcome]:
    """Where a roller is locked so that each belt pulls ``target_n``.

    Parameters
    ----------
    loop, cord, limits
        The belt's pulleys and roller, its stretch, and its stops if any.
    free_mm
        Length of each belt without load; shape (rows,) [mm].
    target_n
        Tension asked [N].

    Returns
    -------
    list
        A standing, or why there is none, for each belt. Beyond the stops the answer is at the stop.
    """
    wanted = free_mm * cord.stretch(target_n)

    def function(pointer: FloatArray, row: np.ndarray) -> tuple[FloatArray, FloatArray]:
        seen = look(loop, pointer)
        return seen.length_mm - wanted[row], seen.lever * loop.kind.per_unit

    places = limits.grid()
    seen = look(loop, places)
    values = np.where(seen.closed, seen.length_mm, np.nan)[None, :] - wanted[:, None]
    slopes = np.broadcast_to(seen.lever * loop.kind.per_unit, values.shape)
    roots = find_roots(function, places, values, slopes)
    good = look(loop, roots.at).leads
    outcomes: list[Outcome] = []
    for row in range(free_mm.size):
        mine = roots.at[(roots.row == row) & good]
        if mine.size:
            pointer = float(mine[np.argmin(np.abs(mine))])
            outcomes.append(Standing(pointer, 0.0, target_n))
        else:
            outcomes.append(_beyond(loop, cord, limits, float(free_mm[row]), target_n))
    return outcomes


def _beyond(loop: Loop, cord: Cord, limits: Limits, free_mm: float, target_n: float) -> Outcome:
    """The answer where no pointer reaches the target."""
    if limits.stops is None:
        return _out_of_travel(loop, cord, limits, free_mm, target_n)
    seen = look(loop, np.array(limits.stops))
    if not seen.closed.all():
        return NoPlace("at its stop the roller meets another pulley")
    tension = cord.tension_n(seen.length_mm, free_mm)
    which = 0 if tension[0] > target_n else 1
    if not seen.leads[which]:
        return NoPlace(DEAD_CENTRE)
    short = float(seen.length_mm[which] / cord.stretch(target_n) - free_mm)
    stop = "low" if which == 0 else "high"
    return Standing(limits.stops[which], 0.0, float(tension[which]), stop, short)  # type: ignore[arg-type]


def _out_of_travel(loop: Loop, cord: Cord, limits: Limits, free_mm: float, target_n: float) -> NoPlace:
    """By how much the belt is too long or too short at the end of the travel in which the eccentric tightens."""

    def length(pointer: FloatArray) -> FloatArray:
        seen = look(loop, pointer)
        return np.where(seen.leads, seen.length_mm, np.nan)

    why = f"no position of the eccentric gives {target_n:g} N"
    least, most = (outermost(length, *limits.span, greatest=greatest)[0] for greatest in (False, True))
    if np.isnan(least):
        return NoPlace(DEAD_CENTRE)
    short = [float(end / cord.stretch(target_n) - free_mm) for end in (least, most)]
    if short[0] <= 0 <= short[1]:
        return NoPlace(f"{why} with enough lever on the belt")
    return NoPlace(f"{why}, not even at the end of its travel", short[0] if short[0] > 0 else short[1])


def held_at(loop: Loop, cord: Cord, free_mm: float, pointer: float, adjuster_deg: float = 0.0) -> Outcome:
    """A roller that is locked at a pointer: the tension follows from the belt alone.

    Parameters
    ----------
    loop, cord
        The belt's pulleys and roller, and its stretch.
    free_mm
        Length of the belt without load [mm].
    pointer, adjuster_deg
        Where it is held [° or mm, °].
    """
    seen = look(loop, np.array([pointer]), adjuster_deg)
    if not seen.closed[0]:
        return NoPlace("where the roller is locked it meets another pulley")
    return Standing(pointer, adjuster_deg, float(cord.tension_n(seen.length_mm, free_mm)[0]))
