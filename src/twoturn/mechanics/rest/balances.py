"""Where a sprung tensioner comes to rest: every balance between its stops is found, then judged."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from twoturn.drive.path import BoolArray, FloatArray
from twoturn.mechanics.kinds.pose import Number
from twoturn.mechanics.rest.limits import Limits
from twoturn.mechanics.rest.loop import Cord, Look, Loop, balance, look
from twoturn.mechanics.rest.roots import Roots, find_roots

Stop = Literal["low", "high"]
DEAD_CENTRE = "the tensioner would stand at or over dead centre, where its spring has no lever on the belt"


@dataclass(frozen=True)
class Standing:
    """A position in which the tensioner stays.

    Attributes
    ----------
    pointer
        Pointer [° or mm].
    adjuster_deg
        Clock angle of the setting eccentric [°]; 0 where there is none.
    tension_n
        Belt tension there [N].
    on_stop
        The stop it rests on, or None.
    short_mm
        On a stop: by how much the belt is too short to come off it [mm], negative when it is too long.
    """

    pointer: float
    adjuster_deg: float
    tension_n: float
    on_stop: Stop | None = None
    short_mm: float | None = None


@dataclass(frozen=True)
class NoPlace:
    """Why there is no position.

    Attributes
    ----------
    why
        One sentence without its full stop.
    short_mm
        By how much the belt is too short for any place [mm], negative when it is too long; None where that is not it.
    """

    why: str
    short_mm: float | None = None


Outcome = Standing | NoPlace


@dataclass(frozen=True)
class Balances:
    """A loop with belts of several lengths, and springs helped or hindered by friction: one row each.

    Attributes
    ----------
    loop, cord, limits
        The belt's pulleys and tensioner, its stretch, and what the tensioner allows.
    adjuster_deg
        Clock angle of the setting eccentric, held [°].
    free_mm
        Length of each row's belt without load; shape (rows,) [mm].
    friction
        −1, 0 or +1: how much of the friction helps the spring; shape (rows,) [-].
    """

    loop: Loop
    cord: Cord
    limits: Limits
    adjuster_deg: Number
    free_mm: FloatArray
    friction: FloatArray

    def function(self, pointer: FloatArray, row: np.ndarray) -> tuple[FloatArray, FloatArray]:
        """Torque lead and its slope at pointers [° or mm] of given rows."""
        seen = look(self.loop, pointer, self.adjuster_deg)
        found = balance(seen, self.cord, self.free_mm[row], self.loop.kind.per_unit, self.friction[row])
        return np.where(seen.closed, found.lead, np.nan), found.slope

    def stable(self, roots: Roots) -> tuple[BoolArray, FloatArray]:
        """Which roots a careful fitter accepts, and the tension there [N]."""
        seen = look(self.loop, roots.at, self.adjuster_deg)
        tension = self.cord.tension_n(seen.length_mm, self.free_mm[roots.row])
        return np.asarray(seen.leads & (roots.slope < 0) & (tension > 0)), tension


def arm_rests(balances: Balances, near: float = 0.0, *, stops: bool = True) -> list[Outcome]:
    """Rest position of every row.

    Parameters
    ----------
    balances
        The rows.
    near
        Of several accepted positions the one nearest this pointer is taken [° or mm].
    stops
        Whether to say where the arm ends when no position is accepted.

    Returns
    -------
    list
        A standing, or why there is none, for each row.

    Notes
    -----
    Accepted: g > 0, g ≥ 0.3 of its greatest, and raising the pointer loosens the spring's lead. Where none is accepted
    the arm is followed from the notch the way its spring or the belt moves it, to the stop or over dead centre.
    """
    places = balances.limits.grid()
    seen = look(balances.loop, places, balances.adjuster_deg)
    per_unit = balances.loop.kind.per_unit
    found = balance(seen, balances.cord, balances.free_mm[:, None], per_unit, balances.friction[:, None])
    values = np.where(seen.closed, found.lead, np.nan)
    roots = find_roots(balances.function, places, values, found.slope)
    accepted, tension = balances.stable(roots)
    outcomes: list[Outcome] = []
    for row in range(balances.free_mm.size):
        mine = np.nonzero((roots.row == row) & accepted)[0]
        if mine.size:
            best = mine[np.argmin(np.abs(roots.at[mine] - near))]
            outcomes.append(
                Standing(float(roots.at[best]), float(np.asarray(balances.adjuster_deg)), float(tension[best]))
            )
        elif not stops:
            outcomes.append(NoPlace("no position is accepted"))
        else:
            outcomes.append(_followed(balances, row, places, values[row], roots.at[roots.row == row]))
    return outcomes


def _followed(balances: Balances, row: int, places: FloatArray, lead: FloatArray, roots: FloatArray) -> Outcome:
    """Where the arm ends when no balance is accepted."""
    low, high = balances.limits.span
    start = int(np.argmin(np.abs(places - np.clip(0.0, low, high))))
    if np.isnan(lead[start]):
        return NoPlace("with the pointer on the notch the belt has no path: the tensioner's pulley meets another one")
    up = lead[start] > 0
    ahead = roots[(roots > places[start]) == up]
    if ahead.size:
        return NoPlace(DEAD_CENTRE)
    if balances.limits.stops is None:
        return NoPlace("no position of the tensioner balances its spring, and the file gives no stops_deg or stops_mm")
    way = lead[start:] if up else lead[: start + 1]
    if np.isnan(way).any():
        return NoPlace("on its way to the stop the tensioner's pulley meets another one")
    return on_stop(balances, row, "high" if up else "low")


def on_stop(balances: Balances, row: int, stop: Stop) -> Outcome:
    """The tensioner resting on a stop.

    A short lever there does no harm, for the stop holds the arm. Refused where a taut belt pulls it over dead centre,
    and where the spring has no lever on the belt at any pointer.
    """
    pointer = balances.limits.span[0 if stop == "low" else 1]
    seen = look(balances.loop, np.array([pointer]), balances.adjuster_deg)
    free = balances.free_mm[row]
    tension = float(balances.cord.tension_n(seen.length_mm, free)[0])
    if over_dead_centre(balances, seen, tension):
        return NoPlace(DEAD_CENTRE)
    short = float(fitting_length_mm(seen, balances.cord, balances.friction[row])[0] - free)
    return Standing(pointer, float(np.asarray(balances.adjuster_deg)), tension, stop, short)


def over_dead_centre(balances: Balances, seen: Look, tension_n: float) -> bool:
    """Whether a stop that is looked at lies over dead centre: no lever under ``tension_n`` [N], or none anywhere."""
    if tension_n > 0:
        return not bool(seen.lever[0] > 0)
    everywhere = look(balances.loop, balances.limits.grid(), balances.adjuster_deg)
    with np.errstate(invalid="ignore"):
        return not bool(np.any(everywhere.closed & (everywhere.lever > 0)))


def fitting_length_mm(seen: Look, cord: Cord, friction: float = 0.0) -> FloatArray:
    """Length without load of the belt that would balance the spring at each pointer [mm].

    Parameters
    ----------
    seen
        The looks.
    cord
        The belt's stretch.
    friction
        How much of the dry friction helps the spring [-].

    Notes
    -----
    L₀ = L/(1 + (T − length_at_n)/EA) with T = M/g; T = 0 where the spring has no lever.
    """
    effort = seen.pose.effort + friction * seen.pose.friction
    with np.errstate(invalid="ignore"):
        pulls = np.asarray(seen.closed & (seen.lever > 1e-6 * seen.reach))
    tension = np.where(pulls, np.maximum(effort, 0.0) / np.where(pulls, seen.lever, 1.0), 0.0)
    return np.asarray(seen.length_mm / cord.stretch(tension))
