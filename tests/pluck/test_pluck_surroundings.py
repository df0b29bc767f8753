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


@pytest.mark.parametrize("quality", [2.0, 3.0, 4.0])
def test_a_thud_that_dies_within_two_turns_is_no_pluck(quality: float) -> None:
    rng = np.random.default_rng(5)
    out = 0.003 * rng.standard_normal(2 * RATE_HZ)
    out[8000:16000] += damped(RATE_HZ, 0.5, 80.0, quality / np.pi / 80.0, 1.0)
    assert not read(0.3 * out).found


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_a_hard_room_widens_the_range_and_the_range_holds(seed: int) -> None:
    rng = np.random.default_rng(seed)
    span = SpanTruth(120.0, 0.001, 0.05)
    parts = ring(span, RATE_HZ, 0.6, at=np.full(3, 0.31), glide=np.zeros(3), strength=np.ones(3))
    out = 0.003 * rng.standard_normal(3 * RATE_HZ)
    for time_s, part in zip((0.3, 1.1, 1.9), parts, strict=True):
        out[int(time_s * RATE_HZ) :][: len(part)] += part
    dry, wet = read(0.3 * out), read(0.2 * room(rng, out, RATE_HZ, 0.6, 3.0))
    assert dry.frequency is not None
    assert wet.frequency is not None
    assert wet.frequency.expanded > 2 * dry.frequency.expanded
    assert abs(wet.frequency.value - span.f1_hz) < 1.5 * wet.frequency.expanded
    assert not any("rings along" in doubt for doubt in dry.doubts)
