"""Whole teeth from one shift: against simulated series, and against the sum written out plainly."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from twoturn.errors import DomainError
from twoturn.timing.priors import OTHER_CAUSE, SPROCKET_OUT, rest_sigma_deg
from twoturn.timing.whole_teeth import whole_teeth, whole_teeth_many


@pytest.mark.parametrize("crank_teeth", [18, 20, 22, 24])
@pytest.mark.parametrize("u", [0.03, 0.15, 0.5, 1.0])
def test_never_a_tooth_missed_or_invented_on_keyed_hubs(crank_teeth: int, u: float) -> None:
    rng = np.random.default_rng(crank_teeth)
    deg = 360 / crank_teeth
    true = rng.choice([-3, -2, -1, 0, 0, 0, 1, 2, 3], size=20_000)
    rest = np.clip(rng.normal(0, 1.5, true.size), -4.5, 4.5)
    shift = true * deg + rest + rng.normal(0, u, true.size)
    teeth, probability = whole_teeth_many(shift, u, deg, rest_sigma_deg("keyed"))
    sure = probability > 0.95
    assert np.all(teeth[sure] == true[sure])
    assert sure.mean() > 0.97
    if u <= 0.5:
        assert np.all(teeth == true)


def test_the_stated_probability_is_the_share_that_is_right() -> None:
    rng = np.random.default_rng(7)
    deg, sigma, u = 15.0, 6.0, 1.0
    size = 200_000
    k = np.arange(1, 13)
    p = np.concatenate([[1 - SPROCKET_OUT], SPROCKET_OUT * (6 / np.pi**2) / k**2])
    magnitude = rng.choice(np.concatenate([[0], k]), size=size, p=p / p.sum())
    true = magnitude * rng.choice([-1, 1], size=size)
    shift = true * deg + rng.normal(0, sigma, size) + rng.normal(0, u, size)
    teeth, probability = whole_teeth_many(shift, u, deg, sigma)
    for low in (0.5, 0.6, 0.7, 0.8, 0.9):
        held = (probability >= low) & (probability < low + 0.1)
        assert held.sum() > 500
        share = np.mean(teeth[held] == true[held])
        assert share == pytest.approx(probability[held].mean(), abs=0.03)


@given(st.floats(-340, 340), st.floats(0.05, 5), st.sampled_from([15.0, 16.363636, 18.0]), st.sampled_from([1.5, 6.0]))
def test_equals_the_plain_sum(shift: float, u: float, deg: float, rest: float) -> None:
    s = math.hypot(u, rest)

    def weight(n: int) -> float:
        prior = 1 - SPROCKET_OUT if n == 0 else SPROCKET_OUT / 2 / (math.pi**2 / 6) / n**2
        off = min(abs(shift - n * deg + turn) for turn in (-720, 0, 720))
        return prior * math.exp(-0.5 * (off / s) ** 2) / (s * math.sqrt(2 * math.pi))

    weights = {n: weight(n) for n in range(-math.ceil(360 / deg - 1e-4) + 1, int(360 / deg + 1e-4) + 1)}
    total = sum(weights.values()) + OTHER_CAUSE / 720
    teeth, probability = whole_teeth(shift, u, deg, rest)
    assert probability == pytest.approx(max(weights.values()) / total, rel=1e-9)
    assert weights[teeth] == max(weights.values())


@given(st.floats(-300, 300))
def test_late_and_early_are_mirror_images(shift: float) -> None:
    late, early = whole_teeth(shift, 0.5, 18.0, 1.5), whole_teeth(-shift, 0.5, 18.0, 1.5)
    assert late[1] == pytest.approx(early[1], rel=1e-9)
    assert late[0] == -early[0] or late[1] < 0.6


def test_a_shift_between_teeth_is_not_called_a_tooth() -> None:
    assert whole_teeth(8.2, 0.3, 16.4, 1.5)[1] < 0.5


def test_bad_input_is_refused() -> None:
    with pytest.raises(DomainError, match="0° a tooth"):
        whole_teeth(1.0, 0.1, 0.0, 1.5)
