"""Simultaneous resistance and reactance measurement: the worked example H.2 of the guide.

Source: JCGM 100:2008 (GUM), annex H.2, tables H.2 to H.4; the readings also in an open data set of a statistics
package. Tolerance: half of the last printed digit; u(X) is printed 0.295 although the data give 0.2956, so 0.001 there.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from tests.quantity.correlated import output_correlation

from twoturn.quantity.budget import Budget, Input, propagate

VOLTS = np.array([5.007, 4.994, 5.005, 4.990, 4.999])
MILLIAMPS = np.array([19.663, 19.639, 19.640, 19.685, 19.678])
RADIANS = np.array([1.0456, 1.0438, 1.0468, 1.0428, 1.0433])
NAMES = ("V", "I", "phi")


def resistance(volts: float, amps: float, phi: float) -> float:
    return volts / amps * math.cos(phi)


def reactance(volts: float, amps: float, phi: float) -> float:
    return volts / amps * math.sin(phi)


def impedance(volts: float, amps: float, phi: float) -> float:
    return volts / amps + 0 * phi


@pytest.fixture(scope="module")
def inputs() -> list[Input]:
    columns = zip(NAMES, (VOLTS, MILLIAMPS / 1000, RADIANS), ("V", "A", "rad"), strict=True)
    return [
        Input(name, column.mean(), column.std(ddof=1) / math.sqrt(5), unit, dof=4) for name, column, unit in columns
    ]


@pytest.fixture(scope="module")
def correlation() -> dict[tuple[str, str], float]:
    table = np.corrcoef([VOLTS, MILLIAMPS, RADIANS])
    return {(NAMES[i], NAMES[j]): float(table[i, j]) for i in range(3) for j in range(i)}


@pytest.fixture(scope="module")
def budgets(inputs: list[Input], correlation: dict[tuple[str, str], float]) -> dict[str, Budget]:
    formulas = {"R": resistance, "X": reactance, "Z": impedance}
    return {name: propagate(formula, inputs, "Ω", correlation) for name, formula in formulas.items()}


def test_means_scatter_and_correlations(inputs: list[Input], correlation: dict[tuple[str, str], float]) -> None:
    assert [item.value for item in inputs] == pytest.approx([4.9990, 19.6610e-3, 1.04446], abs=5e-6)
    assert inputs[0].u == pytest.approx(0.0032, abs=5e-5)
    assert inputs[1].u == pytest.approx(0.0095e-3, abs=5e-8)
    assert inputs[2].u == pytest.approx(0.00075, abs=5e-6)
    assert correlation["I", "V"] == pytest.approx(-0.36, abs=0.005)
    assert correlation["phi", "V"] == pytest.approx(0.86, abs=0.005)
    assert correlation["phi", "I"] == pytest.approx(-0.65, abs=0.005)


@pytest.mark.parametrize(
    ("name", "value", "u", "u_tolerance"),
    [("R", 127.732, 0.071, 0.0005), ("X", 219.847, 0.295, 0.001), ("Z", 254.260, 0.236, 0.0005)],
)
def test_results(budgets: dict[str, Budget], name: str, value: float, u: float, u_tolerance: float) -> None:
    assert budgets[name].value == pytest.approx(value, abs=0.0006)
    assert budgets[name].u_c == pytest.approx(u, abs=u_tolerance)
    assert budgets[name].dof == pytest.approx(4)  # five sets of simultaneous readings


def test_correlations_of_the_results(budgets: dict[str, Budget]) -> None:
    assert output_correlation(budgets["R"], budgets["X"]) == pytest.approx(-0.588, abs=0.0005)
    assert output_correlation(budgets["R"], budgets["Z"]) == pytest.approx(-0.485, abs=0.0005)
    assert output_correlation(budgets["X"], budgets["Z"]) == pytest.approx(0.993, abs=0.0006)  # data give 0.9925


def test_second_approach_the_mean_of_five_results() -> None:
    each = {
        "R": VOLTS / MILLIAMPS * 1000 * np.cos(RADIANS),
        "X": VOLTS / MILLIAMPS * 1000 * np.sin(RADIANS),
        "Z": VOLTS / MILLIAMPS * 1000,
    }
    for name, value, u in (("R", 127.732, 0.071), ("X", 219.847, 0.295), ("Z", 254.260, 0.236)):
        assert each[name].mean() == pytest.approx(value, abs=0.0005)
        assert each[name].std(ddof=1) / math.sqrt(5) == pytest.approx(u, abs=0.0006)


def test_rounded_inputs_as_a_library_prints_them() -> None:
    inputs = [Input("V", 4.999, 3.2e-3, "V"), Input("I", 19.661e-3, 9.5e-6, "A"), Input("phi", 1.04446, 7.5e-4, "rad")]
    correlation = {("V", "I"): -0.36, ("V", "phi"): 0.86, ("I", "phi"): -0.65}
    r, x, z = (propagate(formula, inputs, "Ω", correlation) for formula in (resistance, reactance, impedance))
    assert (r.value, r.u_c) == (pytest.approx(127.732, abs=0.0005), pytest.approx(0.070, abs=0.0005))
    assert (x.value, x.u_c) == (pytest.approx(219.85, abs=0.005), pytest.approx(0.30, abs=0.005))
    assert (z.value, z.u_c) == (pytest.approx(254.26, abs=0.005), pytest.approx(0.24, abs=0.005))
    assert output_correlation(r, x) == pytest.approx(-0.59, abs=0.005)
    assert output_correlation(r, z) == pytest.approx(-0.49, abs=0.005)
    assert output_correlation(x, z) == pytest.approx(0.99, abs=0.005)
