"""Roots of many smooth functions at once: bracketed on a fine grid, polished by guarded Newton steps."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from twoturn.drive.path import BoolArray, FloatArray

Function = Callable[[FloatArray, np.ndarray], tuple[FloatArray, FloatArray]]
"""From places (k,) and the row each belongs to (k,): values and slopes (k,); NaN where there is none."""
MOST_STEPS = 80
ROUNDS = 6
FINER = 24
HALVINGS = 40
CLOSE = 1e-5  # a Newton step that short leaves its square as error, about
CLOSE_HALVED = 1e-9  # a halving leaves an error as large as itself


@dataclass(frozen=True)
class Brackets:
    """Cells in each of which one function changes sign; shape (k,) throughout.

    Attributes
    ----------
    low, high, row
        Ends of the cell, in the unit of the places, and the function's row.
    sign
        Sign of the function at the low end [-].
    start
        Where to begin.
    """

    low: FloatArray
    high: FloatArray
    row: np.ndarray
    sign: FloatArray
    start: FloatArray


@dataclass(frozen=True)
class Roots:
    """Roots found.

    Attributes
    ----------
    row
        Which function each root belongs to; shape (k,).
    at
        Where it is; shape (k,), in the unit of the places.
    slope
        Slope of the function there; shape (k,).
    """

    row: np.ndarray
    at: FloatArray
    slope: FloatArray


def find_roots(function: Function, places: FloatArray, values: FloatArray, slopes: FloatArray) -> Roots:
    """All roots of some functions between the first and the last place.

    Parameters
    ----------
    function
        Values and slopes at places of given rows.
    places
        Grid, ascending; shape (m,), in the unit of the places [-]. Roots closer than its step are found when the slopes
        at both sides betray them.
    values, slopes
        What the functions are on the grid; shape (rows, m) [-].

    Returns
    -------
    Roots
        Ordered by row, then by place; accurate to rounding.
    """
    cells = _brackets(values, slopes, places, function)
    row = cells.row
    if not row.size:
        return Roots(row, cells.low, cells.low)
    at, slope = polish(function, cells)
    order = np.lexsort((at, row))
    kept = _distinct(row[order], at[order])
    return Roots(row[order][kept], at[order][kept], slope[order][kept])


def _distinct(row: np.ndarray, at: FloatArray) -> BoolArray:
    """True for roots that are not the same root met again from the next cell."""
    same = (np.diff(row) == 0) & (np.abs(np.diff(at)) < 1e-9 * np.maximum(1.0, np.abs(at[1:])))
    return np.concatenate([[True], ~same])


def _brackets(values: FloatArray, slopes: FloatArray, places: FloatArray, function: Function) -> Brackets:
    """Cells whose ends differ in sign, doubtful cells divided again."""
    left, right = values[:, :-1], values[:, 1:]
    with np.errstate(invalid="ignore"):
        product = left * right
        crossing = (product < 0) | (left == 0)
        crossing[:, -1] |= right[:, -1] == 0
        doubtful = (product > 0) & (left * slopes[:, :-1] < 0) & (right * slopes[:, 1:] > 0)
    row, cell = np.nonzero(crossing)
    known = Brackets(
        places[cell], places[cell + 1], row, np.sign(left[row, cell]), _guessed(values, slopes, places, row, cell)
    )
    rims = np.isnan(left) != np.isnan(right)
    if not (doubtful.any() or rims.any()):
        return known
    least = np.minimum(np.abs(left), np.abs(right))
    steepest = np.maximum(np.abs(slopes[:, :-1]), np.abs(slopes[:, 1:]))
    doubtful &= least < steepest * np.diff(places)
    more = [_dips(doubtful, places, function), _rims(rims, places, function)]
    low, high, row = (np.concatenate(column) for column in zip(*more, strict=True))
    if not row.size:
        return known
    value, slope = function(low, row)
    found = Brackets(low, high, row, np.sign(value), _stepped(low, value, slope, low, high)[0])
    return Brackets(
        *(np.concatenate([getattr(one, key) for one in (known, found)]) for key in Brackets.__annotations__)
    )


def _guessed(
    values: FloatArray, slopes: FloatArray, places: FloatArray, row: np.ndarray, cell: np.ndarray
) -> FloatArray:
    """Where the cubic through both ends of a cell, place over value, is 0; the cell's middle where that is outside."""
    low, high = places[cell], places[cell + 1]
    first, last = values[row, cell], values[row, cell + 1]
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        rise = last - first
        t = -first / rise
        ends = (1 + 2 * t) * (1 - t) ** 2 * low + t**2 * (3 - 2 * t) * high
        lean = t * (1 - t) * ((1 - t) / slopes[row, cell] - t / slopes[row, cell + 1]) * rise
        guess = ends + lean
        inside = (guess >= low) & (guess <= high)
    return np.asarray(np.where(inside, guess, (low + high) / 2))


def _dips(doubtful: BoolArray, places: FloatArray, function: Function) -> tuple[FloatArray, FloatArray, np.ndarray]:
    """Brackets in cells whose ends have one sign but between which the function may reach over zero and back."""
    row, cell = np.nonzero(doubtful)
    low, high = places[cell], places[cell + 1]
    if not row.size:
        return low, high, row
    ends, sign = (low.copy(), high.copy()), np.sign(function(low, row)[0])
    for _ in range(HALVINGS):
        middle = (ends[0] + ends[1]) / 2
        towards = function(middle, row)[1] * sign < 0
        ends = np.where(towards, middle, ends[0]), np.where(towards, ends[1], middle)
    turn = (ends[0] + ends[1]) / 2
    over = function(turn, row)[0] * sign <= 0
    low, turn, high, row = low[over], turn[over], high[over], row[over]
    return np.concatenate([low, turn]), np.concatenate([turn, high]), np.concatenate([row, row])


def _rims(broken: BoolArray, places: FloatArray, function: Function) -> tuple[FloatArray, FloatArray, np.ndarray]:
    """Brackets in cells at one end of which the function ceases to be."""
    row, cell = np.nonzero(broken)
    if not row.size:
        return np.empty(0), np.empty(0), row
    share = np.linspace(0.0, 1.0, FINER + 1)
    inner = places[cell][:, None] + (places[cell + 1] - places[cell])[:, None] * share
    values, _ = function(inner.ravel(), np.repeat(row, share.size))
    values = values.reshape(inner.shape)
    with np.errstate(invalid="ignore"):
        which, part = np.nonzero(values[:, :-1] * values[:, 1:] < 0)
    return inner[which, part], inner[which, part + 1], row[which]


def polish(function: Function, cells: Brackets) -> tuple[FloatArray, FloatArray]:
    """Roots inside brackets, by Newton steps that fall back to halving.

    Parameters
    ----------
    function
        Values and slopes at places of given rows.
    cells
        The brackets.

    Returns
    -------
    tuple
        Roots, in the unit of the places [-], and slopes there; shape (k,).
    """
    low, high, at, slope = cells.low, cells.high, cells.start, cells.start
    for _ in range(MOST_STEPS):
        value, slope = function(at, cells.row)
        before = np.sign(value) == cells.sign
        low = np.where(before, at, low)
        high = np.where(before, high, at)
        following, close = _stepped(at, value, slope, low, high)
        moved = np.abs(following - at)
        at = following
        if np.all(moved <= close * np.maximum(1.0, np.abs(at))):
            break
    return at, slope


def _stepped(
    at: FloatArray, value: FloatArray, slope: FloatArray, low: FloatArray, high: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """One Newton step, or the middle of the bracket where it would leave it; and the step that would be the last."""
    with np.errstate(divide="ignore", invalid="ignore"):
        newton = at - value / slope
        inside = (newton >= low) & (newton <= high)
    following = np.where(value == 0, at, np.where(inside, newton, (low + high) / 2))
    return following, np.where(inside, CLOSE, CLOSE_HALVED)


def outermost(
    function: Callable[[FloatArray], FloatArray], low: float, high: float, *, greatest: bool
) -> tuple[float, float]:
    """Greatest or least value of a smooth function over an interval, by grids that close in on it.

    Parameters
    ----------
    function
        Values at places (k,); NaN where there is none.
    low, high
        Ends of the interval, in the unit of the places [-].
    greatest
        Which of the two.

    Returns
    -------
    tuple
        The value and its place; NaN where the function has none.
    """
    sign = 1.0 if greatest else -1.0
    best, place, ends = -np.inf, np.nan, (low, high)
    for _ in range(ROUNDS):
        places = np.linspace(*ends, 33)
        values = sign * function(places)
        if np.all(np.isnan(values)):
            break
        top = int(np.nanargmax(values))
        if values[top] > best:
            best, place = float(values[top]), float(places[top])
        ends = (float(places[max(top - 1, 0)]), float(places[min(top + 1, 32)]))
        if places[top] in (low, high):
            break
    return (sign * best, place) if np.isfinite(best) else (np.nan, np.nan)
