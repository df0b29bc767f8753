"""Uncertainty budgets: what every input adds to the uncertainty of a computed value, line by line."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from twoturn.errors import QuantityError
from twoturn.quantity.combine import welch_satterthwaite
from twoturn.quantity.reading import Reading
from twoturn.quantity.slopes import second_order_variance, slopes

Floats = NDArray[np.float64]
Correlation = Mapping[tuple[str, str], float]

SPREAD_OF_HALF_WIDTH = {"rectangular": math.sqrt(3), "triangular": math.sqrt(6), "arcsine": math.sqrt(2)}
"""Half width over standard uncertainty [-] of the bounded ones (JCGM 100:2008, 4.3.7 and 4.3.9; JCGM 101:2008, 6.4)."""


@dataclass(frozen=True)
class Input:
    """One input quantity of a computed value.

    Attributes
    ----------
    name
        What it is, as the budget prints it.
    value
        Best estimate, in ``unit``.
    u
        Standard uncertainty, in ``unit``; 0 for a counted or exact value.
    unit
        Unit as printed.
    dof
        Degrees of freedom of ``u`` [-].
    why
        Where value and uncertainty come from, in a few words.
    shape
        How the value may be spread: "normal" (Student's t with few degrees of freedom), "rectangular", "triangular" or
        "arcsine". Only Monte Carlo looks at it.
    """

    name: str
    value: float
    u: float
    unit: str
    dof: float = math.inf
    why: str = ""
    shape: str = "normal"

    def __post_init__(self) -> None:
        if not (math.isfinite(self.value) and math.isfinite(self.u) and self.u >= 0):
            raise QuantityError(
                f"{self.name}: {self.value:g} with standard uncertainty {self.u:g} {self.unit} means nothing",
                allowed="finite numbers, the uncertainty 0 or more",
            )
        if not self.dof >= 1:
            raise QuantityError(f"{self.name}: {self.dof:g} degrees of freedom", allowed="1 or more")
        if self.shape not in ("normal", *SPREAD_OF_HALF_WIDTH):
            raise QuantityError(
                f"{self.name}: no distribution is called {self.shape!r}",
                allowed=", ".join(("normal", *SPREAD_OF_HALF_WIDTH)),
            )

    @classmethod
    def between(cls, name: str, value: float, half_width: float, unit: str, shape: str = "rectangular") -> Input:
        """An input known to lie within ``value`` ± ``half_width`` [both in ``unit``], spread by a bounded shape."""
        if shape not in SPREAD_OF_HALF_WIDTH:
            raise QuantityError(f"{name}: {shape!r} has no half width", allowed=", ".join(SPREAD_OF_HALF_WIDTH))
        return cls(name, value, half_width / SPREAD_OF_HALF_WIDTH[shape], unit, shape=shape)

    @classmethod
    def read(cls, name: str, reading: Reading) -> Input:
        """A reading as an input, with its own unit, uncertainty, degrees of freedom and source."""
        return cls(name, reading.value, reading.u, reading.unit, reading.dof, reading.source)

    def said(self, why: str, dof: float | None = None) -> Input:
        """The same input with the reason it is taken so, and its degrees of freedom [-] where given."""
        return replace(self, why=why, dof=self.dof if dof is None else dof)


@dataclass(frozen=True)
class Line:
    """One line of a budget.

    Attributes
    ----------
    input
        The input quantity.
    sensitivity
        Change of the result per unit of the input, in result unit per input unit; 0 for an exact input (not asked).
    contribution
        What the input's u adds to the result, in the result's unit; its sign is that of the sensitivity.
    share
        Part of the result's variance [-]; with correlated inputs a share may be negative. All add up to 1.
    """

    input: Input
    sensitivity: float
    contribution: float
    share: float


@dataclass(frozen=True)
class Budget:
    """A computed value with its uncertainty, line by line.

    Attributes
    ----------
    lines
        One line an input, in the order given.
    value
        The result at the best estimates, in ``unit``.
    u_c
        Combined standard uncertainty, in ``unit``.
    dof
        Effective degrees of freedom [-], from the unrounded u_c, not truncated.
    unit
        Unit of the result.
    u_second
        Part of ``u_c`` from second-order terms, in ``unit``; 0 where they were not asked for.
    covariance
        Covariance matrix of the inputs, shape (inputs, inputs) [product of the inputs' units].
    """

    lines: tuple[Line, ...]
    value: float
    u_c: float
    dof: float
    unit: str
    u_second: float = 0.0
    covariance: Floats = field(default_factory=lambda: np.zeros((0, 0)), compare=False, repr=False)

    @property
    def reading(self) -> Reading:
        """The result as a reading; its source names the input that adds most."""
        most = max(self.lines, key=lambda line: abs(line.contribution), default=None)
        source = f"computed; {most.input.name} adds most to ±" if most and self.u_c else "computed"
        return Reading(self.value, self.u_c, self.unit, self.dof, source=source)


def propagate(
    function: Callable[..., float],
    inputs: Sequence[Input],
    unit: str,
    correlation: Correlation | None = None,
    *,
    sensitivities: Sequence[float] | None = None,
    second_order: bool = False,
) -> Budget:
    """Carry the uncertainty of inputs through a formula, to first order.

    Parameters
    ----------
    function
        Takes one float an input, in the order of ``inputs``, and gives the result in ``unit``.
    inputs
        The input quantities.
    unit
        Unit of the result.
    correlation
        Correlation coefficients [-] of pairs of inputs, by their names; pairs not named are independent.
    sensitivities
        Slopes of the result [unit per input's unit] where they are known; otherwise found by differences.
    second_order
        Whether to add the second-order terms to the variance (independent, symmetric inputs only).

    Returns
    -------
    Budget
        The result with its lines.

    Raises
    ------
    QuantityError
        No input, a name given twice, correlations that contradict each other, or a result that is not a number.

    References
    ----------
    JCGM 100:2008, equations (10), (13), (16), the note of 5.1.2, and (G.2b).
    """
    matrix = correlation_matrix(inputs, correlation)
    values = np.array([item.value for item in inputs])
    us = np.array([item.u for item in inputs])
    value = float(function(*values.tolist()))
    slope = _slopes(function, inputs, sensitivities)
    parts = slope * us
    variance = max(float(parts @ matrix @ parts), 0.0)
    extra = _second_order(function, inputs, correlation) if second_order else 0.0
    if not (math.isfinite(value) and math.isfinite(variance) and math.isfinite(extra)):
        raise QuantityError(f"the result {value:g} {unit} or its slopes are not numbers", next_step="check the inputs")
    shares = parts * (matrix @ parts) / variance if variance else np.zeros(len(inputs))
    lines = tuple(Line(*row) for row in zip(inputs, slope.tolist(), parts.tolist(), shares.tolist(), strict=True))
    dof = _effective_dof(parts, matrix, inputs)
    covariance = matrix * np.outer(us, us)
    u_c = math.sqrt(max(variance + extra, 0.0))
    return Budget(lines, value, u_c, dof, unit, math.copysign(math.sqrt(abs(extra)), extra), covariance)


def correlation_matrix(inputs: Sequence[Input], correlation: Correlation | None) -> Floats:
    """Correlation matrix of the inputs, shape (inputs, inputs) [-], from the pairs named.

    Parameters
    ----------
    inputs
        The input quantities; at least one, each with a name of its own.
    correlation
        Coefficients [-] by pairs of names; None when all are independent.

    Returns
    -------
    numpy.ndarray
        Symmetric, ones on the diagonal.

    Raises
    ------
    QuantityError
        No input, a name twice or unknown, a coefficient beyond ±1, or coefficients that contradict each other.
    """
    names = [item.name for item in inputs]
    if not names or len(set(names)) < len(names):
        raise QuantityError(
            f"the inputs {', '.join(names) or '(none)'}", allowed="at least one, each with its own name"
        )
    matrix = np.eye(len(names))
    for pair, coefficient in (correlation or {}).items():
        if not set(pair) <= set(names) or pair[0] == pair[1] or not -1 <= coefficient <= 1:
            raise QuantityError(
                f"a correlation of {coefficient:g} between {pair[0]} and {pair[1]}",
                allowed=f"-1 to 1 between two of {', '.join(names)}",
            )
        row, column = names.index(pair[0]), names.index(pair[1])
        matrix[row, column] = matrix[column, row] = coefficient
    if np.linalg.eigvalsh(matrix)[0] < -1e-9:
        raise QuantityError("the correlations contradict each other", next_step="check their signs")
    return matrix


def _slopes(function: Callable[..., float], inputs: Sequence[Input], given: Sequence[float] | None) -> Floats:
    if given is None:
        return slopes(function, [item.value for item in inputs], [item.u for item in inputs])
    if len(given) != len(inputs):
        raise QuantityError(f"{len(given)} sensitivities for {len(inputs)} inputs", allowed="one an input")
    return np.array(given, dtype=float)


def _second_order(function: Callable[..., float], inputs: Sequence[Input], correlation: Correlation | None) -> float:
    if any(coefficient for coefficient in (correlation or {}).values()):
        raise QuantityError(
            "second-order terms of correlated inputs are not in the guide", next_step="use Monte Carlo instead"
        )
    return second_order_variance(function, [item.value for item in inputs], [item.u for item in inputs])


def _effective_dof(parts: Floats, matrix: Floats, inputs: Sequence[Input]) -> float:
    """Welch–Satterthwaite over groups of correlated inputs; a group has the least degrees of freedom in it."""
    contributions, dofs = [], []
    for group in _groups(matrix):
        variance = float(parts[group] @ matrix[np.ix_(group, group)] @ parts[group])
        contributions.append(math.sqrt(max(variance, 0.0)))
        dofs.append(min((inputs[i].dof for i in group if parts[i]), default=math.inf))
    return welch_satterthwaite(contributions, dofs)


def _groups(matrix: Floats) -> list[list[int]]:
    """Indices of inputs tied together by correlations, directly or through others."""
    left = set(range(len(matrix)))
    groups = []
    while left:
        group, fresh = set(), {min(left)}
        while fresh:
            group |= fresh
            fresh = {j for i in fresh for j in left if matrix[i, j] and j not in group}
        groups.append(sorted(group))
        left -= group
    return groups
