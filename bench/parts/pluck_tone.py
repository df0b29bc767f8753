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


def bound_hz(hertz: float, tau_s: float, phase: float, noise: float, count: int) -> float:
    """Least standard deviation of the frequency of e^(−t/τ)·cos(2πft + φ), with f, τ, amplitude and φ unknown [Hz]."""
    t = np.arange(count) / RATE_HZ
    decay, turn = np.exp(-t / tau_s), 2 * np.pi * hertz * t + phase
    by_hertz = -2 * np.pi * t * decay * np.sin(turn)
    by_rate = -t * decay * np.cos(turn)
    slopes = np.stack([by_hertz, by_rate, decay * np.cos(turn), decay * np.sin(turn)])
    return float(np.sqrt(np.linalg.inv(slopes @ slopes.T / noise**2)[0, 0]))


def _row(db: int, allowed: float) -> Row:
    errors, bounds, octave = [], [], 0
    for seed in range(TONES):
        rng = np.random.default_rng([74, db, seed])
        hertz, tau = _tone(rng)
        phase, noise = rng.uniform(0, 2 * np.pi), 10 ** (-db / 20) / np.sqrt(2)
        lead, count = int(LEAD_S * RATE_HZ), int(LENGTH_S * RATE_HZ)
        t = np.arange(count - lead) / RATE_HZ
        samples = noise * rng.standard_normal(count)
        samples[lead:] += np.exp(-t / tau) * np.cos(2 * np.pi * hertz * t + phase)
        result = read_pluck(as_sound(samples / (3 + 3 * noise), RATE_HZ))
        if result.frequency is None:
            continue
        error = result.frequency.value - hertz
        if abs(error) > GROSS * hertz:
            octave += 1
            continue
        errors.append(error)
        bounds.append(bound_hz(hertz, tau, phase, noise, count - lead))
    ratio = float(np.sqrt(np.mean((np.array(errors) / np.array(bounds)) ** 2))) if errors else float("nan")
    found = len(errors) + octave
    figure = f"{ratio:.2f} × bound (of the {len(errors)} on the right partial)"
    figure += f"; found {found} of {TONES}, another partial taken for the first in {octave}"
    how = f"{TONES} tones, 30 to 500 Hz, decay 15 to 200 ms, white noise at {RATE_HZ} Hz; level at the start"
    met = octave == 0 and found >= (0.95 if db else 0.0) * TONES and ratio <= allowed
    return Row(f"pluck: clean single mode, {db} dB", how, figure, f"RMS within {allowed} × bound", met)


def _tone(rng: np.random.Generator) -> tuple[float, float]:
    """A frequency [Hz] and a decay time [s], at least two and a half turns a decay time."""
    while True:
        hertz, tau = np.exp(rng.uniform(np.log([30, 0.015]), np.log([500, 0.2])))
        if np.pi * hertz * tau >= 8:
            return float(hertz), float(tau)
