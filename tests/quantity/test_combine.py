"""Several readings of one state made into one."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from twoturn.errors import QuantityError
from twoturn.quantity.combine import combine, welch_satterthwaite
from twoturn.quantity.reading import Reading

SETS = 6000


def repeats(generator: np.random.Generator, count: int, scatter: float) -> Reading:
    """The mean of a few repeats of a quantity whose true value is 0."""
    values = generator.normal(0, scatter, count)
    return Reading(float(values.mean()), float(values.std(ddof=1)) / math.sqrt(count), "Hz", dof=count - 1)


@given(st.lists(st.tuples(st.floats(90, 110), st.floats(0.1, 3)), min_size=2, max_size=6))
def test_known_uncertainties_give_the_weighted_mean(pairs: list[tuple[float, float]]) -> None:
    """Textbook formula: weights 1/u², u of the mean (Σ1/u²)^-½, chi-square as Cox 2002."""
    combined = combine([Reading(value, u, "Hz") for value, u in pairs])
    values, us = np.array(pairs).T
    weights = us**-2 / np.sum(us**-2)
    assert combined.reading.value == pytest.approx(np.sum(weights * values), rel=1e-9)
    assert combined.reading.u == pytest.approx(np.sum(us**-2) ** -0.5, rel=1e-6)
    assert combined.chi_square == pytest.approx(
        np.sum(((values - np.sum(weights * values)) / us) ** 2), rel=1e-6, abs=1e-9
    )
    assert combined.critical == pytest.approx(stats.chi2.ppf(0.95, len(pairs) - 1))


@pytest.mark.parametrize("counts", [(3, 3), (3, 3, 3, 3), (3, 10)])
def test_few_repeats_prove_falsely_in_no_more_than_2_5_percent(counts: tuple[int, ...]) -> None:
    generator = np.random.default_rng(11)
    above = [combine([repeats(generator, count, 1.0) for count in counts]).reading.low > 0 for _ in range(SETS)]
    assert np.mean(above) < 0.025 + 3 * math.sqrt(0.025 / SETS)


def test_plain_weights_from_few_repeats_would_prove_falsely() -> None:
    """The reason why: four times three plucks, weighted by 1/u² with the usual degrees of freedom, fail in over 8 %."""
    generator = np.random.default_rng(12)
    plucks = generator.normal(0, 1, (50_000, 4, 3))
    u = plucks.std(axis=2, ddof=1) / math.sqrt(3)
    weights = u**-2 / np.sum(u**-2, axis=1, keepdims=True)
    mean, u_c = np.sum(weights * plucks.mean(axis=2), axis=1), np.sum(u**-2, axis=1) ** -0.5
    dof = 1 / np.sum(weights**2 / 2, axis=1)
    assert np.mean(mean > stats.t.ppf(0.975, dof) * u_c) > 0.08


def test_good_readings_are_flagged_in_one_of_twenty() -> None:
    generator = np.random.default_rng(13)
    flagged = [
        not combine([repeats(generator, 3, 1.0), Reading(float(generator.normal(0, 0.5)), 0.5, "Hz")]).consistent
        for _ in range(SETS)
    ]
    assert np.mean(flagged) == pytest.approx(0.05, abs=0.015)


def test_a_spread_beyond_u_is_flagged() -> None:
    assert combine([Reading(101.0, 0.5, "Hz"), Reading(101.5, 0.5, "Hz")]).consistent
    assert not combine([Reading(101.0, 0.5, "Hz"), Reading(104.0, 0.5, "Hz")]).consistent


def test_one_reading_stays_as_it_is() -> None:
    reading = Reading(101.0, 0.5, "Hz", dof=2, source="pluck 1")
    combined = combine([reading])
    assert combined.reading is reading
    assert combined.consistent


def test_what_all_share_does_not_average_out() -> None:
    readings = [Reading(101.0, 0.5, "Hz")] * 4
    assert combine(readings).reading.u == pytest.approx(0.25)
    assert combine(readings, common_u=0.4).reading.u == pytest.approx(math.hypot(0.3 / 2, 0.4))
    assert combine(readings, common_u=0.5).reading.u == pytest.approx(0.5)
    with pytest.raises(QuantityError, match=r"shared uncertainty of 0\.6 Hz"):
        combine(readings, common_u=0.6)


def test_counted_values_rule() -> None:
    counted = Reading(41.0, 0.0, "-")
    assert combine([counted, counted]).reading.value == 41.0
    assert combine([counted, Reading(41.3, 0.5, "-")]).consistent
    assert not combine([counted, Reading(42.0, 0.0, "-")]).consistent
    assert not combine([counted, Reading(44.0, 0.5, "-")]).consistent


def test_order_does_not_matter() -> None:
    readings = [Reading(100.0, 0.5, "Hz", dof=2), Reading(101.0, 0.7, "Hz"), Reading(100.4, 0.2, "Hz", dof=9)]
    forward, backward = combine(readings).reading, combine(readings[::-1]).reading
    assert forward.value == pytest.approx(backward.value)
    assert forward.interval == pytest.approx(backward.interval)


def test_nothing_and_unlike_units_are_refused() -> None:
    with pytest.raises(QuantityError, match="no reading"):
        combine([])
    with pytest.raises(QuantityError, match="Hz and N"):
        combine([Reading(1.0, 0.1, "Hz"), Reading(1.0, 0.1, "N")])


def test_welch_satterthwaite_of_equal_parts_adds_their_degrees() -> None:
    assert welch_satterthwaite([1, 1, 1], [4, 4, 4]) == pytest.approx(12)
    assert welch_satterthwaite([1, 0], [4, 1]) == pytest.approx(4)
    assert welch_satterthwaite([1, 1], [math.inf, math.inf]) == math.inf
    assert welch_satterthwaite([0.0], [3]) == math.inf
