"""Sounds of a workshop that go on: hum, tools, engines, wind, beeps; of unit RMS where they sound, shape (count,)."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from scipy.signal import butter, sawtooth, sosfilt, square
from tests.pluck.second.spans import RATE_HZ, resonators


def pink(rng: np.random.Generator, count: int, slope: float = 1.0) -> np.ndarray:
    """Noise whose power falls as frequency to the power ``-slope`` above 25 Hz."""
    spectrum = np.fft.rfft(rng.normal(0, 1, count))
    hertz = np.fft.rfftfreq(count, 1 / RATE_HZ)
    hertz[0] = hertz[1]
    sound = np.fft.irfft(spectrum * np.maximum(hertz, 25) ** (-slope / 2), count)
    return np.asarray(sound / np.std(sound))


def hum(rng: np.random.Generator, count: int) -> np.ndarray:
    """Mains of 50 or 60 Hz that drifts a little, with fifteen harmonics, the even ones mostly stronger."""
    mains = rng.choice([50, 60]) * (1 + rng.normal(0, 0.0004))
    drift = 1e-5 * np.cumsum(rng.normal(0, 1, count // 4800 + 2)).repeat(4800)[:count]
    phase, out = 2 * np.pi * mains * np.cumsum(1 + drift) / RATE_HZ, np.zeros(count)
    for k in range(1, 16):
        size = rng.uniform(0.2, 1) / k ** rng.uniform(0.3, 1) * (1 if k % 2 == 0 or rng.random() < 0.5 else 0.3)
        out += size * np.sin(k * phase + rng.uniform(0, 6.3))
    return np.asarray(out / np.std(out))


def compressor(rng: np.random.Generator, count: int) -> np.ndarray:
    """Strokes of a compressor, 10 to 24 a second, as puffs of noise and as harmonics."""
    turns = np.cumsum(rng.uniform(10, 24) * (1 + 0.01 * pink(rng, count, 1.5))) / RATE_HZ
    puff = np.exp(-(turns % 1) * rng.uniform(4, 10)) * (1 + 0.15 * rng.normal(0, 1))
    noise = pink(rng, count, 0.8)
    tones = [np.sin(2 * np.pi * k * turns + rng.uniform(0, 6.3)) / k**0.7 for k in range(1, 14)]
    tone = np.sum(tones, axis=0)
    out = puff * noise + 0.5 * tone / np.std(tone)
    return np.asarray(out / np.std(out))


def fan(rng: np.random.Generator, count: int) -> np.ndarray:
    """Rushing air with the note of the blades, 80 to 420 Hz."""
    phase = 2 * np.pi * np.cumsum(rng.uniform(80, 420) * (1 + 0.003 * pink(rng, count, 1.5))) / RATE_HZ
    out = pink(rng, count, 0.9) + rng.uniform(0.2, 0.8) * np.sin(phase) + 0.2 * np.sin(2 * phase)
    return np.asarray(out / np.std(out))


def ratchet(rng: np.random.Generator, count: int) -> np.ndarray:
    """An air ratchet in strokes: clicks, 25 to 70 a second, and a whine that runs up."""
    out, place = np.zeros(count), 0
    while place < count:
        n = min(int(rng.uniform(0.2, 0.8) * RATE_HZ), count - place)
        clicks = np.cumsum(rng.uniform(25, 70) * np.linspace(1, rng.uniform(0.6, 1.2), n)) / RATE_HZ
        noise = sosfilt(butter(1, [500, 6000], "band", fs=RATE_HZ, output="sos"), rng.normal(0, 1, n))
        whine = np.sin(2 * np.pi * np.cumsum(rng.uniform(300, 1500) * np.linspace(0.7, 1, n)) / RATE_HZ)
        stroke = noise / np.std(noise) * (0.3 + np.exp(-(clicks % 1) * 6)) + 0.5 * whine
        out[place : place + n] = stroke * np.minimum(1, np.arange(n) / 2000)
        place += n + int(rng.uniform(0.15, 1.0) * RATE_HZ)
    return sounding(out)


def sounding(samples: np.ndarray) -> np.ndarray:
    """Unit RMS over the samples that are not zero."""
    return np.asarray(samples / np.sqrt(np.mean(samples[samples != 0] ** 2)))


def engine(rng: np.random.Generator, count: int) -> np.ndarray:
    """A four-cylinder engine at idle: uneven firing through its resonances, and its rattle."""
    fires = rng.uniform(700, 1100) / 60 * 2
    turns = np.cumsum(fires * (1 + 0.01 * pink(rng, count, 1.8))) / RATE_HZ
    size = 1 + 0.2 * rng.normal(0, 1, 4)
    out = size[np.floor(turns).astype(int) % 4] * np.exp(-(turns % 1) * rng.uniform(3, 9))
    hertz = np.exp(rng.uniform(np.log(60), np.log(2500), 14))
    out = resonators(out - out.mean(), hertz, rng.uniform(0.004, 0.03, 14), rng.normal(0, 1, 14))
    out = out / np.std(out) + 0.25 * pink(rng, count, 0.8)
    out = out + 0.15 * np.sign(np.sin(4 * np.pi * turns)) * rng.normal(0, 1, count)
    return np.asarray(out / np.std(out))


def cranking(rng: np.random.Generator, count: int) -> np.ndarray:
    """A starter: its whine and noise, swelling with each compression."""
    turns = np.cumsum(rng.uniform(5, 8) * (1 + 0.1 * np.sin(np.arange(count) / RATE_HZ * 30))) / RATE_HZ
    swell = np.cos(2 * np.pi * turns)
    out = np.sin(2 * np.pi * turns * rng.uniform(30, 80)) * (1 + 0.5 * swell)
    out = out + pink(rng, count) * (0.6 + 0.5 * swell)
    return np.asarray(out / np.std(out))


def beeps(rng: np.random.Generator, count: int) -> np.ndarray:
    """Beeps of 80 to 300 ms, each on one of four notes."""
    out, place = np.zeros(count), int(0.3 * RATE_HZ)
    while place < count - RATE_HZ // 2:
        n = int(rng.uniform(0.08, 0.3) * RATE_HZ)
        time = np.arange(n) / RATE_HZ
        edges = np.minimum(1, np.minimum(time, time[::-1]) / 0.004)
        out[place : place + n] = sawtooth(2 * np.pi * rng.choice([440, 880, 1000, 2400]) * time, 0.5) * edges
        place += n + int(rng.uniform(0.15, 0.5) * RATE_HZ)
    return sounding(out)


def wind(rng: np.random.Generator, count: int) -> np.ndarray:
    """Wind at the microphone: deep noise in gusts."""
    out = pink(rng, count, 2.2) * (1 + 0.8 * pink(rng, count, 2.5))
    return np.asarray(out / np.std(out))


def buzz(rng: np.random.Generator, count: int) -> np.ndarray:
    """A telephone's or an inverter's buzz: narrow pulses, 90 to 230 a second, on and off."""
    time = np.arange(count) / RATE_HZ
    pulses = square(2 * np.pi * rng.uniform(90, 230) * time, 0.2)
    out = pulses * (square(2 * np.pi * rng.uniform(0.7, 2) * time) > 0)
    return np.asarray(out / np.std(out))


LASTING: dict[str, Callable[[np.random.Generator, int], np.ndarray]] = {
    "engine": engine, "ratchet": ratchet, "hum": hum, "compressor": compressor, "fan": fan, "cranking": cranking,
    "beeps": beeps, "wind": wind, "buzz": buzz,
}  # fmt: skip
