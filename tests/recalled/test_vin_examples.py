"""Vehicle identification numbers that are widely used as examples; recalled, no source at hand."""

from __future__ import annotations

import pytest

from twoturn.vehicle.vin import read_vin, region_of


@pytest.mark.parametrize(
    ("number", "digit"), [("1M8GDM9AXKP042788", "X"), ("11111111111111111", "1"), ("5GZCZ43D13S812715", "1")]
)
def test_check_digit(number: str, digit: str) -> None:
    vin = read_vin(number)
    assert vin.check_digit == digit
    assert vin.fits


@pytest.mark.parametrize(
    ("first", "region"),
    [("1", "North America"), ("3", "North America"), ("5", "North America"), ("L", "China"), ("J", "Asia"),
     ("W", "Europe"), ("S", "Europe"), ("Z", "Europe"), ("A", "Africa"), ("6", "Oceania"), ("9", "South America")],
)  # fmt: skip
def test_region_by_the_first_sign(first: str, region: str) -> None:
    """ISO 3780."""
    assert region_of(first) == region
