"""Speech without a synthesiser beside: a voice that glides and breathes through five resonances, hisses, stops, pauses.

Formants: G. E. Peterson and H. L. Barney, J. Acoust. Soc. Am. 24 (1952) 175-184; scheme: D. H. Klatt, ibid. 67 (1980)
971-995, cascade branch.
"""

from __future__ import annotations

import numpy as np
from scipy.signal import lfilter
from tests.pluck.third.knocks import RATE_HZ, band

VOWELS_HZ = np.array([
    [270, 2290, 3010], [390, 1990, 2550], [530, 1840, 2480], [660, 1720, 2410], [730, 1090, 2440],
    [570, 840, 2410], [440, 1020, 2240], [300, 870, 2240], [640, 1190, 2390], [490, 1350, 1690],
])  # fmt: skip
WIDTHS_HZ = (60, 90, 130, 200, 280)


def wandering(rng: np.random.Generator, count: int, per_s: float) -> np.ndarray:
    """A slow course by chance of about unit deviation, with so many knots a second, shape (count,)."""
    knots = rng.normal(0, 1, max(int(count / RATE_HZ * per_s) + 4, 4))
    return np.interp(np.linspace(0, len(knots) - 1, count), np.arange(len(knots)), knots)


def speech(rng: np.random.Generator, count: int) -> np.ndarray:
    """Someone talks: words of one to four syllables, with pauses, shape (count,)."""
    total, place = np.zeros(count), int(rng.uniform(0, 0.5) * RATE_HZ)
    pitch_hz, size = rng.choice([rng.uniform(80, 150), rng.uniform(160, 260)]), rng.uniform(0.95, 1.2)
    while place < count:
        for _ in range(rng.integers(1, 5)):
            part = syllable(rng, pitch_hz, size)
            total[place : place + len(part)] += part[: max(count - place, 0)]
            place += int(len(part) * rng.uniform(0.75, 0.95))
        place += int(rng.choice([0.05, 0.1, 0.5]) * rng.uniform(0.5, 1.5) * RATE_HZ)
    return total


def syllable(rng: np.random.Generator, pitch_hz: float, size: float) -> np.ndarray:
    """A hiss, a stop or neither, then a vowel on its way to another; pitch [Hz] and formants over the table's [-]."""
    count = int(rng.uniform(0.09, 0.28) * RATE_HZ)
    through = np.arange(count) / count
    glide = 1 + 0.12 * rng.normal() + rng.normal(0, 0.1) * (through - 0.5) + 0.01 * wandering(rng, count, 12)
    inside = np.cumsum(pitch_hz * glide) / RATE_HZ % 1
    opening = np.where(inside < 0.6, 6.75 * (inside / 0.6) ** 2 * (1 - inside / 0.6), 0)
    source = 20 * np.diff(opening, prepend=0.0) + 0.02 * rng.normal(0, 1, count)
    source *= np.minimum(1, np.minimum(through / 0.15, (1 - through) / 0.3))
    one, other = (vowel(source, VOWELS_HZ[rng.integers(len(VOWELS_HZ))] * size) for _ in range(2))
    voiced = one + np.clip((through - 0.3) / 0.4, 0, 1) * (other - one)
    voiced /= np.abs(voiced).max() + 1e-9
    kind = rng.random()
    if kind > 0.7:
        return np.asarray(voiced)
    length = int((rng.uniform(0.05, 0.14) if kind < 0.35 else 0.02) * RATE_HZ)
    if kind < 0.35:
        before = 0.4 * band(rng, length, rng.uniform(1500, 4500), 9500) * np.hanning(length)
    else:
        before = 0.5 * band(rng, length, 500, 6000) * np.exp(-np.arange(length) / 0.004 / RATE_HZ)
    closed = np.zeros(0 if kind < 0.35 else int(0.04 * RATE_HZ))
    return np.concatenate([closed, before / (np.abs(before).max() + 1e-9) * 0.45, voiced])


def vowel(source: np.ndarray, formants_hz: np.ndarray) -> np.ndarray:
    """A source through a chain of resonances, shape as ``source``."""
    for hertz, width_hz in zip([*formants_hz, 3600, 4600], WIDTHS_HZ, strict=True):
        keep, turn = np.exp(-np.pi * width_hz / RATE_HZ), 2 * np.pi * hertz / RATE_HZ
        below = [1, -2 * keep * np.cos(turn), keep**2]
        source = lfilter([sum(below)], below, source)
    return source
