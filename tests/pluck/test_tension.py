"""Tension from a note with its budget, and the note to expect."""

from __future__ import annotations

import math

import pytest
import uncertainties
from hypothesis import given
from hypothesis import strategies as st

from twoturn.errors import DomainError
from twoturn.pluck.span import Span, mass_from_weighing
from twoturn.pluck.tension import frequency_of, tension_of
from twoturn.quantity.reading import Reading

WEIGHED = Span(170.0, 0.5, 1, 8.0, 0.100, 0.001, 20.0, 0.012, name="crank:tensioner")


def test_tension_and_budget_agree_with_a_general_uncertainty_library() -> None:
    note = Reading(140.0, 0.4, "Hz")
    answer = tension_of(note, WEIGHED)
    f1 = uncertainties.ufloat(140.0, 0.4)
    length = uncertainties.ufloat(0.170, 1e-3 * math.sqrt(0.5**2 + (8 / 8) ** 2 + 1.0**2))
    mass = uncertainties.ufloat(0.100, 0.001)
    air = 1.2 * math.pi * 0.020**2 / 4 * uncertainties.ufloat(1.0, 0.2)
    bending, kappa = uncertainties.ufloat(0.012, 0.0024), uncertainties.ufloat(0.8, 0.15)
    peer = 4 * (mass + air) * length**2 * f1**2 - kappa * math.pi**2 * bending / length**2
    assert answer.tension is not None
    assert answer.budget is not None
    assert answer.tension.value == pytest.approx(peer.nominal_value, rel=1e-9)
    assert answer.tension.u == pytest.approx(peer.std_dev, rel=1e-4)
    assert [line.input.name for line in answer.budget.lines][:3] == ["first partial", "free length", "belt mass"]
    assert sum(line.share for line in answer.budget.lines) == pytest.approx(1.0)


def test_without_weighing_the_mass_decides_the_uncertainty() -> None:
    answer = tension_of(Reading(140.0, 0.4, "Hz"), Span(170.0, 0.5, 1, 8.0, width_mm=20.0))
    assert answer.tension is not None
    assert answer.budget is not None
    most = max(answer.budget.lines, key=lambda line: line.share)
    assert most.input.name == "belt mass"
    assert answer.tension.u > 0.19 * answer.tension.value
    assert any("kitchen scale" in doubt for doubt in answer.doubts)


def test_neither_mass_nor_width_says_why() -> None:
    answer = tension_of(Reading(140.0, 0.4, "Hz"), Span(170.0, pitch_mm=8.0))
    assert answer.tension is None
    assert "kitchen scale" in answer.why


def test_a_short_stiff_span_is_refused_and_a_long_one_is_not() -> None:
    # third row of the published table: EI/(T·L²) = 0.0234, beyond 0.01
    stiff = Span(80.0, 0.1, 0, None, 0.09, 0.001, bending_n_m2=0.03)
    assert tension_of(Reading(326.93, 0.1, "Hz"), stiff).tension is None
    assert "too short and stiff" in tension_of(Reading(326.93, 0.1, "Hz"), stiff).why
    slack = Span(200.0, 0.1, 0, None, 0.12, 0.001, bending_n_m2=0.02)
    assert tension_of(Reading(145.2, 0.1, "Hz"), slack).tension is not None


def test_the_second_partial_tells_the_tension_of_a_stiff_span_within_two_percent() -> None:
    # second row of the table: pinned, 189.1303 and 415.1197 Hz, 300 N; the string formula is 7 % off
    ratio = Reading(415.1197 / (2 * 189.1303), 0.002, "-")
    span = Span(150.0, 0.1, 0, None, 0.0994, 0.0001, width_mm=25.0)  # 0.1 kg/m with the air
    answer = tension_of(Reading(189.1303, 0.02, "Hz"), span, ratio)
    assert answer.tension is not None
    assert answer.tension.value == pytest.approx(300.0, rel=0.02)
    assert answer.tension.low < 300.0 < answer.tension.high


def test_note_to_expect_is_the_inverse_of_the_tension() -> None:
    force = Reading(250.0, 10.0, "N")
    note = frequency_of(force, WEIGHED)
    back = tension_of(Reading(note.value, 0.0, "Hz"), WEIGHED)
    assert back.tension is not None
    assert back.tension.value == pytest.approx(250.0, rel=1e-9)


@given(st.floats(60, 400), st.floats(60, 400), st.floats(0.04, 0.25), st.floats(5, 900))
def test_more_tension_is_a_higher_note_and_a_longer_span_a_lower_one(
    length: float, more: float, mass: float, force: float
) -> None:
    def note(span_mm: float, newtons: float) -> float:
        return frequency_of(Reading(newtons, 0.0, "N"), Span(span_mm, 0.0, 0, None, mass, 0.0, 20.0, 0.01)).value

    assert note(length, force + 5) > note(length, force)
    assert note(length + more, force) < note(length, force)


def test_impossible_spans_are_refused_with_the_value() -> None:
    for bad in ({"length_mm": 0.0}, {"length_mm": -3.0}, {"length_mm": 100.0, "toothed_ends": 3}):
        with pytest.raises(DomainError):
            Span(**bad)  # type: ignore[arg-type]
    with pytest.raises(DomainError, match="slack"):
        frequency_of(Reading(0.0, 1.0, "N"), WEIGHED)
    with pytest.raises(DomainError, match="more than 0"):
        mass_from_weighing(0.0, 1208.0)


def test_a_weighed_belt_gives_its_mass_per_metre() -> None:
    assert mass_from_weighing(120.8, 1208.0, 1.0) == pytest.approx((0.1, 1 / 1208.0))
