"""A sound that is no pluck is told by what most speaks against it; sounds are the generator's, made for each reason."""

from __future__ import annotations

import numpy as np
import pytest
from bench.sounds import as_sound
from tests.pluck.generator import damped

from twoturn.pluck.read import read_pluck


def heard(tone: np.ndarray) -> str:
    """What is said of 0.4 s of noise and then a sound in it, at 8000 samples a second."""
    sound = 1e-3 * np.random.default_rng(3).standard_normal(8000)
    sound[3200 : 3200 + len(tone)] += tone[:4800]
    return read_pluck(as_sound(sound / 4, 8000)).why


def test_a_thud_dies_away_too_soon() -> None:
    why = heard(damped(8000, 0.5, 120.0, 3.6 / np.pi / 120.0))
    assert "too soon" in why
    assert "0.40 s" in why or "0.41 s" in why


@pytest.mark.parametrize("seed", [1, 2])
def test_what_comes_nearest_is_named_with_its_time(seed: int) -> None:
    rng = np.random.default_rng(seed)
    tones = [damped(8000, 0.5, hertz, 0.02, rng.uniform(0, 6)) for hertz in (353.0, 571.0, 839.0, 1013.0)]
    why = heard(np.sum(tones, axis=0) / 4)
    assert why.startswith("nothing here rings like a plucked span")
    assert "at 0.4" in why
