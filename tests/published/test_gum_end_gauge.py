"""End-gauge calibration: the worked example H.1 of the guide to the expression of uncertainty.

Source: JCGM 100:2008 (GUM), annex H.1, tables H.1 and text; the same numbers are restated by the documentation of
open-source uncertainty libraries. Inputs below are the guide's, bounded ones by their half widths, so that nothing is
rounded twice. Tolerance: half of the last printed digit, unless a comment says why more.
"""

from __future__ import annotations

import math

import pytest

from twoturn.quantity.budget import Budget, Input, propagate
from twoturn.quantity.combine import welch_satterthwaite
from twoturn.quantity.reading import coverage_factor

STANDARD = Input("length of standard", 50_000_623.0, 25.0, "nm", dof=18)
MEAN = Input("mean difference", 215.0, 5.8, "nm", dof=24)
RANDOM = Input("comparator, random", 0.0, 3.9, "nm", dof=5)
SYSTEMATIC = Input("comparator, systematic", 0.0, 6.7, "nm", dof=8)
EXPANSION = Input.between("expansion of standard", 11.5e-6, 2e-6, "1/K")
EXPANSION_DIFFERENCE = Input.between("difference in expansion", 0.0, 1e-6, "1/K").said("", dof=50)
BED = Input("mean bed temperature", -0.1, 0.2, "K")
CYCLE = Input.between("temperature cycle", 0.0, 0.5, "K", shape="arcsine")
TEMPERATURE_DIFFERENCE = Input.between("difference in temperature", 0.0, 0.05, "K").said("", dof=2)
INPUTS = (
    STANDARD,
    MEAN,
    RANDOM,
    SYSTEMATIC,
    EXPANSION,
    EXPANSION_DIFFERENCE,
    BED,
    CYCLE,
    TEMPERATURE_DIFFERENCE,
)


def length(  # noqa: PLR0917 - the nine inputs of the example
    ls: float, d: float, d1: float, d2: float, alpha: float, da: float, bed: float, cycle: float, dt: float
) -> float:
    return ls + d + d1 + d2 - ls * (da * (bed + cycle) + alpha * dt)


@pytest.fixture(scope="module")
def budget() -> Budget:
    return propagate(length, INPUTS, "nm")


def test_standard_uncertainties_of_the_inputs() -> None:
    assert EXPANSION.u == pytest.approx(1.2e-6, abs=0.05e-6)
    assert EXPANSION_DIFFERENCE.u == pytest.approx(0.58e-6, abs=0.005e-6)
    assert CYCLE.u == pytest.approx(0.35, abs=0.005)
    assert math.hypot(BED.u, CYCLE.u) == pytest.approx(0.41, abs=0.005)
    assert TEMPERATURE_DIFFERENCE.u == pytest.approx(0.029, abs=0.0005)
    assert math.hypot(MEAN.u, RANDOM.u, SYSTEMATIC.u) == pytest.approx(9.7, abs=0.05)


def test_length_and_its_uncertainty(budget: Budget) -> None:
    assert budget.value == pytest.approx(50_000_838, abs=0.5)
    assert budget.u_c == pytest.approx(32, abs=0.5)


def test_contributions_line_by_line(budget: Budget) -> None:
    part = {line.input.name: abs(line.contribution) for line in budget.lines}
    assert part["length of standard"] == pytest.approx(25, abs=0.5)
    assert part["difference in temperature"] == pytest.approx(16.6, abs=0.05)
    assert part["comparator, systematic"] == pytest.approx(6.7, abs=0.05)
    assert part["mean difference"] == pytest.approx(5.8, abs=0.05)
    assert part["comparator, random"] == pytest.approx(3.9, abs=0.05)
    assert part["difference in expansion"] == pytest.approx(2.88679, abs=5e-5)  # printed unrounded by a library
    assert part["expansion of standard"] == 0


def test_degrees_of_freedom_of_the_mean_difference() -> None:
    # printed 25.6; from the rounded inputs that are printed it is 25.4
    assert welch_satterthwaite([5.8, 3.9, 6.7], [24, 5, 8]) == pytest.approx(25.6, abs=0.2)


def test_effective_degrees_of_freedom_truncate_to_sixteen(budget: Budget) -> None:
    assert math.floor(budget.dof) == 16


def test_expanded_uncertainty_at_99_percent(budget: Budget) -> None:
    assert coverage_factor(16, 0.99) == pytest.approx(2.92, abs=0.005)
    # printed from u rounded to 32 nm (93.4); unrounded it is 92.5
    assert coverage_factor(16, 0.99) * 32 == pytest.approx(93, abs=0.5)
    assert coverage_factor(16, 0.99) * budget.u_c == pytest.approx(93, abs=0.6)


def test_second_order_terms() -> None:
    full = propagate(length, INPUTS, "nm", second_order=True)
    assert full.u_c == pytest.approx(34, abs=0.5)
    assert full.u_second == pytest.approx(math.hypot(11.7, 1.7), abs=0.1)
