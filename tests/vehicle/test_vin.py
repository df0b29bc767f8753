"""Vehicle identification numbers as people type them: what is refused, what is only a hint."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from twoturn.vehicle.vin import VALUES, VinError, check_digit, normal_vin, read_vin, region_of

GOOD = "1M8GDM9AXKP042788"
SIGNS = "".join(VALUES)
NUMBERS = st.text(alphabet=SIGNS, min_size=17, max_size=17)


@pytest.mark.parametrize(
    "typed", ["1m8gdm9axkp042788", " 1M8 GDM9AX KP042788 ", "1M8-GDM9AX-KP042788", "*1M8GDM9AXKP042788*"]
)
def test_however_it_is_typed(typed: str) -> None:
    vin = read_vin(typed)
    assert vin.number == GOOD
    assert vin.shown == "1M8 GDM9AX KP042788"


@pytest.mark.parametrize("first", ["W", "S", "V", "Z", "Y", "J", "K", "6", "9", "A"])
def test_a_failed_check_digit_is_a_hint_elsewhere(first: str) -> None:
    right = first + GOOD[1:]
    wrong = right[:8] + ("Z" if check_digit(right) != "Z" else "0") + right[9:]
    vin = read_vin(wrong)
    assert not vin.fits
    assert vin.check_digit in vin.hint
    assert vin.region in vin.hint


@pytest.mark.parametrize("first", ["1", "2", "3", "4", "5", "L"])
def test_a_failed_check_digit_is_refused_where_it_is_mandatory(first: str) -> None:
    body = first + GOOD[1:]
    wrong = body[:8] + ("0" if check_digit(body) != "0" else "1") + body[9:]
    with pytest.raises(VinError, match="sign by sign") as caught:
        read_vin(wrong)
    assert wrong in str(caught.value)
    assert check_digit(wrong) in str(caught.value)


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("1M8GDM9AXKP04278O", "0 instead of O"),
        ("IM8GDM9AXKP042788", "1 instead of I"),
        ("QM8GDM9AXKP042788", "0 or 9 instead of Q"),
    ],
)
def test_letters_that_no_number_holds_are_named_with_what_is_meant(typed: str, said: str) -> None:
    with pytest.raises(VinError, match="I, O and Q") as caught:
        read_vin(typed)
    assert said in str(caught.value)


@pytest.mark.parametrize(
    "typed", ["", "   ", "1M8GDM9AXKP04278", GOOD + "0", "WÄ8GDM9AXKP042788", "<script>", "1M8GDM9AXKP0\x0042788"]
)
def test_what_cannot_be_one_is_one_clear_sentence(typed: str) -> None:
    with pytest.raises(VinError) as caught:
        read_vin(typed)
    assert str(caught.value).endswith(".")
    assert "allowed" in str(caught.value)


@given(NUMBERS, st.integers(0, 16), st.sampled_from(SIGNS))
def test_every_single_slip_that_changes_the_sum_is_seen(number: str, place: int, sign: str) -> None:
    """A changed sign changes the digit unless both signs count alike or their difference is a multiple of 11."""
    changed = number[:place] + sign + number[place + 1 :]
    same = (VALUES[sign] - VALUES[number[place]]) % 11 == 0 or place == 8
    assert (check_digit(changed) == check_digit(number)) is same


@given(st.text(max_size=60))
def test_anything_typed_is_a_number_or_a_sentence(typed: str) -> None:
    said, number = "", ""
    try:
        number = read_vin(typed).number
    except VinError as error:
        said = str(error)
    assert said.endswith(".") if said else (len(number) == 17 and normal_vin(typed) == number)


@pytest.mark.parametrize("sign", SIGNS)
def test_every_sign_has_a_region(sign: str) -> None:
    assert region_of(sign)
