"""Plucks behind a room: the filter against the dense Gaussian likelihood, and the gain over plain least squares."""

from __future__ import annotations

import numpy as np
import pytest
from tests.pluck.generator import damped, room

from twoturn.pluck.bands import Ring, tones_cost
from twoturn.pluck.joint import sturdy_first, together
from twoturn.pluck.modes import Modes, refine_each
from twoturn.pluck.ready import settled
from twoturn.pluck.room import Lanes, passes
from twoturn.pluck.sums import stretches

RATE_HZ = 2900.0


def ring_of(seed: int, hertz: float, tau_s: float, ratio_db: float | None) -> tuple[Ring, float]:
    """One damped tone in noise 40 dB under it, behind a room or not, and its frequency by least squares [Hz]."""
    rng = np.random.default_rng([31, seed])
    tone = damped(4 * 2900, 0.6, hertz, tau_s, rng.uniform(0, 6.28))
    sound = tone if ratio_db is None else room(rng, tone, 4 * 2900, 0.6, ratio_db)
    noisy = sound[::4] / 0.007 + rng.standard_normal(len(sound[::4]))
    late = 9
    piece = noisy[late : late + int(max(0.12, 5 * tau_s) * RATE_HZ)]
    start = Modes(np.array([2 * np.pi * hertz / RATE_HZ]), np.array([1 / tau_s / RATE_HZ]), np.ones(1), np.zeros(1))
    modes = refine_each([start], stretches([piece]), RATE_HZ, 8)[0]
    ring = Ring(piece, RATE_HZ, late, modes, np.array([1]), 0.0, float(2 * modes.decay[0]))
    return ring, float(modes.hertz(RATE_HZ)[0])


def test_the_filters_cost_is_that_of_the_dense_gaussian() -> None:
    rng = np.random.default_rng(8)
    steps, step, rate = 12, 25, -0.004 + 0.011j
    values = rng.standard_normal((1, steps)) + 1j * rng.standard_normal((1, steps))
    noise, driven = rng.uniform(0.1, 0.4, (1, steps)), rng.uniform(0.0, 0.3, (1, steps))
    lanes = Lanes(values, noise, np.ones((1, steps)), driven, np.array([float(step)]), np.zeros((1, steps)))
    factor = np.exp(rate * step)
    passing = np.array([[factor ** (i - j) if i >= j else 0.0 for j in range(steps)] for i in range(steps)])
    entering = np.diag(np.concatenate([noise[0, :1], driven[0, 1:]]))
    covariance = (passing @ entering @ passing.conj().T + np.diag(noise[0]))[1:, 1:]
    away = (values[0] - values[0, 0] * passing[:, 0])[1:]
    dense = np.linalg.slogdet(covariance)[1] + (away.conj() @ np.linalg.solve(covariance, away)).real
    assert passes(lanes, np.array([rate])).cost[0] == pytest.approx(dense, rel=1e-12)


def test_slopes_of_the_filter_are_those_of_its_innovations() -> None:
    rng = np.random.default_rng(9)
    values = np.cumsum(rng.standard_normal((1, 10)) + 1j * rng.standard_normal((1, 10)), axis=1)
    flat = np.full((1, 10), 0.2)
    lanes = Lanes(values, flat, np.ones((1, 10)), flat, np.array([20.0]), np.zeros((1, 10)))
    rate, small = np.array([-0.003 + 0.002j]), 1e-6
    up, down = (passes(lanes, rate + sign * 1j * small).cost[0] for sign in (1, -1))
    # the decay stays, so the gains stay: the slope by frequency is exact
    assert -2 * passes(lanes, rate).by_rate[0].imag == pytest.approx((up - down) / (2 * small), rel=1e-5)


@pytest.mark.parametrize(("hertz", "tau_s", "gain"), [(100.0, 0.032, 1.0), (100.0, 0.127, 1.6)])
def test_a_note_behind_a_room_is_no_farther_than_by_least_squares(hertz: float, tau_s: float, gain: float) -> None:
    error, plain, expected = [], [], []
    for seed in range(30):
        ring, found = ring_of(seed, hertz, tau_s, 5.0)
        joint = together([ring], found, 0.001)
        assert joint is not None
        error.append(joint.f1_hz / hertz - 1)
        plain.append(found / hertz - 1)
        expected.append(joint.relative_u)
    assert np.sqrt(np.mean(np.square(plain))) > gain * np.sqrt(np.mean(np.square(error)))
    assert 0.5 < np.sqrt(np.mean(np.square(np.array(error) / expected))) < 1.5


def test_without_a_room_none_is_heard() -> None:
    for seed in range(5):
        ring, found = ring_of(seed, 100.0, 0.064, None)
        joint = together([ring], found, 0.001)
        assert joint is not None
        assert joint.dry > 0.7
        assert joint.f1_hz == pytest.approx(100.0, rel=2e-3)


def test_a_clean_tone_read_with_a_room_in_mind_is_near_the_bound() -> None:
    # Cramér-Rao bound of frequency with decay, amplitude and phase unknown: Slepian and Bangs, as in S. M. Kay,
    # Fundamentals of statistical signal processing I (1993), sec. 3.9. 460 Hz is no whole number of samples a turn.
    hertz, tau_s, ratios = 460.0, 0.03, []
    for seed in range(30):
        ring, found = ring_of(seed, hertz, tau_s, None)
        t = (np.arange(len(ring.samples)) + ring.late) / RATE_HZ
        fade, turn = np.exp(-t / tau_s) / 0.007, 2 * np.pi * hertz * t
        by_phase = fade * np.sin(turn)
        slopes = np.stack([2 * np.pi * t * by_phase, by_phase, fade * np.cos(turn), t * fade * np.cos(turn)])
        joint = together([ring], found, 0.0)
        assert joint is not None
        ratios.append((joint.f1_hz - hertz) / np.sqrt(np.linalg.inv(slopes @ slopes.T)[0, 0]))
    assert np.sqrt(np.mean(np.square(ratios))) < 1.6


def test_more_and_stronger_tones_must_gain_more_to_be_believed() -> None:
    ring, _ = ring_of(1, 100.0, 0.06, None)
    two = Modes(*(np.repeat(part, 2) for part in (ring.modes.omega, ring.modes.decay, ring.modes.a, ring.modes.b)))
    both = Ring(ring.samples, RATE_HZ, ring.late, two, np.zeros(2, dtype=int), 0.0, 0.01)
    energy = float(ring.modes.energy(len(ring.samples))[0])
    assert tones_cost(both, np.array([True, False])) == pytest.approx(
        2 * np.log(energy)
    )  # four numbers: half of ln E each
    assert tones_cost(both, np.array([True, True])) == pytest.approx(4 * np.log(energy))
    assert tones_cost(both, np.array([False, False])) == 0


def test_a_partial_that_is_another_sound_does_not_pull_the_first() -> None:
    number = np.array([1, 2, 3])
    clean = np.array([100.0, 200.2, 300.6])
    strayed = np.array([100.0, 200.2, 309.0])
    variance = np.array([0.002, 0.001, 0.001]) ** 2
    right, wrong = (sturdy_first(number, hertz, variance)[0] for hertz in (clean, strayed))
    assert abs(wrong / right - 1) < 1.5e-3


def test_what_the_tones_do_not_describe_yet_is_left_out() -> None:
    rng = np.random.default_rng(4)
    tone = np.concatenate([np.zeros(12), 50 * damped(2900, 0.3, 120.0, 0.06)]) + rng.standard_normal(12 + 870)
    start = Modes(np.array([2 * np.pi * 120 / RATE_HZ]), np.array([1 / 0.06 / RATE_HZ]), np.ones(1), np.zeros(1))
    modes = refine_each([start], stretches([tone]), RATE_HZ, 8)[0]
    late, piece = settled([modes], [tone], RATE_HZ)[0]
    assert len(tone) - len(piece) >= 12
    assert late.hertz(RATE_HZ)[0] == pytest.approx(120.0, rel=5e-4)


@pytest.mark.filterwarnings("error")
def test_a_tone_hardly_over_the_noise_gives_a_number_or_none() -> None:
    for seed in range(40):
        rng = np.random.default_rng([32, seed])
        hertz = float(rng.uniform(30, 60))
        ring, _ = ring_of(seed, hertz, 0.04, 0.0)
        faint = Ring(rng.standard_normal(len(ring.samples)) + 0.004 * ring.samples, *list(vars(ring).values())[1:])
        joint = together([faint], hertz, 0.001)
        assert joint is None or (abs(joint.f1_hz / hertz - 1) < 0.1 and 0 < joint.relative_u < 0.1)
