"""The decision rule: ISO 14253-1 and JCGM 106, with a guard band of U on each limit."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from twoturn.errors import QuantityError
from twoturn.quantity.conformity import (
    Limits,
    Verdict,
    accept_simple,
    decide,
    decide_yes_no,
    settling_uncertainty,
    too_coarse,
    worst,
)
from twoturn.quantity.reading import Reading, coverage_factor

NUMBERS = st.floats(-1e6, 1e6)
READINGS = 1_000_000
MOST_FALSE = 0.0255


@pytest.mark.parametrize(
    ("value", "verdict"),
    [
        (102.0, Verdict.PROVEN),
        (98.0, Verdict.PROVEN),  # 98 − 2 lies on the limit, which belongs to what is allowed
        (97.9, Verdict.NOT_SHOWN),
        (96.0, Verdict.NOT_SHOWN),
        (94.1, Verdict.NOT_SHOWN),
        (93.9, Verdict.NOT_MET),
        (106.1, Verdict.NOT_SHOWN),
        (110.1, Verdict.NOT_MET),
    ],
)
def test_value_with_its_uncertainty_against_two_limits(value: float, verdict: Verdict) -> None:
    reading = Reading(value, 1.0, "Hz", interval=(value - 2, value + 2))
    assert decide(reading, Limits(96.0, 108.0, "Hz")) is verdict


def test_an_uncertainty_wider_than_the_requirement_shows_nothing() -> None:
    assert decide(Reading(100.0, 50.0, "Hz"), Limits(96.0, 108.0, "Hz")) is Verdict.NOT_SHOWN


@pytest.mark.parametrize("value", [22.5, 25.0, 27.5, 18 * 1.25])
def test_an_exact_value_on_a_limit_counts(value: float) -> None:
    assert decide(Reading(value, 0.0, "N·m"), Limits(22.5, 27.5, "N·m")) is Verdict.PROVEN


def test_the_interval_of_a_lopsided_reading_is_used_as_it_is() -> None:
    reading = Reading(50.0, 50.0, "-", interval=(0.0, 150.0))
    assert decide(reading, Limits(0.0, 150.0, "-")) is Verdict.PROVEN
    assert decide(reading, Limits(None, 149.0, "-")) is Verdict.NOT_SHOWN
    assert decide(reading, Limits(151.0, None, "-")) is Verdict.NOT_MET


def test_three_plucks_need_a_guard_band_of_4_3_u() -> None:
    """JCGM 100:2008, table G.2: t(95 %, 2) = 4.30."""
    limits = Limits(96.0, None, "Hz")
    assert decide(Reading(96.0 + 4.31, 1.0, "Hz", dof=2), limits) is Verdict.PROVEN
    assert decide(Reading(96.0 + 4.29, 1.0, "Hz", dof=2), limits) is Verdict.NOT_SHOWN


@pytest.mark.parametrize(
    ("limits", "limit"),
    [(Limits(None, 108.0, "Hz"), 108.0), (Limits(96.0, 108.0, "Hz"), 96.0), (Limits(96.0, 108.0, "Hz"), 108.0)],
    ids=["only limit", "lower of two", "upper of two"],
)
def test_false_proven_of_a_million_readings_at_a_limit(limits: Limits, limit: float) -> None:
    values = np.random.default_rng(5).normal(limit, 1.0, READINGS).tolist()
    proven = sum(decide(Reading(value, 1.0, "Hz"), limits) is Verdict.PROVEN for value in values)
    assert 0.0245 < proven / READINGS <= MOST_FALSE  # the rule spends what it may, and no more


def test_false_proven_of_a_million_sets_of_three_plucks_at_a_limit() -> None:
    generator = np.random.default_rng(6)
    plucks = generator.normal(96.0, 1.0, (READINGS, 3))
    means, us = plucks.mean(axis=1).tolist(), (plucks.std(axis=1, ddof=1) / math.sqrt(3)).tolist()
    limits = Limits(96.0, None, "Hz")
    readings = (Reading(mean, u, "Hz", dof=2) for mean, u in zip(means, us, strict=True))
    proven = sum(decide(reading, limits) is Verdict.PROVEN for reading in readings)
    assert 0.0245 < proven / READINGS <= MOST_FALSE


def test_two_u_instead_of_the_t_factor_would_prove_falsely() -> None:
    """The reason for the t-factor: with k = 2 three plucks would prove falsely in 9 of 100."""
    plucks = np.random.default_rng(7).normal(0.0, 1.0, (100_000, 3))
    ratio = plucks.mean(axis=1) / (plucks.std(axis=1, ddof=1) / math.sqrt(3))
    assert np.mean(ratio >= 2) > 0.08
    assert np.mean(ratio >= coverage_factor(2)) < 0.027


@given(NUMBERS, st.floats(0, 1e5), NUMBERS, st.floats(0, 1e5))
def test_verdicts_agree_with_the_interval(value: float, u: float, low: float, width: float) -> None:
    reading, limits = Reading(value, u, "mm"), Limits(low, low + width, "mm")
    verdict = decide(reading, limits)
    if verdict is Verdict.PROVEN:
        assert limits.room(reading.low) >= -limits.slack
        assert limits.room(reading.high) >= -limits.slack
        assert accept_simple(value, limits) is Verdict.PROVEN
    if verdict is Verdict.NOT_MET:
        assert limits.room(value) < 0
    assert decide(Reading(-value, u, "mm"), Limits(-low - width, -low, "mm")) is verdict


@given(NUMBERS, st.floats(0.001, 1e5), NUMBERS, st.floats(0, 1e5))
def test_the_settling_uncertainty_settles(value: float, u: float, low: float, width: float) -> None:
    reading, limits = Reading(value, u, "mm"), Limits(low, low + width, "mm")
    enough = 0.999 * settling_uncertainty(reading, limits)
    settled = decide(Reading(value, enough, "mm", interval=(value - enough, value + enough)), limits)
    assert settled is (Verdict.PROVEN if limits.room(value) >= -limits.slack else settled)
    if enough > 1e-3:
        assert settled is not Verdict.NOT_SHOWN


def test_too_coarse_is_a_quarter_of_the_width() -> None:
    limits = Limits(96.0, 108.0, "Hz")
    assert not too_coarse(Reading(102.0, 1.0, "Hz", interval=(99.0, 105.0)), limits)
    assert too_coarse(Reading(102.0, 1.0, "Hz", interval=(98.9, 105.1)), limits)
    assert not too_coarse(Reading(102.0, 1000.0, "Hz"), Limits(96.0, None, "Hz"))


@pytest.mark.parametrize("act", [decide, too_coarse, settling_uncertainty])
def test_unlike_units_are_refused(act: object) -> None:
    with pytest.raises(QuantityError, match=r"reading in Hz .* limits in N"):
        act(Reading(100.0, 1.0, "Hz"), Limits(1.0, 2.0, "N"))  # type: ignore[operator]


@pytest.mark.parametrize(
    ("low", "high", "unit", "words"),
    [
        (None, None, "mm", "without a limit"),
        (2.0, 1.0, "mm", "low limit 2 lies above the high limit 1 mm"),
        (math.nan, 1.0, "mm", "finite"),
        (0.0, math.inf, "mm", "finite"),
        (0.0, 1.0, "", "without a unit"),
    ],
)
def test_limits_that_mean_nothing(low: float | None, high: float | None, unit: str, words: str) -> None:
    with pytest.raises(QuantityError, match=words):
        Limits(low, high, unit)


@pytest.mark.parametrize(
    ("value", "verdict"),
    [(-6.0, Verdict.PROVEN), (6.0, Verdict.PROVEN), (6.1, Verdict.NOT_MET), (0.1 + 0.2 + 5.7, Verdict.PROVEN)],
)
def test_as_prescribed_is_accepted_simply(value: float, verdict: Verdict) -> None:
    assert accept_simple(value, Limits(-6.0, 6.0, "°")) is verdict


def test_as_prescribed_refuses_what_is_no_number() -> None:
    with pytest.raises(QuantityError, match="nan"):
        accept_simple(math.nan, Limits(-6.0, 6.0, "°"))


@pytest.mark.parametrize(
    ("answers", "verdict"),
    [([], "not shown"), ([True], "proven"), ([True, True], "proven"), ([True, False], "not met"), ([False], "not met")],
)
def test_any_no_wins(answers: list[bool], verdict: str) -> None:
    assert decide_yes_no(answers) == verdict


def test_the_worst_verdict_is_the_jobs() -> None:
    assert worst([]) is Verdict.NOT_SHOWN
    assert worst([Verdict.PROVEN, Verdict.PROVEN]) is Verdict.PROVEN
    assert worst([Verdict.PROVEN, Verdict.NOT_SHOWN]) is Verdict.NOT_SHOWN
    assert worst([Verdict.NOT_MET, Verdict.NOT_SHOWN, Verdict.PROVEN]) is Verdict.NOT_MET
