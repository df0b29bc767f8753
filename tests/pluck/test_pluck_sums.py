"""Sums over damped tones in closed form against sums over samples, and the fit by them against a general optimiser."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import least_squares

from twoturn.pluck.fitting import refine_all
from twoturn.pluck.glide import UNREST_SHARE, unrest
from twoturn.pluck.lines import polish, quiet_blocks, sinusoids
from twoturn.pluck.many import side_by_side
from twoturn.pluck.modes import Modes
from twoturn.pluck.sums import moments, one_by_one, products, series, stretches

RATE_HZ = 2900.0
COUNTS = (31, 350, 1740)
RATES = np.array([1e-9j, -0.1 + 0.02j, -3e-6 + 0.5j, -1e-3 + 0.5001j, 2.9j, 0.02j, -2e-5 + 0.0201j])
"""Steady, nearly steady, fast dying tones and two close neighbours: where closed forms lose digits."""


def table(count: int) -> np.ndarray:
    """Every tone sample by sample, shape (count, k)."""
    return np.exp(RATES * np.arange(count)[:, None])


@pytest.mark.parametrize("count", COUNTS)
def test_sums_of_products_are_those_over_the_samples(count: int) -> None:
    t, waves = np.arange(count), table(count)
    for m, found in enumerate(series(RATES[None], np.array([count]), 2)):
        for side, first in enumerate((waves, waves.conj())):
            direct = (first * (t**m)[:, None]).T @ waves
            largest = float(np.sum(t**m))
            assert np.abs(found[0, side] - direct).max() < 1e-10 * largest
    both = np.hstack([waves.real, waves.imag])
    assert products(series(RATES[None], np.array([count]), 0)[0])[0] == pytest.approx(both.T @ both, abs=1e-9 * count)


def test_sums_with_a_sound_are_those_over_the_samples() -> None:
    rng = np.random.default_rng(11)
    pieces = [rng.standard_normal(count) for count in COUNTS]
    plain, later = moments(stretches(pieces), np.tile(RATES, (len(COUNTS), 1)))
    for row, piece in enumerate(pieces):
        waves, t = table(len(piece)), np.arange(len(piece))
        assert plain[row] == pytest.approx(piece @ waves, rel=1e-9, abs=1e-9)
        assert later[row] == pytest.approx((piece * t) @ waves, rel=1e-9, abs=1e-7)


def test_tones_sound_and_weigh_what_their_samples_do() -> None:
    modes = Modes(RATES.imag, -RATES.real, np.linspace(-1, 1, 7), np.linspace(2, -1, 7))
    t = np.arange(501)[:, None]
    turned = np.exp(-modes.decay * t) * np.exp(1j * modes.omega * t)
    waves = turned.real * modes.a + turned.imag * modes.b
    assert modes.sound(501) == pytest.approx(waves.sum(axis=1), abs=1e-10)
    assert modes.energy(501) == pytest.approx(np.sum(waves**2, axis=0), rel=1e-9)


def test_fits_of_many_stretches_are_those_of_a_general_optimiser() -> None:
    """The optimiser is ``scipy.optimize.least_squares`` on all four numbers of each tone, stretch by stretch."""
    rng = np.random.default_rng(12)
    pieces, starts, best = [], [], []
    for count, k in ((400, 1), (900, 3), (1500, 2)):
        t = np.arange(count)[:, None]
        true = np.concatenate([rng.uniform(0.002, 0.02, k), np.linspace(0.3, 1.5, k) + rng.uniform(0, 0.2, k)])
        weights = rng.uniform(10, 30, 2 * k)

        def left(number: np.ndarray, t: np.ndarray = t, k: int = k) -> np.ndarray:
            decay, omega, a, b = number.reshape(4, k)
            return np.asarray((np.exp(-decay * t) * (a * np.cos(omega * t) + b * np.sin(omega * t))).sum(axis=1))

        piece = left(np.concatenate([true, weights])) + rng.standard_normal(count)
        near = np.concatenate([true, weights])
        found = least_squares(lambda x, piece=piece, left=left: left(x) - piece, near, xtol=1e-14, ftol=1e-14)
        start = 1j * (true[k:] + 2e-4) - 1.2 * true[:k]
        pieces, starts, best = [*pieces, piece], [*starts, start], [*best, found]
    rate = np.full((3, 3), -1 + 1j)
    heard = np.zeros((3, 3), dtype=np.bool_)
    for row, start in enumerate(starts):
        rate[row, : len(start)], heard[row, : len(start)] = start, True
    fits = refine_all(stretches(pieces), rate, heard, RATE_HZ, 20)
    for row, found in enumerate(best):
        decay, omega, a, b = found.x.reshape(4, -1)
        k = len(decay)
        assert fits.cost[row] == pytest.approx(2 * found.cost, rel=1e-4)
        assert fits.rate[row, :k].imag == pytest.approx(omega, abs=2e-6)
        assert -fits.rate[row, :k].real == pytest.approx(decay, abs=2e-6)
        assert fits.weight[row, :k] == pytest.approx(a - 1j * b, rel=2e-3)


def test_sums_of_each_tone_by_itself_are_those_over_the_samples() -> None:
    for count in COUNTS:
        t, waves = np.arange(count), table(count)
        for m, (plain, level) in enumerate(one_by_one(RATES, count, 2)):
            scale = float(np.sum(t**m))
            assert np.abs(plain - (t**m) @ waves**2).max() < 1e-10 * scale
            assert np.abs(level - (t**m) @ np.abs(waves) ** 2).max() < 1e-10 * scale


def test_unrest_is_that_of_halves_fitted_sample_by_sample() -> None:
    """Each half's step by ``numpy.linalg.lstsq`` on the tone's own three columns."""
    rng = np.random.default_rng(13)
    modes = Modes(np.array([0.3, 0.8]), np.array([0.004, 0.0]), np.array([30.0, 4.0]), np.array([-9.0, 7.0]))
    rest = rng.standard_normal(701) + 0.3 * np.cos(0.302 * np.arange(701))
    tones = side_by_side([modes])
    found = unrest(tones, tones.heard, stretches([rest]), np.ones((1, 2)))[0]
    t = np.arange(len(rest))
    for place in range(2):
        turn = np.exp(tones.rate[0, place] * t)
        basis = np.stack([turn.real, turn.imag, -t * (tones.weight[0, place] * turn).imag], axis=1)
        power = np.cumsum(np.abs(turn) ** 2)
        cut = int(np.searchsorted(power, 0.5 * power[-1]))
        steps = [np.linalg.lstsq(basis[part], rest[part])[0][2] for part in (slice(cut), slice(cut, None))]
        own = [np.linalg.inv(basis[part].T @ basis[part])[2, 2] for part in (slice(cut), slice(cut, None))]
        expected = max(0.0, (steps[0] - steps[1]) ** 2 - 2 * sum(own)) * UNREST_SHARE**2
        assert found[place] == pytest.approx(expected, rel=1e-6)


def test_steady_lines_are_polished_and_fitted_as_on_the_samples() -> None:
    """One step and the amplitudes by ``numpy.linalg.lstsq`` on the quiet samples."""
    rng = np.random.default_rng(14)
    t, hertz = np.arange(6000) / RATE_HZ, np.array([50.02, 148.0, 612.3])
    sound = rng.standard_normal(6000) + 3 * np.cos(2 * np.pi * np.outer(t, [50.0, 148.1, 612.3]) + 1).sum(axis=1)
    sound[2000:2600] += 40 * rng.standard_normal(600)
    quiet = quiet_blocks(sound, RATE_HZ)
    assert quiet is not None
    chosen = np.flatnonzero(np.repeat(quiet.low, quiet.block))
    assert not set(range(2000, 2600)) & set(chosen)
    phase = 2 * np.pi * np.outer(t, hertz)
    basis = np.hstack([np.cos(phase), np.sin(phase)])
    a, b = np.linalg.lstsq(basis[chosen], sound[chosen])[0].reshape(2, 3)
    assert sinusoids(quiet, hertz, 6000) == pytest.approx(basis @ np.concatenate([a, b]), abs=1e-6)
    slope = 2 * np.pi * (t - t[chosen].mean())[:, None] * (b * np.cos(phase) - a * np.sin(phase))
    step = np.linalg.lstsq(np.hstack([basis, slope])[chosen], sound[chosen])[0][6:]
    assert polish(quiet, hertz) == pytest.approx(hertz + step, abs=1e-7)
