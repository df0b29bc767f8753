"""Numbers as people type them."""

from __future__ import annotations

import math

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from twoturn.errors import QuantityError
from twoturn.quantity.parse import parse, parse_number
from twoturn.quantity.units import convert, find_unit, known_units

DECIMALS = st.decimals(-99999, 99999, places=2, allow_nan=False)


@given(DECIMALS, st.sampled_from([".", ","]), st.sampled_from(["", " ", "\u00a0", "\u202f"]))
def test_a_decimal_comma_never_becomes_a_factor_of_ten(number: object, mark: str, gap: str) -> None:
    text = f"{number}".replace(".", mark)
    assert parse(f"{text}{gap}mm").value == float(str(number))


@given(st.integers(1, 999), st.text("0123456789", min_size=1, max_size=8).filter(lambda digits: len(digits) != 3))
def test_comma_and_point_say_the_same(whole: int, decimals: str) -> None:
    assert parse_number(f"{whole},{decimals}") == parse_number(f"{whole}.{decimals}") == float(f"{whole}.{decimals}")


@given(st.integers(1, 999), st.integers(0, 999), st.sampled_from(".,"))
def test_three_digits_behind_one_mark_are_refused_or_settled_by_what_is_sensible(
    whole: int, rest: int, mark: str
) -> None:
    text = f"{whole}{mark}{rest:03d}"
    small, large = float(f"{whole}.{rest:03d}"), float(f"{whole}{rest:03d}")
    with pytest.raises(QuantityError, match=r"can mean .* or"):
        parse_number(text)
    assert parse_number(text, within=(0, 999.9995)) == small
    assert parse_number(text, within=(1000, 1e6)) == large


@given(st.floats(0.001, 1e9), st.integers(4, 9))
def test_grouped_numbers_are_the_number(number: float, places: int) -> None:
    written = f"{number:,.{places}f}"
    assume("," in written)
    exact = float(written.replace(",", ""))
    assert parse_number(written) == exact
    assert parse_number(written.replace(",", "x").replace(".", ",").replace("x", ".")) == exact
    assert parse_number(written.replace(",", "'")) == exact
    assert parse_number(written.replace(",", " ").replace(".", ",")) == exact


@given(st.text(max_size=20))
def test_any_text_gives_a_number_or_is_refused(text: str) -> None:
    for unit in (None, "mm", "N·m", "-"):
        try:
            typed = parse(text, unit)
        except QuantityError:
            continue
        assert math.isfinite(typed.value)
        assert any(char in "0123456789" for char in text)


@given(st.floats(allow_nan=False, allow_infinity=False).filter(lambda number: abs(number) < 1e15))
def test_python_numbers_come_back(number: float) -> None:
    text = repr(number)
    assume("e" in text or not text.partition(".")[2].isdigit() or len(text.partition(".")[2]) != 3)
    assert parse_number(text) == number


@pytest.mark.parametrize(
    ("text", "unit", "value"),
    [
        ("12,5 mm", "mm", 12.5),
        ("12.5mm", "mm", 12.5),
        ("1/2 in", "mm", 12.7),
        ('1 1/4"', "mm", 31.75),
        ("25,4 mm", "in", 1.0),
        ("25 Nm", "N·m", 25.0),
        ("25 N.m", "N·m", 25.0),
        ("25 nm", "N·m", 25.0),
        ("−3,5°", "°", -3.5),
        ("0,5 turns", "°", 180.0),
        ("90", "°", 90.0),
        ("68 °F", "°C", 20.0),
        ("20C", "°C", 20.0),
        ("293,15 K", "°C", 20.0),
        ("2 bar", "kPa", 200.0),
        ("1 h", "min", 60.0),
        ("30 s", "min", 0.5),
        ("8 1/min", "rpm", 8.0),
        ("130 g/m", "kg/m", 0.13),
        ("0,13 kg", "g", 130.0),
        ("1.234e2", "N", 123.4),
        ("12 500 km", "km", 12500.0),
    ],
)
def test_units_of_the_trade(text: str, unit: str, value: float) -> None:
    assert parse(text, unit).value == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "unit", "value", "rel"),
    [
        ("1 lbf·ft", "N·m", 1.3558179483314004, 1e-14),
        ("1 ft-lb", "N·m", 1.3558179483314004, 1e-14),
        ("1 lbf·in", "N·m", 0.1129848290276167, 1e-14),
        ("1 kgm", "N·m", 9.80665, 1e-14),
        ("1 psi", "kPa", 6.894757, 1e-7),
        ("1 mi", "km", 1.609344, 1e-14),
        ("1 lbf", "N", 4.4482216152605, 1e-14),
        ("1 oz", "g", 28.349523125, 1e-14),
        ("1 lb/ft", "kg/m", 1.48816394, 1e-8),
    ],
)
def test_conversion_factors(text: str, unit: str, value: float, rel: float) -> None:
    """NIST Special Publication 811, appendix B (exact where rel is 1e-14)."""
    assert parse(text, unit).value == pytest.approx(value, rel=rel)


@given(st.sampled_from(["torque", "length", "force", "pressure", "temperature", "mass", "time"]), st.data())
def test_there_and_back(measures: str, data: st.DataObject) -> None:
    pair = st.sampled_from(known_units(measures))
    one, other, value = data.draw(pair), data.draw(pair), data.draw(st.floats(-1e4, 1e4))
    assert convert(convert(value, one, other), other, one) == pytest.approx(value, rel=1e-9, abs=1e-6)


@pytest.mark.parametrize(
    ("text", "unit", "words"),
    [
        ("", "mm", "not one number"),
        ("mm", "mm", "not one number"),
        ("twelve", "mm", "not one number"),
        ("nan", "mm", "not one number"),
        ("inf mm", "mm", "not one number"),
        ("--5", "mm", "not one number"),
        ("1.2.3", "mm", "not one number"),
        ("1,,5", "mm", "not one number"),
        ("12,34,567", "mm", "not one number"),
        ("1.234,5.6", "mm", "not one number"),
        ("1e999", "mm", "not one number"),
        ("٣ mm", "mm", "not one number"),
        ("7/0 in", "mm", "not one number"),
        ("1/2 N·m", "N·m", "fractions of an inch"),
        ("96-108 Hz", "Hz", "'-108 Hz'"),
        ("12 ± 3 mm", "mm", "'± 3 mm'"),
        ("5 apples", "N·m", "N·m, N·cm"),
        ("5 Hz", "N·m", "is a frequency, but a torque is wanted"),
        ("5 mm", "-", "but a plain number is wanted"),
        ("5", None, "has no unit"),
        ("5 mN", "N·m", "'mN'"),
        ("x" * 500, "mm", "…' is not one number"),
        ("5 " + "x" * 500, "mm", "…' is not a unit known here"),
    ],
)
def test_what_cannot_be_understood_is_said(text: str, unit: str | None, words: str) -> None:
    with pytest.raises(QuantityError) as caught:
        parse(text, unit)
    assert words in caught.value.sentence


def test_a_value_that_cannot_be_right_is_refused_with_its_range() -> None:
    with pytest.raises(QuantityError, match=r"2500 N·m \(typed as '2500'\) cannot be right; allowed: 1 to 1000 N·m"):
        parse("2500", "N·m", within=(1, 1000))
    assert parse("1,234 in", "mm", within=(1, 100)).value == pytest.approx(31.3436)


@pytest.mark.parametrize(
    ("text", "unit", "echo"),
    [
        ("12,5 mm", "mm", "12.5 mm"),
        ("12,5", "mm", "12.5 mm (taken as mm)"),
        ("18 ft-lb", "N·m", "18 lbf·ft = 24.4047 N·m"),
        ("-3,5", "°", "−3.5° (taken as °)"),
        ("5", "-", "5"),
    ],
)
def test_the_echo_says_what_was_understood(text: str, unit: str, echo: str) -> None:
    assert parse(text, unit).echo == echo


def test_an_unknown_unit_names_the_known_ones() -> None:
    with pytest.raises(QuantityError, match=r"'furlong' is not a unit .*N·m"):
        find_unit("furlong")
    with pytest.raises(QuantityError, match="Hz measures frequency, but torque is wanted"):
        convert(1.0, "Hz", "N·m")
