"""Uncertainty budgets against two independent uncertainty libraries and closed forms."""

from __future__ import annotations

import math

import GTC
import numpy as np
import pytest
import uncertainties
from hypothesis import given
from hypothesis import strategies as st
from tests.quantity.correlated import output_correlation
from uncertainties import umath

from twoturn.errors import QuantityError
from twoturn.quantity.budget import Input, propagate
from twoturn.quantity.reading import Reading

# a plucked span: tension from mass per length, length and frequency, with a bending term
NAMES = ("mass", "length", "frequency", "bending")
UNITS = ("kg/m", "m", "Hz", "N·m²")
VALUES = (0.13, 0.15, 101.2, 0.012)
US = (0.004, 0.0012, 0.9, 0.003)
DOFS = (math.inf, 8.0, 2.0, 5.0)


def tension(mass: float, length: float, frequency: float, bending: float) -> float:
    return 4 * mass * length**2 * frequency**2 - 0.8 * math.pi**2 * bending / length**2


def inputs() -> list[Input]:
    return [Input(*row) for row in zip(NAMES, VALUES, US, UNITS, DOFS, strict=True)]


def test_against_automatic_differentiation() -> None:
    numbers = [uncertainties.ufloat(value, u) for value, u in zip(VALUES, US, strict=True)]
    other = tension(*numbers)
    budget = propagate(tension, inputs(), "N")
    assert budget.value == pytest.approx(other.nominal_value, rel=1e-12)
    assert budget.u_c == pytest.approx(other.std_dev, rel=1e-8)
    for line, number in zip(budget.lines, numbers, strict=True):
        assert line.sensitivity == pytest.approx(other.derivatives[number], rel=1e-8)


def test_degrees_of_freedom_against_a_metrology_library() -> None:
    numbers = [GTC.ureal(value, u, dof) for value, u, dof in zip(VALUES, US, DOFS, strict=True)]
    other = tension(*numbers)
    budget = propagate(tension, inputs(), "N")
    assert budget.u_c == pytest.approx(other.u, rel=1e-8)
    assert budget.dof == pytest.approx(other.df, rel=1e-6)
    assert budget.reading.expanded == pytest.approx(other.u * GTC.reporting.k_factor(other.df), rel=1e-6)


@given(st.floats(0.5, 5), st.floats(0.001, 0.1), st.floats(0.5, 5), st.floats(0.001, 0.1), st.floats(-0.99, 0.99))
def test_correlated_inputs_against_a_library(a: float, u_a: float, b: float, u_b: float, r: float) -> None:
    covariance = [[u_a**2, r * u_a * u_b], [r * u_a * u_b, u_b**2]]
    x, y = uncertainties.correlated_values([a, b], covariance)
    first, second = x * umath.exp(-y), x / y
    pair = [Input("a", a, u_a, "-"), Input("b", b, u_b, "-")]
    ours = propagate(lambda p, q: p * math.exp(-q), pair, "-", {("a", "b"): r})
    theirs = propagate(lambda p, q: p / q, pair, "-", {("b", "a"): r})
    assert ours.u_c == pytest.approx(first.std_dev, rel=1e-5, abs=1e-12)
    assert theirs.u_c == pytest.approx(second.std_dev, rel=1e-5, abs=1e-12)
    if min(ours.u_c, theirs.u_c) > 1e-6:
        coefficient = uncertainties.correlation_matrix([first, second])[0, 1]
        assert output_correlation(ours, theirs) == pytest.approx(coefficient, abs=1e-4)


def test_shares_add_up_and_the_largest_is_named() -> None:
    budget = propagate(tension, inputs(), "N")
    assert sum(line.share for line in budget.lines) == pytest.approx(1)
    assert max(budget.lines, key=lambda line: line.share).input.name in budget.reading.source


def test_given_slopes_are_taken() -> None:
    pair = [Input("a", 2.0, 0.1, "mm"), Input("b", 3.0, 0.2, "mm")]
    budget = propagate(lambda a, b: a + 2 * b, pair, "mm", sensitivities=[1.0, 2.0])
    assert budget.u_c == pytest.approx(math.hypot(0.1, 0.4))
    assert [line.contribution for line in budget.lines] == pytest.approx([0.1, 0.4])


def test_an_exact_input_is_not_moved() -> None:
    def counted(teeth: float, pitch: float) -> float:
        if teeth != int(teeth):
            raise AssertionError("teeth are whole")
        return teeth * pitch

    budget = propagate(counted, [Input("teeth", 141.0, 0.0, "-"), Input("pitch", 9.525, 0.001, "mm")], "mm")
    assert budget.u_c == pytest.approx(0.141)
    assert budget.lines[0].contribution == 0


def test_a_correlated_group_has_the_least_degrees_of_freedom_in_it() -> None:
    """Five simultaneous sets of readings carry four degrees of freedom, however many quantities each holds."""
    group = [Input("a", 1.0, 0.1, "-", dof=4), Input("b", 1.0, 0.1, "-", dof=4), Input("c", 1.0, 0.1, "-", dof=9)]
    budget = propagate(lambda a, b, c: a + b + 0 * c, group, "-", {("a", "b"): 0.5})
    assert budget.dof == pytest.approx(4)
    wider = propagate(lambda a, b, c: a + b + c, group, "-", {("a", "b"): 0.5})
    assert wider.dof == pytest.approx((0.03 + 0.01) ** 2 / (0.03**2 / 4 + 0.01**2 / 9))


def test_second_order_of_a_square_is_exact() -> None:
    """Y = X², X normal: variance 4x²u² + 2u⁴."""
    budget = propagate(lambda x: x * x, [Input("x", 3.0, 0.7, "-")], "-", second_order=True)
    assert budget.u_c == pytest.approx(math.sqrt(4 * 9 * 0.49 + 2 * 0.49**2), rel=1e-9)


def test_second_order_of_a_cube_has_its_third_derivative() -> None:
    """Y = X³ at x = 2: 9x⁴u² + (½(6x)² + 3x²·6)u⁴ by the note of 5.1.2."""
    u = 0.1
    budget = propagate(lambda x: x**3, [Input("x", 2.0, u, "-")], "-", second_order=True)
    assert budget.u_c == pytest.approx(math.sqrt(9 * 16 * u**2 + (72 + 72) * u**4), rel=1e-6)


def test_a_reading_as_input_keeps_what_it_says() -> None:
    item = Input.read("frequency", Reading(101.2, 0.9, "Hz", dof=2, source="three plucks"))
    assert (item.value, item.u, item.unit, item.dof, item.why) == (101.2, 0.9, "Hz", 2, "three plucks")


@pytest.mark.parametrize(
    ("rows", "correlation", "words"),
    [
        ([], None, "none"),
        ([("a", 1.0, 0.1, "-"), ("a", 1.0, 0.1, "-")], None, "its own name"),
        ([("a", 1.0, 0.1, "-"), ("b", 1.0, 0.1, "-")], {("a", "c"): 0.5}, "between a and c"),
        ([("a", 1.0, 0.1, "-"), ("b", 1.0, 0.1, "-")], {("a", "b"): 1.5}, r"1\.5"),
        (
            [("a", 1.0, 0.1, "-"), ("b", 1.0, 0.1, "-"), ("c", 1.0, 0.1, "-")],
            {("a", "b"): 0.9, ("b", "c"): 0.9, ("a", "c"): -0.9},
            "contradict",
        ),
    ],
)
def test_inputs_that_make_no_budget(rows: list[tuple[str, float, float, str]], correlation: object, words: str) -> None:
    with pytest.raises(QuantityError, match=words):
        propagate(lambda *values: sum(values), [Input(*row) for row in rows], "-", correlation)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("change", "words"),
    [({"u": -1.0}, "means nothing"), ({"dof": 0.5}, "degrees of freedom"), ({"shape": "bell"}, "bell")],
)
def test_inputs_that_mean_nothing(change: dict[str, float | str], words: str) -> None:
    with pytest.raises(QuantityError, match=words):
        Input(**{"name": "a", "value": 1.0, "u": 0.1, "unit": "-"} | change)  # type: ignore[arg-type]


def test_a_result_that_is_no_number_is_refused() -> None:
    with pytest.raises(QuantityError, match="not numbers"):
        propagate(lambda x: math.nan * x, [Input("x", 1.0, 0.1, "-")], "-")
    with pytest.raises(QuantityError, match="2 sensitivities for 1"):
        propagate(lambda x: x, [Input("x", 1.0, 0.1, "-")], "-", sensitivities=[1.0, 2.0])
    pair = [Input("a", 1.0, 0.1, "-"), Input("b", 1.0, 0.1, "-")]
    with pytest.raises(QuantityError, match="correlated"):
        propagate(lambda a, b: a * b, pair, "-", {("a", "b"): 0.5}, second_order=True)


def test_the_input_array_is_not_changed() -> None:
    slopes = np.array([1.0, 2.0])
    propagate(lambda a, b: a + b, [Input("a", 1.0, 0.1, "-"), Input("b", 1.0, 0.1, "-")], "-", sensitivities=slopes)
    assert slopes.tolist() == [1.0, 2.0]
