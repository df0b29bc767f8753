"""Real plucked strings and real knocks, where they are at hand (folder ``sounds`` of TWOTURN_RECORDINGS).

The pitches are the players' (equal temperament); the first partials are from an independent fit of
f_n = n·f1·sqrt(1 + B·n²) to eight spectral peaks, good to some 0.1 %, kept beside the recordings.
"""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from twoturn.pluck.read import read_pluck
from twoturn.recording.sound import load_sound

FITTED_HZ = (41.200, 55.060, 69.143, 49.237, 73.250, 46.447, 49.194, 61.763, 73.246, 87.626, 109.928, 130.584)
FOLDER = Path(os.environ.get("TWOTURN_RECORDINGS", "/nowhere")) / "sounds"
pytestmark = pytest.mark.skipif(
    not FOLDER.is_dir(), reason="real recordings not at hand: TWOTURN_RECORDINGS names no folder with sounds/"
)


def test_no_octave_error_on_real_strings() -> None:
    for number, fitted in enumerate(FITTED_HZ, start=1):
        result = read_pluck(load_sound(FOLDER / f"note_{number:02d}.flac"))
        if result.frequency is not None:
            assert result.frequency.value == pytest.approx(fitted, rel=0.02), number


def test_most_real_strings_are_found() -> None:
    found = [read_pluck(load_sound(FOLDER / f"note_{k:02d}.flac")).found for k in range(1, 13)]
    assert sum(found) >= 10


def test_real_knocks_are_no_plucks() -> None:
    for number in range(1, 11):
        result = read_pluck(load_sound(FOLDER / f"hit_{number:02d}.flac"))
        assert not result.found, (number, result.why)
        assert result.why
