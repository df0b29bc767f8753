"""The setting eccentric: the clock angle that puts the pointer of an automatic roller where it is asked."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from twoturn.drive.path import BoolArray, FloatArray
from twoturn.mechanics.rest.limits import Limits
from twoturn.mechanics.rest.loop import Balance, Cord, Look, Loop, balance, look
from twoturn.mechanics.rest.roots import find_roots

NEWTON_STEPS = 12


@dataclass(frozen=True)
class Adjustments:
    """Pointers at which the adjuster is sought: one row each.

    Attributes
    ----------
    loop, cord, limits
        The belt's pulleys and tensioner, its stretch, and what the tensioner allows.
    free_mm
        Length of each row's belt without load; shape (rows,) [mm].
    pointer
        Pointer of each row; shape (rows,) [°].
    way
        +1 or −1: the adjuster lengthens the path turning clockwise or counter-clockwise; 0 where it is not said.
    """

    loop: Loop
    cord: Cord
    limits: Limits
    free_mm: FloatArray
    pointer: FloatArray
    way: int

    def at(self, adjuster_deg: FloatArray, row: np.ndarray) -> tuple[Look, Balance]:
        """Look and balance at adjuster angles [°] of given rows."""
        seen = look(self.loop, self.pointer[row], adjuster_deg)
        return seen, balance(seen, self.cord, self.free_mm[row], self.loop.kind.per_unit)

    def function(self, adjuster_deg: FloatArray, row: np.ndarray) -> tuple[FloatArray, FloatArray]:
        """Torque lead and its slope by the adjuster, at adjuster angles [°] of given rows."""
        seen, found = self.at(adjuster_deg, row)
        return np.where(seen.closed, found.lead, np.nan), found.by_adjuster

    def accepted(self, adjuster_deg: FloatArray, row: np.ndarray) -> BoolArray:
        """Whether the position is accepted and lies on the branch that lengthens the path, at angles [°] of rows."""
        seen, found = self.at(adjuster_deg, row)
        branch = seen.by_adjuster * self.way > 0 if self.way else np.ones(seen.closed.shape, dtype=bool)
        return np.asarray(seen.leads & (found.slope < 0) & (found.tension_n > 0) & branch)

    def rows(self, chosen: np.ndarray) -> Adjustments:
        """The same with some of its rows."""
        return Adjustments(self.loop, self.cord, self.limits, self.free_mm[chosen], self.pointer[chosen], self.way)


def adjusters(asked: Adjustments, near_deg: float | None = None) -> FloatArray:
    """Adjuster angle of every row, NaN where none inside its range does it.

    Parameters
    ----------
    asked
        The rows.
    near_deg
        Of several angles the one nearest this is taken [°]; the middle of the range when None.

    Returns
    -------
    FloatArray
        Shape (rows,) [°].
    """
    low, high = asked.limits.adjuster_range or (-180.0, 180.0)
    places = asked.limits.adjuster_grid()
    rows = asked.free_mm.size
    values, slopes = asked.function(np.tile(places, rows), np.repeat(np.arange(rows), places.size))
    roots = find_roots(asked.function, places, values.reshape(rows, -1), slopes.reshape(rows, -1))
    answer = np.full(rows, np.nan)
    good = asked.accepted(roots.at, roots.row) if roots.row.size else np.zeros(0, dtype=bool)
    middle = (low + high) / 2 if near_deg is None else near_deg
    for row in range(rows):
        mine = roots.at[(roots.row == row) & good]
        if mine.size:
            answer[row] = mine[np.argmin(np.abs(mine - middle))]
    return answer


def adjusters_from(asked: Adjustments, start_deg: float) -> FloatArray:
    """As :func:`adjusters`, by Newton steps from a known angle; rows that do not get there are searched in full.

    Parameters
    ----------
    asked
        The rows.
    start_deg
        Adjuster angle of a neighbouring pointer [°].

    Returns
    -------
    FloatArray
        Shape (rows,) [°], NaN where none inside the range does it.
    """
    row = np.arange(asked.free_mm.size)
    at = np.full(row.size, float(start_deg))
    moved = np.full(row.size, np.inf)
    for _ in range(NEWTON_STEPS):
        value, slope = asked.function(at, row)
        with np.errstate(divide="ignore", invalid="ignore"):
            step = np.clip(value / slope, -20.0, 20.0)
        at, moved = at - step, np.abs(step)
        if np.all(moved < 1e-9):
            break
    low, high = asked.limits.adjuster_range or (start_deg - 180.0, start_deg + 180.0)
    with np.errstate(invalid="ignore"):
        fine = (moved < 1e-9) & (at >= low - 1e-9) & (at <= high + 1e-9) & asked.accepted(at, row)
    if fine.all():
        return at
    answer = np.where(fine, at, np.nan)
    answer[~fine] = adjusters(asked.rows(~fine), start_deg)
    return answer
