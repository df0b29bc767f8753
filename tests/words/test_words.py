"""The words of pages and sheets: common practice of the trade, no source."""

from __future__ import annotations

from typing import get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st

from twoturn.drive.model.belts import Role
from twoturn.drive.model.file import DriveFile
from twoturn.drive.model.work import Quantity, State
from twoturn.words import numbers, terms
from twoturn.words.cautions import CAUTIONS, caution


def test_every_key_of_a_drive_file_has_words() -> None:
    assert set(get_args(Role)) == set(terms.ROLES)
    assert set(get_args(Quantity)) == set(terms.QUANTITIES)
    assert set(get_args(State)) == set(terms.STATES)
    schema = str(DriveFile.model_json_schema())
    assert all(kind in schema for kind in terms.TENSIONER_KINDS)


@given(st.floats(-360, 360))
def test_a_pointer_never_shows_a_sign(pointer: float) -> None:
    words = numbers.pointer_words(pointer)
    assert not set(words) & set("+-−")
    assert ("past" in words) == (round(pointer, 1) > 0)
    assert ("short of" in words) == (round(pointer, 1) < 0)


def test_pointer_and_window_words() -> None:
    assert numbers.pointer_words(-3.25, decimals=0) == "3° short of the notch"
    assert numbers.pointer_words(1.5, "mm") == "1.5 mm past the notch"
    assert numbers.window_words(-6, 6) == "within 6° of the notch, either side"
    assert numbers.window_words(-2, 8) == "from 2° short of the notch to 8° past the notch"


def test_phase_and_teeth_words() -> None:
    assert numbers.phase_words(8.18) == "8.2° crank late"
    assert numbers.phase_words(-0.04) == "on time"
    assert numbers.teeth_words(-2) == "two teeth early"
    assert numbers.teeth_words(1) == "one tooth late"
    assert numbers.turns_words(2) == "two turns"


def test_numbers_with_their_units_and_limits() -> None:
    assert numbers.with_unit(8.2, "° crank") == "8.2° crank"
    assert numbers.with_unit(20, "°C") == "20 °C"  # SI brochure, 5.4.3: a space, as before any unit symbol
    assert numbers.range_words(96, 108, "Hz") == "96–108 Hz"
    assert numbers.range_words(None, 0.05, "mm") == "at most 0.05 mm"
    assert numbers.range_words(-6, 6, "°") == "−6 to 6°"


def test_cautions_are_sentences_and_oil_reverses_some() -> None:
    for item in CAUTIONS.values():
        assert item.text.endswith(".")
        assert len(item.text) < 200
    assert "No oil" in caution("no-oil")
    assert "No oil" not in caution("no-oil", in_oil=True)
    assert caution("never-backwards", in_oil=True) == caution("never-backwards")


def test_an_unknown_caution_names_the_nearest() -> None:
    with pytest.raises(KeyError, match="never-backwards"):
        caution("never-backward")


def test_the_other_way() -> None:
    assert terms.other_way("clockwise") == "counter-clockwise"
    assert terms.way_of_sense(-1) == "counter-clockwise"
    with pytest.raises(ValueError, match="'left' is no way"):
        terms.other_way("left")


@pytest.mark.parametrize(
    ("probability", "text"), [(0.874, "87 %"), (0.99, "99 %"), (0.9901, "more than 99 %"), (1.0, "more than 99 %")]
)
def test_nothing_read_is_certain(probability: float, text: str) -> None:
    assert numbers.sure_words(probability) == text
