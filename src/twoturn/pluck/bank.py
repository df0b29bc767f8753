"""A bank of matched filters: where a weak damped tone starts that no broad rise of the sound betrays."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from twoturn.pluck.working import Array, Ints

LOW_HZ, HIGH_HZ = 25.0, 1250.0
FLOOR = 3.0
RISING = 6  # samples in which the window opens, so that a strong low tone does not spill over all others
SCALES = ((0.02, 128, 12), (0.09, 512, 24))  # decay [s], length and hop [samples]
REACH_S = 0.025


@dataclass(frozen=True, eq=False)
class Rises:
    """Greatest rise of any one tone over time.

    Attributes
    ----------
    rise
        Logarithm of the energy after over that before, the largest over all tones, shape (times,) [-].
    hertz
        The tone that rises most, shape (times,) [Hz].
    hop
        Samples from one time to the next [-].
    decay_s
        Decay time of the window [s].
    """

    rise: Array
    hertz: Array
    hop: int
    decay_s: float


def window(decay_s: float, size: int, rate_hz: float) -> Array:
    """A damped window that opens within a few samples, shape (size,) [-].

    Parameters
    ----------
    decay_s
        Decay time [s].
    size
        Its length [samples].
    rate_hz
        Samples a second [Hz].
    """
    place = np.arange(size)
    return np.asarray(np.minimum(1.0, (place + 1) / RISING) * np.exp(-place / (decay_s * rate_hz)))


def rises(samples: Array, rate_hz: float, scale: tuple[float, int, int]) -> Rises:
    """How much the most rising tone rises about each time.

    The energy a damped tone of that decay takes away after a time is compared with the energy the same tone, running
    backwards, takes away before it. In white noise of standard deviation 1 both are exponential with mean 1.

    Parameters
    ----------
    samples
        Flattened samples, shape (n,) [-].
    rate_hz
        Samples a second [Hz].
    scale
        Decay [s], length and hop [samples] of the window.
    """
    from scipy.fft import rfft

    decay_s, size, hop = scale
    shape = window(decay_s, size, rate_hz).astype(np.float32)
    count = max(1, len(samples) // hop)
    frames = np.lib.stride_tricks.sliding_window_view(np.pad(samples, (size, size + hop)).astype(np.float32), size)
    low, high = max(1, int(LOW_HZ / rate_hz * size)), int(min(HIGH_HZ, 0.42 * rate_hz) / rate_hz * size)
    after, before = (
        np.abs(rfft(frames[first : first + count * hop : hop] * form)[:, low:high]) ** 2 / np.sum(shape**2)
        for first, form in ((size, shape), (0, shape[::-1]))
    )
    rise = np.log((after + FLOOR) / (before + FLOOR))
    best: Ints = np.argmax(rise, axis=1)
    return Rises(rise[np.arange(count), best], (best + low) * rate_hz / size, hop, decay_s)


def start_of_tone(samples: Array, rate_hz: float, hertz: float, decay_s: float, near_s: float) -> float:
    """Where a damped tone of one frequency starts: where it takes most energy away [s].

    Parameters
    ----------
    samples
        Flattened samples, shape (n,) [-].
    rate_hz
        Samples a second [Hz].
    hertz, decay_s
        The tone [Hz], [s].
    near_s
        Where it begins roughly [s].
    """
    size, reach = int(4 * decay_s * rate_hz), int(REACH_S * rate_hz)
    low = max(0, int(near_s * rate_hz) - reach)
    piece = samples[low : low + 2 * reach + size]
    turning = piece * np.exp(-2j * np.pi * hertz / rate_hz * np.arange(len(piece)))
    shape = np.exp(-np.arange(size) / (decay_s * rate_hz))
    energy = np.abs(np.correlate(np.pad(turning, (0, size)), shape, "valid"))[: 2 * reach]
    return float((low + int(np.argmax(energy))) / rate_hz)
