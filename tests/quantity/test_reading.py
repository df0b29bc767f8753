"""Readings: coverage factors, intervals, units."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from twoturn.errors import QuantityError
from twoturn.quantity.reading import Reading, coverage_factor


@given(st.floats(1, 500), st.floats(0.5, 0.999))
def test_coverage_factors_against_a_statistics_library(dof: float, probability: float) -> None:
    assert coverage_factor(dof, probability) == pytest.approx(stats.t.ppf(0.5 + probability / 2, dof), rel=1e-9)
    assert coverage_factor(dof, probability) > coverage_factor(math.inf, probability)


@pytest.mark.parametrize("dof", [0.0, 0.5, -1.0, math.nan])
def test_no_degrees_of_freedom_no_uncertainty(dof: float) -> None:
    with pytest.raises(QuantityError, match="degrees of freedom"):
        coverage_factor(dof)


@pytest.mark.parametrize(
    ("value", "u", "unit"), [(math.nan, 1.0, "mm"), (1.0, -1.0, "mm"), (1.0, math.inf, "mm"), (1.0, 1.0, "")]
)
def test_readings_that_mean_nothing(value: float, u: float, unit: str) -> None:
    with pytest.raises(QuantityError):
        Reading(value, u, unit)


@given(st.floats(-1e6, 1e6), st.floats(0, 1e5), st.floats(-1e3, 1e3).filter(bool))
def test_scaling_keeps_the_ends_in_order(value: float, u: float, factor: float) -> None:
    plain = Reading(value, u, "Hz", dof=3).scaled(factor, "1/min")
    found = Reading(value, u, "Hz", interval=(value - u, value + 3 * u)).scaled(factor, "1/min")
    assert plain.unit == "1/min"
    assert plain.expanded == pytest.approx(coverage_factor(3) * u * abs(factor))
    assert found.low <= found.high
    assert found.high - found.low == pytest.approx(4 * u * abs(factor), rel=1e-6, abs=1e-6)


def test_json_of_a_reading() -> None:
    answer = Reading(101.2, 0.9, "Hz", interval=(99.0, 103.0)).as_json()
    assert answer == {"value": 101.2, "u": 0.9, "low": 99.0, "high": 103.0, "unit": "Hz"}


def test_a_counted_value_has_no_spread() -> None:
    reading = Reading(141.0, 0.0, "-", dof=1)
    assert (reading.low, reading.high) == (141.0, 141.0)
