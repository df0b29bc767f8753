"""Registrations: one key however they are typed, the shown form kept, nonsense refused in a sentence."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from twoturn.vehicle.registration import RegistrationError, read_registration, registration_key


@pytest.mark.parametrize(
    "typed", ["QX 10 DEMO", "qx10demo", "QX-10-demo", " Qx  10  Demo ", "QX·10·DEMO", "QX–10–DEMO", "ＱＸ１０ＤＥＭＯ"]
)
def test_one_key_however_it_is_typed(typed: str) -> None:
    assert read_registration(typed).key == "QX10DEMO"


@pytest.mark.parametrize(
    ("typed", "shown"),
    [
        ("qx 10 demo", "QX 10 DEMO"),
        ("ö-st 12", "Ö-ST 12"),
        ("жк 4 77", "ЖК 4 77"),
        ("ẞ-ö 1", "ẞ-Ö 1"),
        ("品川 300", "品川 300"),
    ],
)
def test_the_shown_form_keeps_blanks_and_hyphens(typed: str, shown: str) -> None:
    assert read_registration(typed).shown == shown


def test_letters_that_look_alike_find_the_same_vehicle() -> None:
    assert read_registration("АВ 123 С").key == read_registration("AB 123 C").key  # Cyrillic and Latin
    assert read_registration("ΑΒ 123").key == read_registration("AB 123").key  # Greek and Latin
    assert read_registration("Ж 1").key == "Ж1"


@pytest.mark.parametrize("typed", ["", "  ", "--", "A" * 21, "QX<10>", "QX\x0010", "QX 10;", "🚗 1", "A\u202e1"])
def test_what_no_plate_carries_is_one_sentence(typed: str) -> None:
    with pytest.raises(RegistrationError) as caught:
        read_registration(typed)
    assert str(caught.value).endswith(".")


@given(st.text(max_size=40))
def test_the_key_of_the_shown_form_is_the_key(typed: str) -> None:
    try:
        read = read_registration(typed)
    except RegistrationError:
        return
    assert registration_key(read.shown) == read.key
    assert read_registration(read.shown) == read
