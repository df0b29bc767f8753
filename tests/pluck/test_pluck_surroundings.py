"""What is no span and what rings along with one: thuds, and rooms that widen the stated range."""

from __future__ import annotations

import numpy as np
import pytest
from tests.pluck.generator import SpanTruth, damped, ring, room

from twoturn.pluck.read import read_pluck
from twoturn.pluck.result import PluckResult
from twoturn.recording.sound import Sound

RATE_HZ = 16000


def read(samples: np.ndarray) -> PluckResult:
    """The reading of a recording in memory."""
    return read_pluck(Sound("test.wav", np.asarray(samples, dtype=np.float32)[None, :], RATE_HZ))


@pytest.mark.parametrize("quality", [2.0, 3.0])  # π·f·τ; the shortest decay of a span, 15 ms, makes 4 of 80 Hz
def test_a_thud_that_dies_within_two_turns_is_no_pluck(quality: float) -> None:
    rng = np.random.default_rng(5)
    out = 0.003 * rng.standard_normal(2 * RATE_HZ)
    out[8000:16000] += damped(RATE_HZ, 0.5, 80.0, quality / np.pi / 80.0, 1.0)
    assert not read(0.3 * out).found


def test_a_hard_room_widens_the_range_and_the_range_holds() -> None:
    heard = [in_a_hard_room(seed) for seed in range(1, 9)]
    assert sum(wet.frequency is not None for _, wet in heard) >= 5
    for dry, wet in heard:
        assert dry.frequency is not None
        assert not any("rings along" in doubt for doubt in dry.doubts)
        if wet.frequency is not None:
            assert wet.frequency.expanded > 2 * dry.frequency.expanded
            assert abs(wet.frequency.value - 120.0) < 1.5 * wet.frequency.expanded


def in_a_hard_room(seed: int) -> tuple[PluckResult, PluckResult]:
    """Readings of three plucks at 120 Hz without a room and in a hard one."""
    rng = np.random.default_rng(seed)
    span = SpanTruth(120.0, 0.001, 0.05)
    parts = ring(span, RATE_HZ, 0.6, at=np.full(3, 0.31), glide=np.zeros(3), strength=np.ones(3))
    out = 0.003 * rng.standard_normal(3 * RATE_HZ)
    for time_s, part in zip((0.3, 1.1, 1.9), parts, strict=True):
        out[int(time_s * RATE_HZ) :][: len(part)] += part
    return read(0.3 * out), read(0.2 * room(rng, out, RATE_HZ, 0.6, 3.0))
