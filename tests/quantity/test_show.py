"""Readings as people read them."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from twoturn.quantity.reading import Reading
from twoturn.quantity.show import decimal_place, plus_minus, show


def within(value: float, half: float, unit: str) -> Reading:
    return Reading(value, half / 2, unit, interval=(value - half, value + half))


@pytest.mark.parametrize(
    ("reading", "text"),
    [
        (within(101.23, 1.84, "Hz"), "101.2 ± 1.8 Hz"),
        (within(101.23, 0.0996, "Hz"), "101.2 ± 0.1 Hz"),
        (within(8.27, 0.44, "°"), "8.3 ± 0.4°"),
        (within(-8.27, 0.44, "°"), "−8.3 ± 0.4°"),
        (within(-0.004, 1.2, "°"), "0.0 ± 1.2°"),
        (within(12345.0, 231.0, "N"), "12340 ± 230 N"),
        (within(19.4, 1.0, "%"), "19 ± 1%"),
        (within(0.5, 0.1, "-"), "0.5 ± 0.1"),
        (Reading(141.0, 0.0, "-"), "141"),
        (Reading(25.0, 0.0, "N·m"), "25 N·m"),
        (Reading(9.525, 0.0, "mm"), "9.525 mm"),
        (Reading(150.0, 112.0, "Hz", interval=(0.0, 367.0)), "150 Hz, from 0 to 370 Hz"),
    ],
)
def test_no_more_digits_than_the_uncertainty_supports(reading: Reading, text: str) -> None:
    assert show(reading) == text


def test_how_often_it_holds() -> None:
    assert show(within(101.23, 1.84, "Hz"), confidence=True) == "101.2 ± 1.8 Hz (19 of 20 times)"


@given(st.floats(-1e6, 1e6), st.floats(1e-6, 1e5))
def test_what_is_printed_is_rounded_at_the_place_of_u(value: float, half: float) -> None:
    text = show(within(value, half, "mm")).replace("−", "-")
    shown, plus = re.fullmatch(r"(\S+) ± (\S+) mm", text).groups()  # type: ignore[union-attr]
    digits = plus.replace(".", "").lstrip("0").rstrip("0")
    assert len(digits) == 1 or (len(digits) == 2 and digits[0] in "12")
    assert float(plus) == pytest.approx(half, rel=0.17)  # 0.35 as 0.4, 3.5 as 4
    step = float(plus) / int(digits)
    assert abs(float(shown) - value) <= 0.5001 * step + 1e-9


@given(st.floats(1e-7, 1e7))
def test_the_place_gives_two_digits_of_a_coarse_number_else_one(half: float) -> None:
    place = decimal_place(half)
    assert 0.999 <= round(half, place) * 10.0**place <= 29.001


@given(st.floats(-1e6, 1e6), st.floats(1e-6, 1e5))
def test_a_printed_value_is_right_within_half_of_its_uncertainty(value: float, half: float) -> None:
    shown = plus_minus(value, half, "-").replace("−", "-").split(" ± ")
    assert abs(float(shown[0]) - value) <= 0.5 * half + 1e-9
    assert float(shown[1]) == pytest.approx(half, rel=0.17)


def test_a_sheet_prints_a_reading_and_its_picture_with_the_same_digits() -> None:
    assert plus_minus(12345.0, 231.0, "N") == show(within(12345.0, 231.0, "N"))
    assert plus_minus(25.0, 0.0, "N·m") == "25 N·m"
    assert plus_minus(8.2, 0.1, "° crank") == "8.2 ± 0.1° crank"
