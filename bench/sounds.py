"""Sounds for measuring the pluck reader, and the plain spectrum peak that stands beside it as a peer."""

from __future__ import annotations

import numpy as np

from twoturn.recording.sound import Sound

GROSS = 0.05


def as_sound(samples: np.ndarray, rate_hz: float) -> Sound:
    """Samples as the reader gets them from a file."""
    return Sound("bench.wav", np.asarray(samples, dtype=np.float32)[None, :], float(rate_hz))


def spectrum_peak_hz(samples: np.ndarray, rate_hz: float) -> float:
    """The peer: highest peak from 25 to 600 Hz in the half second after the loudest moment, parabola through three."""
    start = int(np.argmax(np.abs(samples)))
    piece = samples[start : start + int(0.5 * rate_hz)]
    piece = piece * np.hanning(2 * len(piece))[len(piece) :]
    size = 1 << int(np.ceil(np.log2(8 * max(len(piece), 1024))))
    level = np.log(np.abs(np.fft.rfft(piece, size)) + 1e-12)
    hertz = np.arange(len(level)) * rate_hz / size
    inside = np.flatnonzero((hertz > 25) & (hertz < min(600, 0.45 * rate_hz)))
    top = int(inside[np.argmax(level[inside])])
    left, middle, right = level[top - 1 : top + 2]
    bend = left - 2 * middle + right
    return float((top + (0.5 * (left - right) / bend if bend else 0.0)) * rate_hz / size)
