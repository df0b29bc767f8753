"""Sounds of a workshop that happen once: knocks on parts of five kinds, and claps."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from scipy.signal import butter, sosfilt
from tests.pluck.second.spans import RATE_HZ

KNOCKED = ("metal", "sheet", "plastic", "thump", "spanner")


def modes_of(rng: np.random.Generator, kind: str) -> tuple[np.ndarray, np.ndarray]:
    """Frequencies [Hz] and decay times [s] of what is knocked."""
    if kind == "metal":
        hertz = np.exp(rng.uniform(np.log(500), np.log(9000), rng.integers(5, 16)))
        return hertz, rng.uniform(0.004, 0.12) * (hertz / 1500) ** -0.5
    if kind == "sheet":
        hertz = rng.uniform(60, 160) * np.cumsum(1 + np.abs(rng.normal(0.25, 0.35, 14))) ** 0.9
        return hertz, rng.uniform(0.02, 0.12) * (hertz / hertz[0]) ** -0.6
    if kind == "plastic":
        hertz = rng.uniform(110, 350) * np.array([1, 1.61, 2.33, 2.9, 3.72, 4.4]) * np.exp(rng.normal(0, 0.06, 6))
        return hertz, rng.uniform(0.008, 0.03) * (hertz / hertz[0]) ** -0.7
    if kind == "thump":
        hertz = rng.uniform(40, 110) * np.array([1, 1.7, 2.9])
        return hertz, rng.uniform(1, 5) / np.pi / hertz
    hertz = rng.uniform(700, 1600) * np.array([1, 2.76, 5.4, 8.93])  # a free bar: a spanner that falls
    return hertz, rng.uniform(0.05, 0.3) * np.array([1, 0.6, 0.4, 0.3])


def knock(rng: np.random.Generator, kind: str) -> np.ndarray:
    """One knock of unit peak, 0.6 s long."""
    time = np.arange(int(0.6 * RATE_HZ)) / RATE_HZ
    hertz, tau_s = modes_of(rng, kind)
    size = rng.normal(0, 1, len(hertz)) * (hertz / hertz[0]) ** (0 if kind == "metal" else -0.4)
    rows = zip(size, hertz, tau_s, strict=True)
    parts = [a * np.exp(-time / tau) * np.sin(2 * np.pi * f * time + rng.uniform(0, 6.3)) for a, f, tau in rows]
    sound = np.sum(parts, axis=0) * np.minimum(1, time / rng.uniform(0.0002, 0.001))
    noise = rng.normal(0, 1, len(time)) * np.exp(-time / rng.uniform(0.0015, 0.006))
    sound = sound / np.max(np.abs(sound)) + rng.uniform(0.1, 0.8) * noise / 3
    return np.asarray(sound / np.max(np.abs(sound)))


def knocks(
    rng: np.random.Generator,
    count: int,
    kinds: Sequence[str],
    blows: int,
    avoid_s: Sequence[float] = (),
    gap_s: float = 0.12,
) -> np.ndarray:
    """Blows on parts of these kinds at any time, but none within ``gap_s`` of the times to avoid [s]."""
    out, done = np.zeros(count), 0
    for _ in range(400):
        if done == blows:
            break
        place = int(rng.integers(int(0.1 * RATE_HZ), count - int(0.2 * RATE_HZ)))
        if any(abs(place / RATE_HZ - time) < gap_s for time in avoid_s):
            continue
        put(out, knock(rng, str(rng.choice(kinds))) * np.exp(rng.normal(0, 0.5)), place)
        done += 1
    return out


def put(out: np.ndarray, part: np.ndarray, place: int) -> None:
    """Add a sound from a sample on, cut at the end."""
    length = min(len(part), len(out) - place)
    out[place : place + length] += part[:length]


def same_again(rng: np.random.Generator, count: int, kind: str) -> np.ndarray:
    """The same object struck again and again, every 0.3 to 0.8 s, just alike but for its strength."""
    out, again, time = np.zeros(count), int(rng.integers(1 << 30)), 0.4
    while time < count / RATE_HZ - 0.7:
        put(out, knock(np.random.default_rng(again), kind) * np.exp(rng.normal(0, 0.3)), int(time * RATE_HZ))
        time += rng.uniform(0.3, 0.8)
    return out


def claps(rng: np.random.Generator, count: int, number: int) -> np.ndarray:
    """Claps of unit peak: noise within a band that dies within 4 to 20 ms."""
    out, length = np.zeros(count), int(0.15 * RATE_HZ)
    for _ in range(number):
        place = int(rng.integers(int(0.1 * RATE_HZ), count - int(0.3 * RATE_HZ)))
        noise = rng.normal(0, 1, length) * np.exp(-np.arange(length) / RATE_HZ / rng.uniform(0.004, 0.02))
        band = [rng.uniform(300, 900), rng.uniform(2000, 5000)]
        put(out, sosfilt(butter(2, band, "band", fs=RATE_HZ, output="sos"), noise), place)
    return np.asarray(out / np.max(np.abs(out)))
