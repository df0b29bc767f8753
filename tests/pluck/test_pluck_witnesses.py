"""Plucks counted once, and plucks at another note told (common practice, no source: one span, one setting)."""

from __future__ import annotations

import numpy as np
import pytest
from tests.pluck.generator import SpanTruth, ring

from twoturn.pluck.read import read_pluck
from twoturn.pluck.result import PluckResult, is_contested
from twoturn.pluck.witnesses import is_simple
from twoturn.recording.sound import Sound

RATE_HZ = 16000


def recorded(plucks: list[tuple[float, float]], seed: int = 7) -> PluckResult:
    """The reading of plucks given by time [s] and first partial [Hz]."""
    rng = np.random.default_rng(seed)
    out = 0.002 * rng.standard_normal(int((plucks[-1][0] + 0.8) * RATE_HZ))
    for time_s, hertz in plucks:
        span = SpanTruth(hertz, 0.001, 0.06)
        part = ring(span, RATE_HZ, 0.6, at=np.full(1, 0.31), glide=np.zeros(1), strength=np.ones(1))[0]
        piece = out[int(time_s * RATE_HZ) :][: len(part)]
        piece += part[: len(piece)]
    return read_pluck(Sound("test.wav", np.asarray(0.3 * out, dtype=np.float32)[None, :], RATE_HZ))


def test_plucks_at_another_note_are_counted_and_told() -> None:
    found = recorded([(0.3, 145.0), (1.1, 145.0), (1.9, 145.0), (2.7, 112.0), (3.5, 112.0)])
    assert found.frequency is not None
    assert found.frequency.value == pytest.approx(145.0, rel=0.003)
    assert [count for _, count in found.other_notes] == [2]
    assert found.other_notes[0][0] == pytest.approx(112.0, rel=0.003)
    assert found.contested
    assert any("2 more plucks ring at 112 Hz, so that none of the notes counts" in doubt for doubt in found.doubts)
    assert len(found.plucks) == 5


def test_one_stray_pluck_among_many_is_told_and_the_note_counts() -> None:
    found = recorded([(0.3 + 0.8 * k, 145.0) for k in range(4)] + [(3.6, 120.0)])
    assert [count for _, count in found.other_notes] == [1]
    assert not found.contested
    assert any(doubt.startswith("1 more pluck rings at 120 Hz: record one span") for doubt in found.doubts)


def test_a_span_plucked_while_it_is_set_has_no_note_that_counts() -> None:
    found = recorded([(0.3, 118.0), (1.1, 124.0), (1.9, 131.0), (2.7, 138.0), (3.5, 144.0)])
    assert found.contested
    assert len(found.other_notes) == 4


def test_a_pluck_that_starts_anew_within_a_tenth_of_a_second_is_one_pluck() -> None:
    found = recorded([(0.3, 139.0), (0.36, 139.0), (1.2, 139.0), (1.26, 139.0)])
    assert len(found.agreeing) == 2
    assert any("only 2 plucks heard" in doubt for doubt in found.doubts)


def test_plucks_of_one_span_know_no_other_note() -> None:
    found = recorded([(0.3 + 0.7 * k, 130.0) for k in range(4)])
    assert len(found.agreeing) == 4
    assert found.other_notes == ()


def test_half_as_many_at_other_notes_contest_one() -> None:
    assert [is_contested(others, 4) for others in range(4)] == [False, False, True, True]
    assert is_contested(1, 1)


def test_partials_of_one_span_are_no_other_note() -> None:
    assert is_simple(2.0)
    assert is_simple(0.5)
    assert is_simple(3.03)
    assert is_simple(0.67)
    assert not is_simple(1.0)
    assert not is_simple(145 / 118)
