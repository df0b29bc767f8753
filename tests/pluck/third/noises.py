"""A workshop's lasting sounds: the room itself, mains, compressor, air tool, engine, beeps, a telephone in a hand."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from tests.pluck.third.belts import ring
from tests.pluck.third.knocks import RATE_HZ, any_blows, band, ratchet
from tests.pluck.third.voices import speech, wandering


def room_tone(rng: np.random.Generator, count: int) -> np.ndarray:
    """A quiet room: noise that falls with frequency, of unit RMS, shape (count,)."""
    spectrum = np.fft.rfft(rng.normal(0, 1, count))
    hertz = np.maximum(np.fft.rfftfreq(count, 1 / RATE_HZ), 25)
    sound = np.fft.irfft(spectrum / hertz ** rng.uniform(0.4, 1), count)
    return np.asarray(sound / sound.std())


def harmonics(rng: np.random.Generator, turns: np.ndarray, sizes: np.ndarray) -> np.ndarray:
    """Harmonics of a phase [turns] with sizes of their own and phases by chance, from one period in a table."""
    table = np.zeros(8193)
    at = np.arange(8193) / 8192
    for k, size in enumerate(sizes, start=1):
        table += size * np.sin(2 * np.pi * (k * at + rng.uniform()))
    return np.asarray(np.interp(turns % 1, at, table))


def hum(rng: np.random.Generator, count: int) -> np.ndarray:
    """Mains of 50 or 60 Hz with up to forty harmonics, odd ones weaker or not, shape (count,)."""
    mains = rng.choice([50, 60]) * (1 + rng.normal(0, 4e-4))
    turns = np.cumsum(mains * (1 + 1e-4 * wandering(rng, count, 1))) / RATE_HZ
    odd, slope, k = rng.uniform(0.05, 1), rng.uniform(0.4, 1.3), np.arange(1, int(rng.integers(6, 41)))
    sizes = k**-slope * np.exp(0.6 * rng.normal(0, 1, len(k))) * np.where(k % 2 == 1, odd, 1)
    return harmonics(rng, turns, sizes)


def compressor(rng: np.random.Generator, count: int) -> np.ndarray:
    """A piston compressor: two beats a turn on its housing, the motor's harmonics, air, shape (count,)."""
    turns = np.cumsum(rng.uniform(11, 26) * (1 + 0.01 * wandering(rng, count, 3))) / RATE_HZ
    beat, at = np.zeros(count), np.flatnonzero(np.diff(np.floor(2 * turns)) > 0)
    beat[at] = 1 + 0.25 * rng.normal(0, 1, len(at))
    modes = [(rng.uniform(60, 1200), rng.uniform(0.004, 0.02), rng.uniform(0.3, 1)) for _ in range(6)]
    housing = ring(beat, RATE_HZ, modes)
    air = band(rng, count, 300, 5000) * (1 + 0.8 * np.sin(4 * np.pi * turns))
    motor = rng.uniform(0.2, 1) * harmonics(rng, turns, 1 / np.arange(1, 14))
    return np.asarray(housing / housing.std() + motor + rng.uniform(0.1, 0.5) * air / air.std())


def air_tool(rng: np.random.Generator, count: int) -> np.ndarray:
    """An impact wrench in bursts: blows on metal, whine of its vanes, hiss, shape (count,)."""
    gate, place = np.zeros(count), int(rng.uniform(0, 0.4) * RATE_HZ)
    while place < count:
        length = int(rng.uniform(0.3, 1.6) * RATE_HZ)
        gate[place : place + length] = np.minimum(1, np.arange(min(length, count - place)) / 1200)
        place += length + int(rng.uniform(0.2, 1.2) * RATE_HZ)
    turns = np.cumsum(rng.uniform(17, 45) * (0.7 + 0.3 * gate)) / RATE_HZ
    struck, at = np.zeros(count), np.flatnonzero(np.diff(np.floor(turns)) > 0)
    struck[at] = rng.uniform(0.6, 1.3, len(at))
    modes = [(rng.uniform(500, 6000), rng.uniform(0.004, 0.03), rng.uniform(0.3, 1)) for _ in range(8)]
    metal, hiss = ring(struck, RATE_HZ, modes), band(rng, count, 900, 11000)
    vanes = 0.3 * np.sign(np.sin(2 * np.pi * turns * rng.integers(9, 20)))
    return np.asarray(gate * (rng.uniform(0.3, 1, 2) @ [metal / metal.std(), hiss / hiss.std()] + vanes))


def engine(rng: np.random.Generator, count: int) -> np.ndarray:
    """An engine of three to six cylinders at idle through its exhaust, cylinders unlike, shape (count,)."""
    cylinders, speed = int(rng.choice([3, 4, 4, 4, 6])), rng.uniform(650, 1300) / 60
    turns = np.cumsum(speed * cylinders / 2 * (1 + 0.012 * wandering(rng, count, 4))) / RATE_HZ
    fired, at, size = np.zeros(count), np.flatnonzero(np.diff(np.floor(turns)) > 0), rng.uniform(0.7, 1.3, cylinders)
    fired[at] = size[np.arange(len(at)) % cylinders] * (1 + 0.1 * rng.normal(0, 1, len(at)))
    modes = [(rng.uniform(35, 400), rng.uniform(0.006, 0.03), rng.uniform(0.3, 1)) for _ in range(5)]
    modes += [(rng.uniform(500, 3000), rng.uniform(0.002, 0.006), rng.uniform(0.05, 0.3)) for _ in range(4)]
    sound, rush = ring(fired, RATE_HZ, modes), band(rng, count, 100, 2500) * (1.2 + np.cos(2 * np.pi * turns))
    return np.asarray(sound / sound.std() + rng.uniform(0.1, 0.6) * rush / rush.std())


def handling(rng: np.random.Generator, count: int) -> np.ndarray:
    """A telephone moved in a hand: thumps, rubbing and small clicks, shape (count,)."""
    total, clicks = np.zeros(count), np.zeros(count)
    for _ in range(rng.integers(2, 9)):
        first, length = int(rng.integers(0, count)), int(rng.uniform(0.03, 0.5) * RATE_HZ)
        rub = band(rng, length, 30, float(10 ** rng.uniform(2.2, 3.5))) * np.hanning(length) * rng.uniform(1, 3)
        total[first : first + length] += rub[: count - first]
    clicks[rng.integers(0, count, int(rng.integers(1, 6)))] = rng.uniform(0.2, 1)
    return np.asarray(total + ring(clicks, RATE_HZ, [(rng.uniform(300, 3000), 0.003, 1)]))


def beeps(rng: np.random.Generator, count: int) -> np.ndarray:
    """A reversing aid or a reading device that beeps, shape (count,)."""
    hertz, on, off = rng.uniform(350, 3500), rng.uniform(0.05, 0.5), rng.uniform(0.05, 0.6)
    time = np.arange(count) / RATE_HZ
    within = time % (on + off)
    edges = np.clip(np.minimum(within, on - within) / 0.003, 0, 1)
    return np.asarray(harmonics(rng, hertz * time, rng.uniform(0, 1, 3) / np.arange(1, 4)) * edges)


LASTING: dict[str, Callable[[np.random.Generator, int], np.ndarray]] = {
    "hum": hum, "compressor": compressor, "air tool": air_tool, "engine": engine, "speech": speech,
    "handling": handling, "beeps": beeps, "ratchet": ratchet, "knocks": any_blows,
}  # fmt: skip
"""What may sound beside plucks, and some of it alone."""
STEADY = ("hum", "compressor", "engine")
