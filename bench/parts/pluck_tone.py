"""A clean single mode in white noise against the exact Cramér–Rao bound of the damped tone."""

from __future__ import annotations

import numpy as np

from bench.sounds import GROSS, as_sound
from bench.table import Row
from twoturn.pluck.read import read_pluck

RATE_HZ = 8000
TONES = 100
LEAD_S, LENGTH_S = 0.4, 1.4


def measure() -> list[Row]:
    """One row a level of noise."""
    return [_row(db, 1.2 if db else 1.5) for db in (40, 30, 20, 10, 0)]


def bounds_hz(hertz: float, tau_s: float, phase: float, noise: float, count: int) -> tuple[float, float]:
    """Least standard deviation of the frequency f of e^(−t/τ)·cos(2πf(t + glide) + φ) [Hz].

    First with f, τ, amplitude and φ unknown; then with an unknown glide f·(1 + g·e^(−2t/τ)) too.
    """
    t = np.arange(count) / RATE_HZ
    decay, turn = np.exp(-t / tau_s), 2 * np.pi * hertz * t + phase
    by_hertz = -2 * np.pi * t * decay * np.sin(turn)
    by_rate = -t * decay * np.cos(turn)
    by_glide = -np.pi * hertz * tau_s * (1 - np.exp(-2 * t / tau_s)) * decay * np.sin(turn)
    slopes = np.stack([by_hertz, by_rate, decay * np.cos(turn), decay * np.sin(turn), by_glide])
    plain, gliding = (np.linalg.inv(rows @ rows.T / noise**2)[0, 0] for rows in (slopes[:4], slopes))
    return float(np.sqrt(plain)), float(np.sqrt(gliding))


def _row(db: int, allowed: float) -> Row:
    ratios: list[tuple[float, float]] = []
    other = inside = 0
    for seed in range(TONES):
        rng = np.random.default_rng([74, db, seed])
        hertz, tau = _tone(rng)
        phase, noise = rng.uniform(0, 2 * np.pi), 10 ** (-db / 20) / np.sqrt(2)
        lead, count = int(LEAD_S * RATE_HZ), int(LENGTH_S * RATE_HZ)
        t = np.arange(count - lead) / RATE_HZ
        samples = noise * rng.standard_normal(count)
        samples[lead:] += np.exp(-t / tau) * np.cos(2 * np.pi * hertz * t + phase)
        found = read_pluck(as_sound(samples / (3 + 3 * noise), RATE_HZ)).frequency
        if found is None:
            continue
        error = found.value - hertz
        if abs(error) > GROSS * hertz:
            other += 1
            continue
        inside += abs(error) <= found.expanded
        plain, gliding = bounds_hz(hertz, tau, phase, noise, count - lead)
        ratios.append((error / plain, error / gliding))
    heard = len(ratios) + other
    figure = f"found {heard} of {TONES}, another partial taken for the first in {other}"
    how = f"{TONES} tones, 30 to 500 Hz, decay 15 to 200 ms, white noise at {RATE_HZ} Hz; level at the start"
    rms = float("inf")
    if ratios:
        rms, gliding = np.sqrt(np.mean(np.square(ratios), axis=0))
        middle = 1.4826 * np.median(np.abs(ratios), axis=0)[0]
        figure = (
            f"{rms:.2f} × bound ({middle:.2f} by the median; {gliding:.2f} × the bound of a tone that may glide); "
            f"{figure}; interval holds {100 * inside / len(ratios):.0f} %"
        )
    met = bool(other == 0 and heard >= 0.95 * TONES and rms <= allowed)
    return Row(f"pluck: clean single mode, {db} dB", how, figure, f"RMS within {allowed} × bound", met)


def _tone(rng: np.random.Generator) -> tuple[float, float]:
    """A frequency [Hz] and a decay time [s], at least two and a half turns a decay time."""
    while True:
        hertz, tau = np.exp(rng.uniform(np.log([30, 0.015]), np.log([500, 0.2])))
        if np.pi * hertz * tau >= 8:
            return float(hertz), float(tau)
