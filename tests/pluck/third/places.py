"""Between the belt and the file: the room, the telephone's microphone, its gain, its gate, its full scale.

H. Kuttruff, "Room Acoustics" (2009), chapters 3 to 5: a room's modes, its critical distance, the decay above.
"""

from __future__ import annotations

from functools import cache
from math import gcd

import numpy as np
from scipy.signal import butter, istft, lfilter, oaconvolve, sosfilt, stft
from tests.pluck.third.knocks import RATE_HZ, band
from tests.pluck.third.plucks import SOUND_M_S

# sides [m], shortest and longest reverberation time [s], how often
ROOMS = {
    "garage": ((5.5, 3.2, 2.5), 0.9, 1.8, 0.4),
    "hall": ((16.0, 11.0, 5.0), 1.0, 2.2, 0.35),
    "yard": ((30.0, 20.0, 12.0), 0.2, 0.35, 0.15),
    "shed": ((4.0, 2.6, 2.2), 0.35, 0.7, 0.1),
}
OF_EACH = 12
LONGEST_S = 1.2


@cache
def room(kind: str, number: int) -> tuple[np.ndarray, float]:
    """What one of a few rooms answers after the direct sound, of unit energy, and its critical distance [m]."""
    rng = np.random.default_rng([74, list(ROOMS).index(kind), number])
    sides, shortest, longest, _ = ROOMS[kind]
    walls, tail_s = np.array(sides) * rng.uniform(0.85, 1.2, 3), rng.uniform(shortest, longest)
    count = int(min(tail_s, LONGEST_S) * RATE_HZ)
    time, answer = np.arange(count) / RATE_HZ, np.zeros(count)
    for low_hz, high_hz, share in ((180, 500, 1), (500, 1500, 0.95), (1500, 4000, 0.8), (4000, 14000, 0.5)):
        answer += band(rng, count, low_hz, high_hz) * np.exp(-6.91 * time / tail_s / share)
    answer *= np.clip(time / 0.012, 0.02, 1)
    for _ in range(rng.integers(4, 9)):
        answer[int(rng.uniform(0.001, 0.025) * RATE_HZ)] += rng.normal(0, 4)
    answer /= np.sqrt((answer**2).sum())
    return answer + low_modes(rng, walls, tail_s, time), float(0.057 * np.sqrt(np.prod(walls) / tail_s))


def low_modes(rng: np.random.Generator, walls_m: np.ndarray, tail_s: float, time_s: np.ndarray) -> np.ndarray:
    """The room's single modes of 20 to 180 Hz, at most forty, as strong together as the noise above per hertz."""
    grid = np.array([(a, b, c) for a in range(7) for b in range(6) for c in range(5) if a + b + c])
    hertz = SOUND_M_S / 2 * np.sqrt(((grid / walls_m) ** 2).sum(axis=1))
    hertz = rng.permutation(hertz[(hertz > 20) & (hertz < 180)])[:40]
    total = np.zeros(len(time_s))
    for one in hertz:
        fade = np.exp(-6.91 * time_s / tail_s / rng.uniform(0.6, 1.4))
        total += rng.normal() * fade * np.sin(2 * np.pi * one * time_s + rng.uniform(0, 6.28))
    return np.asarray(total * (0.12 / (np.sqrt((total**2).sum()) + 1e-12)))


def draw_room(rng: np.random.Generator) -> tuple[np.ndarray, float]:
    """One of the rooms."""
    kind = str(rng.choice(list(ROOMS), p=[row[3] for row in ROOMS.values()]))
    return room(kind, int(rng.integers(OF_EACH)))


def within(far: np.ndarray, answer: np.ndarray, wet: float) -> np.ndarray:
    """What comes back from the walls: ``wet`` is its amplitude over that of the sound sent out [-]."""
    return np.asarray(wet * oaconvolve(far, answer)[: len(far)])


def microphone(rng: np.random.Generator, sound: np.ndarray, corner_hz: float, order: int) -> np.ndarray:
    """High-pass, two bumps and roll-off of a telephone; bumps by R. Bristow-Johnson's cookbook of equalisers."""
    sound = sosfilt(butter(order, corner_hz, "highpass", fs=RATE_HZ, output="sos"), sound)
    for _ in range(2):
        hertz, gain, quality = rng.uniform(800, 9000), 10 ** (rng.normal(0, 4) / 40), rng.uniform(0.8, 3)
        turn = 2 * np.pi * hertz / RATE_HZ
        wide, middle = np.sin(turn) / 2 / quality, -2 * np.cos(turn)
        sound = lfilter([1 + wide * gain, middle, 1 - wide * gain], [1 + wide / gain, middle, 1 - wide / gain], sound)
    return np.asarray(sosfilt(butter(2, rng.uniform(9000, 20000), fs=RATE_HZ, output="sos"), sound))


def automatic_gain(rng: np.random.Generator, sound: np.ndarray) -> np.ndarray:
    """A sound with its gain led by its own peaks each millisecond: quick down, slow up, some ratio."""
    hop = 48
    peaks = np.abs(sound[: len(sound) // hop * hop]).reshape(-1, hop).max(axis=1)
    up, down = (np.exp(-0.001 / rng.uniform(*pair)) for pair in ((0.002, 0.02), (0.2, 1.0)))
    now, level = float(np.median(peaks)), np.empty(len(peaks))
    for i, peak in enumerate(peaks.tolist()):
        keep = up if peak > now else down
        now = keep * now + (1 - keep) * peak
        level[i] = now
    gain = np.maximum(level / level.max(), 0.003) ** (1 / rng.uniform(1.5, 5) - 1)
    return np.asarray(sound * np.interp(np.arange(len(sound)), (np.arange(len(gain)) + 0.5) * hop, gain))


def noise_suppressed(rng: np.random.Generator, sound: np.ndarray) -> np.ndarray:
    """A sound after a call's noise suppression: Wiener gain by bin, smoothed over time, with a floor."""
    spectrum = stft(sound, RATE_HZ, nperseg=960, noverlap=480)[2]
    power = np.abs(spectrum) ** 2
    floor = rng.uniform(1.5, 6) * np.quantile(power, 0.2, axis=1, keepdims=True) + 1e-14
    over = np.maximum(power / floor - 1, 0)
    for i in range(1, over.shape[1]):
        over[:, i] = np.maximum(0.35 * over[:, i], 0.25 * over[:, i - 1] + 0.5 * over[:, i])
    gain = np.maximum(over / (1 + over), 10 ** (-rng.uniform(12, 40) / 20))
    return np.asarray(istft(spectrum * gain, RATE_HZ, nperseg=960, noverlap=480)[1][: len(sound)])


def clipped(rng: np.random.Generator, sound: np.ndarray) -> np.ndarray:
    """A sound driven 2 to 14 dB beyond full scale, of five two times softly."""
    driven = sound / np.abs(sound).max() * 10 ** (rng.uniform(2, 14) / 20)
    return np.asarray(np.tanh(driven) if rng.random() < 0.4 else np.clip(driven, -1, 1))


def loudest(sound: np.ndarray) -> float:
    """RMS of the loudest 50 ms."""
    length = RATE_HZ // 20
    energy = np.concatenate([[0.0], np.cumsum(sound**2)])
    step = gcd(length, 600)
    return float(np.sqrt(np.max(energy[length::step] - energy[: len(energy) - length : step]) / length)) + 1e-12
