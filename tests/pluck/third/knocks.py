"""What is struck: bars, plates, sheets, wood, plastic, skins, hands, feet, as the modes of the body and a contact.

N. H. Fletcher and T. D. Rossing, "The Physics of Musical Instruments" (1998), chapters 2 and 3 (bars, skins, plates).
"""

from __future__ import annotations

import numpy as np
from scipy.signal import butter, sosfilt
from scipy.special import jn_zeros
from tests.pluck.third.belts import ring

RATE_HZ = 48_000
Modes = list[tuple[float, float, float]]
STRUCK = ("metal", "sheet", "bonnet", "wood", "plastic", "drum", "step")


def band(rng: np.random.Generator, count: int, low_hz: float, high_hz: float) -> np.ndarray:
    """Noise between two frequencies, shape (count,)."""
    form = butter(2, [low_hz, high_hz], "bandpass", fs=RATE_HZ, output="sos")
    return np.asarray(sosfilt(form, rng.normal(0, 1, count)))


def bar(rng: np.random.Generator, base_hz: float, quality: float) -> Modes:
    """Modes of a free bar: as the squares of 3.011, 5, 7, 9, 11."""
    ratios = (np.array([3.0112, 5, 7, 9, 11]) / 3.0112) ** 2
    return [(base_hz * k, quality / np.pi / base_hz / k**0.8, abs(rng.normal()) + 0.1) for k in ratios]


def plate(rng: np.random.Generator, base_hz: float, quality: float) -> Modes:
    """Modes of a held oblong plate, as m² + n²·r, struck anywhere."""
    r, x, y, modes = rng.uniform(0.3, 1), rng.uniform(0.1, 0.9), rng.uniform(0.1, 0.9), []
    for m in range(1, 8):
        for n in range(1, 8):
            hertz = base_hz * (m**2 + n**2 * r) / (1 + r) * (1 + 0.02 * rng.normal())
            weight = float(np.sin(m * np.pi * x) * np.sin(n * np.pi * y))
            modes.append((hertz, quality / np.pi / hertz**0.7 / base_hz**0.3, weight))
    return modes


def membrane(rng: np.random.Generator, base_hz: float, quality: float) -> Modes:
    """Modes of a round skin: as the zeros of Bessel's functions."""
    modes = []
    for order in range(5):
        for ratio in jn_zeros(order, 3) / 2.4048:
            tau_s = quality / np.pi / base_hz / ratio * (1 if order else 0.6)
            modes.append((base_hz * ratio, tau_s, abs(rng.normal()) / ratio**0.5))
    return modes


def body(rng: np.random.Generator, kind: str) -> tuple[Modes, float]:
    """Modes of what is struck and the length of the contact [s]."""
    u = rng.uniform
    if kind == "metal":
        return bar(rng, u(500, 3500), u(60, 400)), u(0.0002, 0.0008)
    if kind == "sheet":
        return plate(rng, u(35, 180), u(12, 60)), u(0.0005, 0.004)
    if kind == "bonnet":
        return plate(rng, u(30, 110), u(6, 20)), u(0.004, 0.015)
    if kind == "wood":
        return plate(rng, u(90, 500), u(10, 35)), u(0.0005, 0.003)
    if kind == "plastic":
        return plate(rng, u(120, 700), u(5, 14)), u(0.0006, 0.003)
    if kind == "drum":
        return membrane(rng, u(60, 260), u(8, 35)), u(0.001, 0.006)
    return [*plate(rng, u(30, 90), u(2, 5)), (u(150, 600), 0.006, 0.5)], u(0.006, 0.02)


def blow(rng: np.random.Generator, kind: str, count: int, modes: Modes) -> np.ndarray:
    """One blow, of three one that bounces, with a little of the contact's own noise, shape (count,)."""
    length, force = max(int(body(rng, kind)[1] * RATE_HZ), 3), np.zeros(count)
    force[:length] = np.hanning(length + 2)[1:-1]
    if rng.random() < 0.3:
        again = int(rng.uniform(0.01, 0.06) * RATE_HZ)
        force[again : again + length] += rng.uniform(0.1, 0.5) * np.hanning(length + 2)[1:-1]
    sound = ring(force, RATE_HZ, modes)
    hiss = rng.normal(0, 1, count) * np.exp(-np.arange(count) / RATE_HZ / rng.uniform(0.001, 0.006))
    return np.asarray(sound / (np.abs(sound).max() + 1e-12) + rng.uniform(0.005, 0.08) * hiss)


def unlike(rng: np.random.Generator, modes: Modes, spread: float) -> Modes:
    """The same body struck elsewhere: other weights."""
    return [(hertz, tau_s, weight * np.exp(spread * rng.normal())) for hertz, tau_s, weight in modes]


def blows(rng: np.random.Generator, count: int, kind: str) -> np.ndarray:
    """One to eight blows on one body, shape (count,)."""
    total, (modes, _), now = np.zeros(count), body(rng, kind), rng.uniform(0.1, 0.5)
    for _ in range(rng.integers(1, 9)):
        first = int(now * RATE_HZ)
        if first >= count - 4800:
            break
        length = min(int(0.8 * RATE_HZ), count - first)
        total[first : first + length] += blow(rng, kind, length, unlike(rng, modes, 0.4)) * rng.uniform(0.3, 1)
        now += rng.uniform(0.2, 1.1)
    return total


def any_blows(rng: np.random.Generator, count: int) -> np.ndarray:
    """Blows on metal, sheet, wood or plastic, shape (count,)."""
    return blows(rng, count, str(rng.choice(["metal", "sheet", "wood", "plastic"])))


def dropped(rng: np.random.Generator, count: int) -> np.ndarray:
    """A dropped spanner: blows of a bar, faster and weaker, and the thud of the floor, shape (count,)."""
    total, now, gap, size = np.zeros(count), rng.uniform(0.2, 0.8), rng.uniform(0.12, 0.35), 1.0
    modes = bar(rng, rng.uniform(600, 2800), rng.uniform(100, 500)) + bar(rng, rng.uniform(1500, 4000), 200)
    floor, length = body(rng, "step")[0], int(0.5 * RATE_HZ)
    while gap > 0.02 and now < count / RATE_HZ - 0.2:
        part = blow(rng, "metal", length, unlike(rng, modes, 0.8))
        part = size * (part + rng.uniform(0, 0.5) * blow(rng, "step", length, floor))
        first = int(now * RATE_HZ)
        total[first : first + length] += part[: count - first]
        now, gap, size = now + gap, gap * rng.uniform(0.55, 0.8), size * rng.uniform(0.5, 0.85)
    return total


def claps(rng: np.random.Generator, count: int) -> np.ndarray:
    """Claps of two hands: bursts of noise about the note of their hollow, shape (count,)."""
    total, now, hollow_hz = np.zeros(count), rng.uniform(0.1, 0.5), rng.uniform(500, 1800)
    length = int(0.12 * RATE_HZ)
    while now < count / RATE_HZ - 0.3:
        first, fade = int(now * RATE_HZ), np.exp(-np.arange(length) / RATE_HZ / rng.uniform(0.004, 0.012))
        total[first : first + length] += (
            rng.uniform(0.5, 1) * fade * band(rng, length, 0.6 * hollow_hz, 2.2 * hollow_hz)
        )
        now += rng.uniform(0.15, 0.8)
    return total


def slam(rng: np.random.Generator, count: int) -> np.ndarray:
    """A door or lid shut: its latch, then the boom of sheet and of the air behind it, shape (count,)."""
    total, first, length = np.zeros(count), int(rng.uniform(0.3, 0.9) * RATE_HZ), int(0.5 * RATE_HZ)
    boom = [(rng.uniform(35, 130), rng.uniform(0.02, 0.09), rng.uniform(0.3, 1)) for _ in range(5)]
    total[first : first + length] += 0.3 * blow(rng, "metal", length, body(rng, "metal")[0])
    first += int(rng.uniform(0.01, 0.05) * RATE_HZ)
    total[first : first + length] += blow(rng, "bonnet", length, boom)[: count - first]
    return total


def ratchet(rng: np.random.Generator, count: int) -> np.ndarray:
    """A ratchet handle: strokes of 15 to 70 clicks a second, its head ringing, shape (count,)."""
    force, now = np.zeros(count), rng.uniform(0.1, 0.5)
    while now < count / RATE_HZ - 0.1:
        rate, stroke_s = rng.uniform(15, 70), rng.uniform(0.2, 0.7)
        at = (now + (np.arange(int(rate * stroke_s)) + 0.03 * rng.normal(0, 1, int(rate * stroke_s))) / rate) * RATE_HZ
        at = at.astype(int)
        force[at[(at >= 0) & (at < count)]] = rng.uniform(0.6, 1)
        now += stroke_s + rng.uniform(0.1, 0.5)
    modes = [(rng.uniform(700, 7000), rng.uniform(0.001, 0.008), rng.uniform(0.3, 1)) for _ in range(7)]
    return ring(force, RATE_HZ, [*modes, (rng.uniform(100, 500), rng.uniform(0.003, 0.015), rng.uniform(0.02, 0.2))])
