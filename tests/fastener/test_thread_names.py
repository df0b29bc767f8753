"""Designations of threads and strength classes as people write them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from twoturn.errors import DomainError, QuantityError, TwoTurnError
from twoturn.fastener.sizes import COARSE_PITCH_MM, FINE_PITCHES_MM, HOLE_MM, WASHER_FACE_MM
from twoturn.fastener.strength import find_grade
from twoturn.fastener.thread import Thread, parse_thread

KNOWN = [(d, p) for d, p in COARSE_PITCH_MM.items()] + [(d, p) for d, many in FINE_PITCHES_MM.items() for p in many]


@pytest.mark.parametrize(
    ("text", "designation"),
    [
        ("M8", "M8"),
        ("m8", "M8"),
        ("M 8", "M8"),
        ("M8x1.25", "M8"),
        ("M8 x 1.250", "M8"),
        ("M10x1.25", "M10x1.25"),
        ("M10×1,25", "M10x1.25"),
        ("M10X1.25 mm", "M10x1.25"),
        ("M10-6g", "M10"),
        ("M12x1.5-6g LH", "M12x1.5-LH"),
        ("M3,5", "M3.5"),
    ],
)
def test_ways_to_write_a_thread(text: str, designation: str) -> None:
    assert parse_thread(text).designation == designation


@given(st.sampled_from(KNOWN), st.booleans())
def test_designations_come_back(size: tuple[float, float], left_hand: bool) -> None:
    thread = Thread(*size, left_hand)
    assert parse_thread(thread.designation) == thread


@given(st.sampled_from(KNOWN))
def test_diameters_lie_in_order(size: tuple[float, float]) -> None:
    thread = Thread(*size)
    inner = (thread.root_diameter_mm, thread.minor_diameter_mm, thread.pitch_diameter_mm, thread.diameter_mm)
    assert list(inner) == sorted(inner)
    assert thread.root_area_mm2 < thread.stress_area_mm2


def test_heads_are_wider_than_holes_and_holes_than_threads() -> None:
    assert WASHER_FACE_MM.keys() == HOLE_MM.keys()
    assert all(diameter < HOLE_MM[diameter] < WASHER_FACE_MM[diameter] for diameter in HOLE_MM)


def test_fine_pitches_are_finer_than_coarse_ones() -> None:
    assert all(max(FINE_PITCHES_MM[d]) < COARSE_PITCH_MM[d] for d in FINE_PITCHES_MM if d in COARSE_PITCH_MM)


@pytest.mark.parametrize(
    ("text", "error", "words"),
    [
        ("M13", DomainError, "M12 and M14 are the nearest"),
        ("M100", DomainError, "M38 and M39 are the nearest"),
        ("M1", DomainError, "M3 and M3.5 are the nearest"),
        ("M15", DomainError, "M15x1.5, M15x1; write the pitch too"),
        ("M8x1.3", DomainError, "M8x1.25, M8x1, M8x0.75"),
        ("M8x30", DomainError, "if 30 is the bolt's length, write M8 alone"),
        ("M8x1.25x30", QuantityError, "write the thread alone: M8x1.25"),
        ("1/4-20 UNC", QuantityError, "not a metric thread"),
        ("", QuantityError, "M8 or M10x1.25"),
        ("M", QuantityError, "not a metric thread"),
        ("M8x", QuantityError, "not a metric thread"),
    ],
)
def test_threads_that_are_not_known(text: str, error: type[TwoTurnError], words: str) -> None:
    with pytest.raises(error) as caught:
        parse_thread(text)
    assert words in caught.value.sentence


@given(st.text(max_size=16))
def test_any_text_is_a_thread_or_refused(text: str) -> None:
    for designation in (text, f"M{text}", f"M8x{text}"):
        try:
            thread = parse_thread(designation)
        except TwoTurnError:
            continue
        assert thread.stress_area_mm2 > 0


@pytest.mark.parametrize("text", ["8.8", "8,8", " 8.8 ", "class 8.8"])
def test_ways_to_write_a_class(text: str) -> None:
    assert find_grade(text, 8).name == "8.8"


@pytest.mark.parametrize("text", ["A2-70", "a2-70", "A2 70"])
def test_stainless_classes(text: str) -> None:
    assert find_grade(text, 8).yield_mpa == 450


@pytest.mark.parametrize(
    ("text", "diameter_mm", "words"),
    [
        ("8.7", 8.0, "8.8 and 9.8 are the nearest"),
        ("11.9", 8.0, "10.9 and 12.9 are the nearest"),
        ("14.9", 8.0, "10.9 and 12.9 are the nearest"),
        ("10", 8.0, "class of a nut; a bolt that goes with it is 10.9"),
        ("steel", 8.0, "4.6, 4.8"),
        ("", 8.0, "8.8"),
        ("9.8", 20.0, "ends at M16"),
    ],
)
def test_classes_that_are_not_known(text: str, diameter_mm: float, words: str) -> None:
    with pytest.raises(DomainError) as caught:
        find_grade(text, diameter_mm)
    assert words in caught.value.sentence
