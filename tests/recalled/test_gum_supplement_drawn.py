"""Propagation of distributions: the examples 9.2 to 9.4 of supplement 1 to the guide.

Source: JCGM 101:2008, clauses 9.2 (additive model), 9.3 (mass calibration), 9.4 (comparison loss). Inputs were read in
the manual of a statistics package; printed results are from memory, the closed forms beside them are exact. 10⁶ draws,
seeded: an end of a 95 % interval settles to about 0.3 % of its distance from the middle; tolerances are that plus half
a digit.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.typing import NDArray

from twoturn.quantity.budget import Input, propagate
from twoturn.quantity.montecarlo import Drawn, simulate

DRAWS = 1_000_000
Floats = NDArray[np.float64]


def drawn(function: object, inputs: list[Input], unit: str = "-") -> Drawn:
    return simulate(function, inputs, unit, np.random.default_rng(101), draws=DRAWS)  # type: ignore[arg-type]


def add(*terms: Floats) -> Floats:
    return np.sum(terms, axis=0)


class TestAdditiveModel:
    """Clause 9.2."""

    def test_four_normal_inputs(self) -> None:
        result = drawn(add, [Input(f"x{i}", 0.0, 1.0, "-") for i in range(4)])
        assert result.u == pytest.approx(2.0, abs=0.005)
        assert result.interval == pytest.approx((-3.92, 3.92), abs=0.015)
        assert result.shortest == pytest.approx(
            (-3.92, 3.92), abs=0.06
        )  # the shortest one slides where density is flat

    def test_four_rectangular_inputs(self) -> None:
        result = drawn(add, [Input(f"x{i}", 0.0, 1.0, "-", shape="rectangular") for i in range(4)])
        exact = 2 * math.sqrt(3) * (2 - (3 / 5) ** 0.25)
        assert result.u == pytest.approx(2.0, abs=0.005)
        assert result.interval == pytest.approx((-3.88, 3.88), abs=0.015)
        assert result.interval == pytest.approx((-exact, exact), abs=0.01)

    def test_the_guide_alone_says_3_92_for_rectangular_inputs(self) -> None:
        inputs = [Input(f"x{i}", 0.0, 1.0, "-", shape="rectangular") for i in range(4)]
        reading = propagate(lambda *terms: sum(terms), inputs, "-").reading
        assert reading.expanded == pytest.approx(3.92, abs=0.005)

    def test_one_rectangular_input_rules(self) -> None:
        inputs = [Input(f"x{i}", 0.0, 10.0 if i == 3 else 1.0, "-", shape="rectangular") for i in range(4)]
        result = drawn(add, inputs)
        assert result.u == pytest.approx(10.1, abs=0.06)
        assert result.u == pytest.approx(math.sqrt(103), abs=0.02)
        assert result.interval == pytest.approx((-17.0, 17.0), abs=0.06)
        assert propagate(lambda *terms: sum(terms), inputs, "-").reading.expanded == pytest.approx(19.9, abs=0.05)


def deviation_mg(mass: Floats, extra: Floats, air: Floats, weight: Floats, reference: Floats) -> Floats:
    return (mass + extra) * (1 + (air - 1.2) * (1 / weight - 1 / reference)) - 100_000


MASS_INPUTS = [
    Input("reference", 100_000.0, 0.050, "mg"),
    Input("added mass", 1.234, 0.020, "mg"),
    Input.between("air density", 1.20, 0.10, "kg/m³"),
    Input.between("density of weight", 8000.0, 1000.0, "kg/m³"),
    Input.between("density of reference", 8000.0, 50.0, "kg/m³"),
]


class TestMassCalibration:
    """Clause 9.3: first order loses the air's buoyancy altogether."""

    def test_first_order(self) -> None:
        reading = propagate(deviation_mg, MASS_INPUTS, "mg").reading
        assert reading.value == pytest.approx(1.2340, abs=5e-5)
        assert reading.u == pytest.approx(0.0539, abs=5e-5)
        assert (reading.low, reading.high) == pytest.approx((1.1285, 1.3395), abs=1e-4)

    def test_second_order(self) -> None:
        reading = propagate(deviation_mg, MASS_INPUTS, "mg", second_order=True).reading
        assert reading.u == pytest.approx(0.0750, abs=5e-5)
        assert (reading.low, reading.high) == pytest.approx((1.0870, 1.3810), abs=1e-4)

    def test_drawing(self) -> None:
        result = drawn(deviation_mg, MASS_INPUTS, "mg")
        assert result.value == pytest.approx(1.2341, abs=3e-4)
        assert result.u == pytest.approx(0.0754, abs=2e-4)
        assert result.shortest == pytest.approx((1.0834, 1.3825), abs=0.006)  # density is flat at both ends


class TestComparisonLoss:
    """Clause 9.4, in units of 10⁻⁶: Y = X1² + X2², uncorrelated."""

    @staticmethod
    def inputs(x1: float) -> list[Input]:
        return [Input("X1", x1, 5e-3, "-"), Input("X2", 0.0, 5e-3, "-")]

    @staticmethod
    def loss(first: Floats, second: Floats) -> Floats:
        return (first**2 + second**2) * 1e6

    @pytest.mark.parametrize(("x1", "value", "u"), [(0.0, 0, 0), (0.010, 100, 100), (0.050, 2500, 500)])
    def test_first_order(self, x1: float, value: float, u: float) -> None:
        budget = propagate(self.loss, self.inputs(x1), "-")
        assert (budget.value, budget.u_c) == pytest.approx((value, u), abs=1e-6)

    @pytest.mark.parametrize(("x1", "u"), [(0.0, 50), (0.010, 112), (0.050, 502)])
    def test_second_order(self, x1: float, u: float) -> None:
        budget = propagate(self.loss, self.inputs(x1), "-", second_order=True)
        assert budget.u_c == pytest.approx(u, abs=0.5)
        assert budget.u_c == pytest.approx(1e6 * math.sqrt(4 * 25e-6 * x1**2 + 4 * 25e-6**2), rel=1e-6)

    @pytest.mark.parametrize(
        ("x1", "mean", "u", "shortest", "tolerance"),
        [(0.0, 50, 50, (0, 150), 1), (0.010, 150, 112, (0, 367), 2), (0.050, 2550, 502, (1590, 3543), 25)],
    )
    def test_drawing(self, x1: float, mean: float, u: float, shortest: tuple[float, float], tolerance: float) -> None:
        result = drawn(self.loss, self.inputs(x1))
        assert result.value == pytest.approx(mean, abs=1.6)
        assert result.u == pytest.approx(u, abs=1.5)
        assert result.shortest == pytest.approx(shortest, abs=tolerance)  # the third one: density flat at both ends
