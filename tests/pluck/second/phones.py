"""What a telephone does to a sound: microphone path, automatic gain, noise suppression, and its file formats."""

from __future__ import annotations

import tempfile
from math import gcd
from pathlib import Path

import numpy as np
from scipy.signal import butter, istft, lfilter, resample_poly, sosfilt, stft
from tests.pluck.second.fast import followed
from tests.pluck.second.spans import RATE_HZ
from tests.recording.sounds import encode, wav_bytes

from twoturn.recording.sound import load_sound

FRAME = 960
# ending: weight, container, coding, rates [Hz], bit rates [bit/s]
FORMATS = {
    "wav": (0.36, "wav", "pcm_s16le", (16000, 44100, 48000), ()),
    "m4a": (0.20, "ipod", "aac", (16000, 44100, 48000), (32000, 64000, 128000)),
    "mp3": (0.10, "mp3", "libmp3lame", (16000, 44100, 48000), (48000, 64000, 128000)),
    "ogg": (0.08, "ogg", "libopus", (48000,), (16000, 24000, 48000)),
    "webm": (0.04, "webm", "libopus", (48000,), (32000,)),
    "amr": (0.07, "amr", "libopencore_amrnb", (8000,), (7400, 12200)),
    "3gp": (0.03, "3gp", "libopencore_amrnb", (8000,), (12200,)),
    "flac": (0.06, "flac", "flac", (16000, 44100, 48000), ()),
    "aac": (0.03, "adts", "aac", (16000, 44100, 48000), (64000,)),
    "mp4": (0.03, "mp4", "aac", (16000, 44100, 48000), (96000,)),
}


def microphone(rng: np.random.Generator, sound: np.ndarray, corner_hz: float, order: int) -> np.ndarray:
    """High-pass and two resonances of a telephone's microphone path."""
    sound = sosfilt(butter(order, corner_hz, "high", fs=RATE_HZ, output="sos"), sound)
    for _ in range(2):
        hertz, quality, gain = rng.uniform(800, 7000), rng.uniform(0.7, 2), 10 ** (rng.uniform(-5, 5) / 40)
        turn = 2 * np.pi * hertz / RATE_HZ
        wide = np.sin(turn) / (2 * quality)
        above = np.array([1 + wide * gain, -2 * np.cos(turn), 1 - wide * gain])
        sound = lfilter(above, np.array([1 + wide / gain, -2 * np.cos(turn), 1 - wide / gain]), sound)
    return np.asarray(sound)


def fading(seconds: float) -> float:
    """Factor a sample of an exponential decay [-]."""
    return float(np.exp(-1 / (seconds * RATE_HZ)))


def automatic_gain(rng: np.random.Generator, sound: np.ndarray, target: float = 0.12) -> np.ndarray:
    """A sound of peak 1 with its gain led by its own level, towards ``target`` of full scale [-]."""
    level = followed(sound, fading(rng.uniform(0.003, 0.02)), fading(rng.uniform(0.15, 0.8)))
    gain = target / np.maximum(level, target * 10 ** (-rng.uniform(15, 30) / 20))
    return np.asarray(sound * gain ** rng.uniform(0.6, 0.95))


def suppressed(rng: np.random.Generator, sound: np.ndarray, hard: bool) -> np.ndarray:
    """Noise suppression by a short-time spectrum over an estimate of the floor; ``hard``: a gate that closes wholly."""
    lap = FRAME * 3 // 4
    spectrum = stft(sound, RATE_HZ, nperseg=FRAME, noverlap=lap)[2]
    power = np.abs(spectrum) ** 2
    floor = np.percentile(power, 35, axis=1, keepdims=True) * 2
    power = lfilter([0.4], [1, -0.6], power, axis=1)
    least = 10 ** (-(45 if hard else 15) / 20)
    gain = np.clip(1 - rng.uniform(1.5, 3) * floor / np.maximum(power, 1e-20), least, 1)
    out = istft(spectrum * (gain if hard else np.sqrt(gain)), RATE_HZ, nperseg=FRAME, noverlap=lap)[1][: len(sound)]
    if hard:
        level = followed(sound, fading(0.004), fading(0.05))
        gate = (level > 4 * np.percentile(level, 30)).astype(float)
        out = out * lfilter([1 - fading(0.006)], [1, -fading(0.006)], gate)[: len(out)]
    return np.asarray(out)


def draw_format(rng: np.random.Generator) -> tuple[str, int, int | None]:
    """Ending of a file's name, sampling rate [Hz] and bit rate [bit/s], None where the coding has none."""
    weights = np.array([row[0] for row in FORMATS.values()])
    ending = str(rng.choice(list(FORMATS), p=weights / weights.sum()))
    *_, rates, bits = FORMATS[ending]
    return ending, int(rng.choice(rates)), int(rng.choice(bits)) if bits else None


def written_and_read(sound: np.ndarray, ending: str, rate_hz: int, bit_rate: int | None) -> tuple[np.ndarray, int]:
    """Samples of a sound at ``RATE_HZ`` after a telephone's file, and their rate [Hz]; of 16 bits before its coding."""
    common = gcd(RATE_HZ, rate_hz)
    if rate_hz != RATE_HZ:
        sound = resample_poly(sound, rate_hz // common, RATE_HZ // common)
    sound = (np.clip(sound, -1, 1) * 32767).round() / 32768
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / f"x.{ending}"
        if ending == "wav":
            path.write_bytes(wav_bytes(sound[None, :], rate_hz))
        else:
            encode(path, sound, rate_hz, (*FORMATS[ending][1:3], rate_hz), bit_rate)
        read = load_sound(path)
    return read.mono, int(read.rate_hz)
