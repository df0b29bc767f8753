"""Slopes of a formula by differences, with steps as wide as the inputs are uncertain."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

_STEP = 1 / 16  # of an input's standard uncertainty


def slopes(function: Callable[..., float], values: Sequence[float], us: Sequence[float]) -> Floats:
    """First derivatives of a formula at the best estimates.

    Parameters
    ----------
    function
        Takes one float an input.
    values
        Best estimates, one an input [unit of the input].
    us
        Standard uncertainties, one an input [unit of the input]; where it is 0 the slope is not asked for.

    Returns
    -------
    numpy.ndarray
        Slopes, shape (inputs,) [result per input]; 0 where the uncertainty is 0. Error of fourth order in u/16.

    References
    ----------
    JCGM 100:2008, 5.1.3 note 2 (slopes by differences); Richardson's extrapolation of central differences.
    """
    result = np.zeros(len(values))
    for index, u in enumerate(us):
        if u > 0:
            wide, narrow = (_central(function, values, index, u * _STEP * factor) for factor in (2.0, 1.0))
            result[index] = (4 * narrow - wide) / 3
    return result


def second_order_variance(function: Callable[..., float], values: Sequence[float], us: Sequence[float]) -> float:
    """What second-order terms add to the variance of a result of independent, symmetric inputs.

    Parameters
    ----------
    function
        Takes one float an input.
    values
        Best estimates, one an input [unit of the input].
    us
        Standard uncertainties, one an input [unit of the input].

    Returns
    -------
    float
        ΣΣ (½·f_ij² + f_i·f_ijj)·u_i²·u_j² [unit of the result, squared]; may be negative.

    References
    ----------
    JCGM 100:2008, note to 5.1.2.
    """
    steps = 0.5 * np.asarray(us, dtype=float)
    first = slopes(function, values, us) * us
    moving = [index for index, u in enumerate(us) if u > 0]
    total = 0.0
    for i in moving:
        for j in moving:
            total += 0.5 * _second(function, values, steps, (i, j)) ** 2
            total += float(first[i]) * _third(function, values, steps, (i, j))
    return total


def _central(function: Callable[..., float], values: Sequence[float], index: int, step: float) -> float:
    ends = [float(function(*_moved(values, {index: sign * step}))) for sign in (1.0, -1.0)]
    return (ends[0] - ends[1]) / (2 * step)


def _second(function: Callable[..., float], values: Sequence[float], steps: Floats, pair: tuple[int, int]) -> float:
    """f_ij·u_i·u_j, by differences of half a standard uncertainty."""
    at = _stencil(function, values, steps, pair)
    return at(1, 1) - at(1, -1) - at(-1, 1) + at(-1, -1)


def _third(function: Callable[..., float], values: Sequence[float], steps: Floats, pair: tuple[int, int]) -> float:
    """f_ijj·u_i·u_j², by differences of half a standard uncertainty."""
    at = _stencil(function, values, steps, pair)
    bend = [at(sign, 1) - 2 * at(sign, 0) + at(sign, -1) for sign in (1, -1)]
    return 4 * (bend[0] - bend[1])


def _stencil(
    function: Callable[..., float], values: Sequence[float], steps: Floats, pair: tuple[int, int]
) -> Callable[[int, int], float]:
    """The formula with inputs i and j moved by whole steps; i and j may be the same input."""
    i, j = pair

    def at(first: int, second: int) -> float:
        move = {i: first * float(steps[i])} if i != j else {}
        move[j] = (second + (first if i == j else 0)) * float(steps[j])
        return float(function(*_moved(values, move)))

    return at


def _moved(values: Sequence[float], move: dict[int, float]) -> list[float]:
    return [float(value) + move.get(index, 0.0) for index, value in enumerate(values)]
