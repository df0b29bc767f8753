"""Wheels of a few teeth and a strong swing of speed: another wheel is never read in silence.

Which wheels are made: common practice, no source.
"""

from __future__ import annotations

import importlib
import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))
cranking = importlib.import_module("cranking")
reading = importlib.import_module("reading")

from twoturn.capture.decode import decode  # noqa: E402
from twoturn.capture.wheel.shape import Wheel  # noqa: E402


@pytest.mark.parametrize("seed", [1011, 1031, 1071, 1098, 1117])
def test_angles_are_given_of_the_right_wheel_alone(seed: int) -> None:
    made = cranking.drawn("coarse", seed)
    decoded = decode(reading.capture_of(made.names, made.rows))
    wheel = decoded.crank.wheel if decoded.crank else None
    right = wheel is not None and (wheel.places, wheel.teeth) == (made.bench.places, len(made.bench.teeth))
    assert right or (not decoded.cams and decoded.why)


def test_wheels_that_are_made_and_wheels_that_are_not() -> None:
    made = [(1,) * 57 + (3,), (1,) * 10 + (2,), (1, 1, 2), (1,) * 16 + (2,) + (1,) * 15 + (3,), (1, 2, *(3,) * 11)]
    assert all(Wheel(wheel).usual for wheel in made)
    strange = [(1,) * 7 + (2,), (1,) * 15 + (2,), (1, 1, 2, 1, 2, 1, 1, 1, 2, 1, 2), (1, 2, *(3,) * 10)]
    assert not any(Wheel(wheel).usual for wheel in strange)
