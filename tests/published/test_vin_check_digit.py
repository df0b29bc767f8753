"""The check digit of vehicle identification numbers.

Sources: 49 CFR 565 (sample number with its products), the outline of the US traffic authority for new manufacturers
(sample number with its products and its remainder .545 = 6/11).
"""

from __future__ import annotations

import pytest

from twoturn.vehicle.vin import VALUES, WEIGHTS, check_digit, read_vin

SAMPLES = [
    ("1G4AH59H45G118341", [8, 49, 24, 5, 32, 15, 18, 80, 0, 45, 56, 7, 6, 40, 12, 12, 2], 411, "4"),
    ("1J9RP1A36A1644345", [8, 7, 54, 45, 28, 3, 2, 30, 0, 9, 8, 42, 24, 20, 12, 12, 10], 314, "6"),
]


@pytest.mark.parametrize(("number", "products", "total", "digit"), SAMPLES)
def test_printed_products_and_sums(number: str, products: list[int], total: int, digit: str) -> None:
    ours = [VALUES[sign] * weight for sign, weight in zip(number, WEIGHTS, strict=True)]
    assert ours == products
    assert sum(ours) == total
    assert total % 11 == int(digit)
    assert check_digit(number) == digit


def test_the_printed_remainder_as_a_decimal_fraction() -> None:
    assert round(314 / 11 % 1, 3) == 0.545
    assert check_digit("1J9RP1A36A1644345") == "6"


def test_the_printed_letters_and_their_values() -> None:
    printed = [
        "A1",
        "B2",
        "C3",
        "D4",
        "E5",
        "F6",
        "G7",
        "H8",
        "J1",
        "K2",
        "L3",
        "M4",
        "N5",
        "P7",
        "R9",
        "S2",
        "T3",
        "U4",
        "V5",
        "W6",
        "X7",
        "Y8",
        "Z9",
    ]
    assert {sign: value for sign, value in VALUES.items() if sign.isalpha()} == {
        item[0]: int(item[1]) for item in printed
    }


def test_samples_are_read_without_a_hint_where_the_digit_fits() -> None:
    vin = read_vin("1J9RP1A36A1644345")
    assert (vin.fits, vin.hint, vin.region) == (True, "", "North America")
