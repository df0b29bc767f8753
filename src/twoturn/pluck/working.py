"""The working signal: fewer samples a second, steady lines taken off, background flattened."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from twoturn.pluck.lines import remove_lines
from twoturn.recording.sound import clipped_share

Array = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

WORKING_HZ = 2900.0
BRIGHT_HZ = 8000.0
MODEL_FLOOR = 1e-5  # no model of a string is right to less than this share of its power
BLOCK_S = 0.004
CLIPPED_SHARE = 2e-4
FRAME = 128
HOP = 12
ORDER = 16


@dataclass(frozen=True, eq=False)
class Working:
    """A recording made ready for the search for plucks.

    Attributes
    ----------
    samples
        Flattened samples, shape (n,), in standard deviations of the background [-].
    rate_hz
        Samples a second [Hz].
    powers
        Short-time powers over those of the background, shape (frames, bins) [-].
    frame_s
        Middle of each frame, shape (frames,) [s].
    excess
        Energy above and below some 1.5 kHz beyond the background's, in blocks of 4 ms, shape (2, blocks).
    clipped
        Where the recording stands at its limit, shape (n,).
    lines_hz
        Steady lines (hum and the like) that were taken off [Hz].
    steps
        What was done, in words.
    """

    samples: Array
    rate_hz: float
    powers: Array
    frame_s: Array
    excess: Array
    clipped: Bools
    lines_hz: tuple[float, ...]
    steps: tuple[str, ...]


def prepare(samples: Array, rate_hz: float) -> Working:
    """Bring a recording to the working rate, take steady lines off and flatten the background.

    A flattening filter of finite length moves no pole: frequency and decay of every partial stay as they are.

    Parameters
    ----------
    samples
        One channel, shape (n,), any scale [-].
    rate_hz
        Its samples a second [Hz].

    Returns
    -------
    Working
        Samples whose background is white with standard deviation 1.
    """
    slow, slow_hz = decimate(samples - samples.mean(), rate_hz)
    free, lines = remove_lines(slow, slow_hz)
    density = background(short_time_powers(free))
    white = np.convolve(free, whitening(density))[: len(free)]
    powers = short_time_powers(white)
    level = float(np.median(background(powers)[2:-8]))
    white, powers = np.asarray(white / math.sqrt(level / FRAME_POWER), dtype=np.float64), powers / level
    steps = [f"taken at {slow_hz:.0f} samples a second", "background flattened"]
    if lines:
        steps.insert(1, f"{len(lines)} steady lines taken off")
    frame_s = np.asarray((np.arange(len(powers)) * HOP + FRAME / 2) / slow_hz, dtype=np.float64)
    excess, clipped = excess_blocks(samples, rate_hz), clipped_places(samples, len(white))
    return Working(white, slow_hz, powers, frame_s, excess, clipped, lines, tuple(steps))


def clipped_places(samples: Array, count: int) -> Bools:
    """Where the recording stands flat at its limit, on the working signal's ``count`` samples, shape (count,).

    Parameters
    ----------
    samples
        Samples of one channel, shape (n,) [-].
    count
        Number of samples [-].
    """
    if clipped_share(samples) < CLIPPED_SHARE:
        return np.zeros(count, dtype=np.bool_)
    edges = np.linspace(0, len(samples), count, endpoint=False).astype(np.int64)
    size = np.abs(samples)
    return np.asarray(np.maximum.reduceat(size, edges) > 0.98 * size.max())


def excess_blocks(samples: Array, rate_hz: float) -> Array:
    """Energy above and below some 1.5 kHz beyond the background's, in blocks of 4 ms, shape (2, blocks).

    Metal rings above long after the blow; a plucked belt does not.

    Parameters
    ----------
    samples
        Samples of one channel, shape (n,) [-].
    rate_hz
        Samples a second [Hz].
    """
    fine, fine_hz = decimate(samples, rate_hz, BRIGHT_HZ)
    place = np.arange(-12, 13)
    low = np.sinc(2 * 1500.0 / fine_hz * place) * np.hamming(25)
    dull = np.convolve(fine, low / low.sum(), mode="same")
    block = max(1, int(BLOCK_S * fine_hz))
    count = len(fine) // block
    if count < 3:
        return np.zeros((2, max(count, 1)))
    both = np.stack([fine - dull, dull])[:, : count * block].reshape(2, count, block)
    power = np.mean(both**2, axis=2)
    floor = np.quantile(power, 0.2, axis=1, keepdims=True) + MODEL_FLOOR * power.max()
    return np.asarray(np.maximum(0.0, power - 2.0 * floor) + 0.1 * floor)


def decimate(samples: Array, rate_hz: float, target_hz: float = WORKING_HZ) -> tuple[Array, float]:
    """Low-pass (linear phase, no delay) and keep every q-th sample, so that ``target_hz`` or a little more remain.

    Parameters
    ----------
    samples
        Samples of one channel, shape (n,) [-].
    rate_hz
        Samples a second [Hz].
    target_hz
        Wanted samples a second [Hz].

    Returns
    -------
    tuple
        Samples, shape (ceil(n/q),) [-], and their rate [Hz].
    """
    step = max(1, int(rate_hz / target_hz))
    if step == 1:
        return samples, rate_hz
    half = 4 * step
    place = np.arange(-half, half + 1) / step
    kernel = np.sinc(0.82 * place) * np.kaiser(2 * half + 1, 5.0)
    padded = np.concatenate([np.zeros(half), samples, np.zeros(half + step)])
    windows = np.lib.stride_tricks.sliding_window_view(padded, 2 * half + 1)[: len(samples) : step]
    return np.asarray(windows @ (kernel / kernel.sum())), rate_hz / step


WINDOW = np.hanning(FRAME + 1)[:FRAME]
FRAME_POWER = float(np.sum(WINDOW**2))


def short_time_powers(samples: Array) -> Array:
    """Powers of overlapping Hann frames, shape (frames, bins); a recording shorter than a frame is padded.

    Parameters
    ----------
    samples
        Samples of one channel, shape (n,) [-].
    """
    from scipy.fft import rfft

    padded = np.concatenate([samples, np.zeros(max(0, FRAME - len(samples)))])
    frames = np.lib.stride_tricks.sliding_window_view(padded, FRAME)[::HOP]
    spectra = rfft(frames * WINDOW)
    return np.asarray(spectra.real**2 + spectra.imag**2)


def background(powers: Array) -> Array:
    """Density of the background, shape (bins,): a low quantile over time, freed of narrow peaks.

    The 20 % quantile of an exponential distribution is 0.223 of its mean.

    Parameters
    ----------
    powers
        Powers of the frames, shape (frames, bins) [-].
    """
    low = np.quantile(powers, 0.2, axis=0) / 0.223
    padded = np.pad(low, 7, mode="reflect")
    smooth = np.median(np.lib.stride_tricks.sliding_window_view(padded, 15), axis=1)
    smooth = np.minimum(smooth, np.maximum(low, 1e-3 * smooth)) * 0.5 + smooth * 0.5
    floor = MODEL_FLOOR * powers.max() + 1e-4 * smooth.mean() + 1e-30
    return np.asarray(np.maximum(smooth, floor))


def whitening(density: Array) -> Array:
    """Prediction-error filter that flattens a power density, shape (ORDER + 1,) [-].

    References
    ----------
    J. Makhoul, Linear prediction: a tutorial review, Proc. IEEE 63 (1975) 561-580, eq. 11.
    """
    correlation = np.fft.irfft(density)[: ORDER + 1]
    correlation[0] *= 1 + 1e-5
    place = np.arange(ORDER)
    matrix = correlation[np.abs(place[:, None] - place[None, :])]
    weights = np.linalg.solve(matrix, -correlation[1:])
    return np.concatenate([[1.0], weights])
