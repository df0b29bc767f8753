"""Propagation of distributions by drawing: for results that are not near enough to linear in their inputs."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from twoturn.errors import DomainError, QuantityError
from twoturn.quantity.budget import SPREAD_OF_HALF_WIDTH, Correlation, Input, correlation_matrix
from twoturn.quantity.reading import Reading

Floats = NDArray[np.float64]

LEAST_DRAWS = 1000


@dataclass(frozen=True)
class Drawn:
    """A computed value with its distribution, found by drawing.

    Attributes
    ----------
    value
        Mean of the draws, in ``unit``.
    u
        Standard deviation of the draws, in ``unit``.
    interval
        Probabilistically symmetric 95 % interval: as much lies below as above, in ``unit``.
    shortest
        Shortest 95 % interval, in ``unit``.
    unit
        Unit of the result.
    draws
        How many draws were taken [-].
    """

    value: float
    u: float
    interval: tuple[float, float]
    shortest: tuple[float, float]
    unit: str
    draws: int

    @property
    def reading(self) -> Reading:
        """The result as a reading that carries the probabilistically symmetric interval."""
        return Reading(self.value, self.u, self.unit, interval=self.interval, source=f"{self.draws} draws")


def draw(item: Input, generator: np.random.Generator, count: int) -> Floats:
    """Draws of one input from its distribution.

    Parameters
    ----------
    item
        The input. Normal with finite degrees of freedom draws from Student's t; a bounded shape with finite degrees of
        freedom draws its half width too, for it is then known inexactly (half width ± itself/√(2·dof)).
    generator
        Random source.
    count
        How many draws [-].

    Returns
    -------
    numpy.ndarray
        Shape (count,), in the input's unit.

    References
    ----------
    JCGM 101:2008, 6.4.2 (rectangular), 6.4.3 (inexact limits), 6.4.5 (triangular), 6.4.6 (arc sine), 6.4.7 (normal),
    6.4.9 (t); JCGM 100:2008, G.4.2 (degrees of freedom of an inexact u).
    """
    if item.shape == "normal":
        spread = generator.standard_normal(count) if math.isinf(item.dof) else generator.standard_t(item.dof, count)
        return item.value + item.u * spread
    half = np.full(count, item.u * SPREAD_OF_HALF_WIDTH[item.shape])
    if math.isfinite(item.dof):
        half *= 1 + generator.uniform(-1, 1, count) / math.sqrt(2 * item.dof)
    return item.value + half * _unit_shape(item.shape, generator, count)


def simulate(
    function: Callable[..., Floats],
    inputs: Sequence[Input],
    unit: str,
    generator: np.random.Generator,
    *,
    draws: int = 100_000,
    correlation: Correlation | None = None,
) -> Drawn:
    """Carry whole distributions of inputs through a formula.

    Parameters
    ----------
    function
        Takes one array an input, each of shape (draws,), in the order of ``inputs``; gives an array of that shape
        in ``unit``.
    inputs
        The input quantities with their shapes.
    unit
        Unit of the result.
    generator
        Random source; the same state gives the same answer.
    draws
        How many draws [-], at least 1000; the ends of the interval settle as 1/√draws.
    correlation
        Correlation coefficients [-] of pairs of normal inputs of known uncertainty, by their names.

    Returns
    -------
    Drawn
        Mean, standard deviation and 95 % intervals.

    Raises
    ------
    QuantityError
        Too few draws, or correlations of inputs that are not normal.
    DomainError
        The formula has no value for some of the draws.

    References
    ----------
    JCGM 101:2008, clauses 5, 6.4.8 and 7.
    """
    if draws < LEAST_DRAWS:
        raise QuantityError(f"{draws} draws are too few for a 95 % interval", allowed=f"{LEAST_DRAWS} or more")
    columns = [draw(item, generator, draws) for item in inputs]
    if correlation:
        columns = _correlated(columns, inputs, correlation_matrix(inputs, correlation), generator)
    results = np.broadcast_to(np.asarray(function(*columns), dtype=float), (draws,))
    lost = draws - int(np.count_nonzero(np.isfinite(results)))
    if lost:
        raise DomainError(
            f"the formula has no value in {lost} of {draws} draws",
            next_step="check inputs and their uncertainties: some combinations are impossible",
        )
    mean, spread = float(results.mean()), float(results.std(ddof=1))
    return Drawn(mean, spread, symmetric_interval(results), shortest_interval(results), unit, draws)


def symmetric_interval(draws: Floats, probability: float = 0.95) -> tuple[float, float]:
    """Interval that leaves as much of the distribution below as above.

    Parameters
    ----------
    draws
        Draws of the result, shape (draws,) [unit of the result].
    probability
        What the interval holds [-].

    Returns
    -------
    tuple of float
        Low and high end [unit of the result].

    References
    ----------
    JCGM 101:2008, 7.7.2.
    """
    tail = (1 - probability) / 2
    low, high = np.quantile(draws, [tail, 1 - tail])
    return float(low), float(high)


def shortest_interval(draws: Floats, probability: float = 0.95) -> tuple[float, float]:
    """Shortest interval that holds a given part of the distribution.

    Parameters
    ----------
    draws
        Draws of the result, shape (draws,) [unit of the result].
    probability
        What the interval holds [-].

    Returns
    -------
    tuple of float
        Low and high end [unit of the result].

    References
    ----------
    JCGM 101:2008, 7.7.4 and 5.3.4.
    """
    ordered = np.sort(draws)
    inside = round(probability * ordered.size)
    if not 0 < inside < ordered.size:
        raise QuantityError(f"{ordered.size} draws hold no interval of {probability:g}", allowed="more draws")
    start = int(np.argmin(ordered[inside:] - ordered[: ordered.size - inside]))
    return float(ordered[start]), float(ordered[start + inside])


def _unit_shape(shape: str, generator: np.random.Generator, count: int) -> Floats:
    """Draws between −1 and 1 of a bounded shape."""
    if shape == "rectangular":
        return generator.uniform(-1, 1, count)
    if shape == "triangular":
        return generator.triangular(-1, 0, 1, count)
    return np.sin(generator.uniform(-np.pi, np.pi, count))


def _correlated(
    columns: list[Floats], inputs: Sequence[Input], matrix: Floats, generator: np.random.Generator
) -> list[Floats]:
    """Redraw the correlated inputs together from a multivariate normal distribution."""
    tied = [i for i, row in enumerate(matrix) if np.count_nonzero(row) > 1]
    wrong = [inputs[i].name for i in tied if inputs[i].shape != "normal" or math.isfinite(inputs[i].dof)]
    if wrong:
        raise QuantityError(
            f"{', '.join(wrong)} cannot be drawn together with others",
            allowed="correlations between normal inputs of known uncertainty",
        )
    if tied:
        us = np.array([inputs[i].u for i in tied])
        covariance = matrix[np.ix_(tied, tied)] * np.outer(us, us)
        means = [inputs[i].value for i in tied]
        together = generator.multivariate_normal(means, covariance, columns[0].size, method="eigh")
        for place, i in enumerate(tied):
            columns[i] = together[:, place]
    return columns
