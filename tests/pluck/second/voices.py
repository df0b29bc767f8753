"""Speech from the synthesiser espeak-ng, a free program that stands beside; where it is missing there is no speech."""

from __future__ import annotations

import shutil
import subprocess

import numpy as np
from scipy.signal import resample_poly
from tests.pluck.second.spans import RATE_HZ

PROGRAM = "espeak-ng"
SAID = (
    ("en-gb", "Hold the torch a bit higher, I can't see the mark."),
    ("de", "Hast du den Stift schon drin? Nein, noch nicht."),
    ("en-us+f3", "Right, turn it twice by hand and tell me when you are back at the top."),
    ("fr", "Passe moi la clef de dix, s'il te plait."),
    ("en-gb+m3", "Sixteen millimetre socket, not the eighteen."),
    ("de+f2", "Der Kunde kommt um vier Uhr und will sein Auto."),
    ("en-us", "One, two, three, four, five. Now again."),
    ("en-gb+f4", "Mind the cover, it is cracked on the left side."),
    ("es", "El tensor ya esta en su sitio, mira la marca."),
    ("en-us+m5", "Okay, yeah, let me do that once more, wait a moment."),
)


def can_speak() -> bool:
    """Whether the synthesiser is installed."""
    return shutil.which(PROGRAM) is not None


def sentence(number: int, words_a_minute: int, pitch: int) -> np.ndarray:
    """One sentence at ``RATE_HZ``; ``pitch`` from 0 to 99 as the synthesiser counts it."""
    voice, text = SAID[number]
    words = [PROGRAM, "--stdout", "-v", voice, "-s", str(words_a_minute), "-p", str(pitch), text]
    data = subprocess.run(words, capture_output=True, check=True).stdout
    rate = int(np.frombuffer(data[24:28], "<u4")[0])
    samples = np.frombuffer(data[44 : len(data) - (len(data) - 44) % 2], "<i2").astype(float)
    return np.asarray(resample_poly(samples, RATE_HZ // 50, rate // 50))


def speech(rng: np.random.Generator, count: int) -> np.ndarray:
    """Sentences of changing voices with short pauses, of unit RMS where they sound, shape (count,)."""
    if not can_speak():
        raise RuntimeError(f"no speech can be drawn: install {PROGRAM}, then draw again")
    out, place = np.zeros(count), int(rng.uniform(0, 0.3) * RATE_HZ)
    while place < count - RATE_HZ // 3:
        number = int(rng.integers(len(SAID)))
        part = sentence(number, int(rng.integers(140, 190)), int(rng.integers(25, 75)))
        length = min(len(part), count - place)
        out[place : place + length] = part[:length]
        place += length + int(rng.uniform(0.1, 0.6) * RATE_HZ)
    loud = out[np.abs(out) > 0.01 * np.max(np.abs(out))]
    return np.asarray(out / np.sqrt(np.mean(loud**2)))
