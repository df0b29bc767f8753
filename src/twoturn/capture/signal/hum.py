"""Mains hum on an inductive sensor's lead: found as a line that stays the same throughout, and taken out.

The teeth of a wheel make lines too, but the speed of an engine is never steady enough to keep one line in phase, with
nothing beside it, over a whole recording; the mains are.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from twoturn.capture.model import Array

MAINS_HZ, MAINS_OFF, HARMONICS = (50.0, 60.0), 0.005, (1, 2, 3)
"""Frequencies of the mains [Hz], how far off grid and recorder's clock put them [-], and multiples that are heard [-];
common practice, no source."""
LOOKED_AT_HZ, LEAST_PERIODS = 1200.0, 40
"""Rate at which hum is looked for [Hz], and least periods of it in a recording [-]."""
STANDS_OUT, CLEARLY, PART_S, MOST_PARTS, MOST_SHARE, LEAST_SHARE = 1.1, 1.8, 1.0, 8, 0.6, 0.004
"""A line of hum against the strongest beside it, at least and clearly [-], how long [s] and how many parts of the
recording it must be alike in [-], and the most and least that it has of the voltage of the lobes [-] (judgement)."""
ALIKE, LIKE = 0.24, 0.4
"""How far it may differ between the parts against itself (rms over the root of their number), and where it stands out
clearly [-] (judgement)."""
BESIDE, LOBE_BINS = 0.1, 3.0
"""How far to either side lines are compared with [share of the frequency], less what the window spreads [bins]."""
BLOCK = 1 << 18


def without_hum(times_s: Array, signal: Array) -> tuple[Array, float | None]:
    """A signal less the mains hum in it.

    Parameters
    ----------
    times_s
        Times of the samples, evenly spread, shape (n,) [s].
    signal
        Samples about their baseline, shape (n,) [V].

    Returns
    -------
    tuple
        The samples [V] and the frequency of the hum that was taken out [Hz]; the same samples and None where there is
        none to be sure of.
    """
    seconds = float(times_s[-1] - times_s[0]) if times_s.size > 1 else 0.0
    if seconds * MAINS_HZ[0] < LEAST_PERIODS or times_s.size < 8 * LEAST_PERIODS:
        return signal, None
    every = max(1, int(times_s.size / seconds / LOOKED_AT_HZ))
    count = times_s.size // every * every
    few = signal[:count].reshape(-1, every).mean(axis=1)
    at = times_s[:count].reshape(-1, every).mean(axis=1) - times_s[0]
    lobes = float(np.percentile(np.abs(few), 90))
    lines: list[tuple[float, complex]] = []
    if _steady(at, few):
        return signal, None
    for mains in MAINS_HZ:
        for multiple in HARMONICS:
            near = multiple * (lines[0][0] if multiple > 1 else mains)
            found = _line(at, few, near, MAINS_OFF if multiple == 1 else 0.2 / (near * seconds))
            if found is not None and LEAST_SHARE * lobes < abs(found[1]) < MOST_SHARE * lobes:
                lines.append(found)
            elif multiple == 1:
                break
        if lines:
            break
    return (_less(times_s, signal, lines), lines[0][0]) if lines else (signal, None)


def _spectrum(at: Array, few: Array) -> tuple[Array, Array]:
    """Frequencies [Hz] and amplitudes [V] of samples, four times as fine as they tell, shape (n,) each."""
    window = np.hanning(at.size)
    size = 1 << (4 * at.size - 1).bit_length()
    strength = np.abs(np.fft.rfft(few * window, size)) * 2 / window.sum()
    return np.arange(strength.size) / (size * float(at[-1] - at[0]) / (at.size - 1)), strength


def _line(at: Array, few: Array, near_hz: float, off: float) -> tuple[float, complex] | None:
    """Frequency [Hz] and complex amplitude [V] of a line of hum near a frequency; None where none stands out."""
    seconds = float(at[-1] - at[0])
    if near_hz > 0.4 * at.size / seconds:
        return None
    hz, strength = _spectrum(at, few)
    inside = np.flatnonzero(np.abs(hz - near_hz) <= max(off * near_hz, 0.5 / seconds))
    if not inside.size:
        return None
    best = int(inside[np.argmax(strength[inside])])
    beside = (np.abs(hz - near_hz) < BESIDE * near_hz) & (np.abs(hz - hz[best]) > LOBE_BINS / seconds)
    over = strength[best] / strength[beside].max() if beside.any() else 0.0
    if over < STANDS_OUT or strength[best] < max(strength[best - 1], strength[best + 1]):
        return None  # the flank of another line
    frequency = _top(hz, strength, best)
    alike, amplitude = _alike(at, few, frequency)
    return (frequency, amplitude) if alike <= (ALIKE if over < CLEARLY else LIKE) else None


def _steady(at: Array, few: Array) -> bool:
    """Whether the strongest line, the teeth's, is as steady as the mains: then neither is told from the other."""
    hz, strength = _spectrum(at, few)
    far = np.all([np.abs(hz - mains) > 2 * MAINS_OFF * mains for mains in MAINS_HZ], axis=0)
    best = int(np.argmax(np.where(far, strength, 0.0)[1:-1])) + 1
    return _alike(at, few, _top(hz, strength, best))[0] <= ALIKE


def _alike(at: Array, few: Array, hz: float) -> tuple[float, complex]:
    """How far a line differs between parts of a recording against itself (rms over the root of their number) [-], and
    its complex amplitude [V]."""
    count = int(np.clip(float(at[-1] - at[0]) / PART_S, 2, MOST_PARTS))
    split = zip(np.array_split(at, count), np.array_split(few, count), strict=True)
    parts = np.array([_amplitude(when, volts, hz) for when, volts in split])
    whole = _amplitude(at, few, hz)
    off = float(np.sqrt(np.mean(np.abs(parts - parts.mean()) ** 2)))
    return off / max(np.sqrt(count) * abs(whole), 1e-300), whole


def _top(hz: Array, strength: Array, best: int) -> float:
    """Where a parabola through the log of a peak and its two neighbours is greatest [Hz]."""
    three = np.log(np.maximum(strength[best - 1 : best + 2], 1e-300))
    curve = float(three[0] - 2 * three[1] + three[2])
    off = float(three[0] - three[2]) / (2 * curve) if curve < 0 else 0.0
    return float(hz[best]) + off * float(hz[1] - hz[0])


def _amplitude(at: Array, values: Array, hz: float) -> complex:
    """Complex amplitude [V] of a line of known frequency [Hz], its sides held back by a window."""
    window = np.hanning(at.size)
    return complex(2 * np.sum(values * window * np.exp(-2j * np.pi * hz * at)) / window.sum())


def _less(times_s: Array, signal: Array, lines: list[tuple[float, complex]]) -> Array:
    """The signal less its lines [V]."""
    out: NDArray[np.float64] = signal.copy()
    for start in range(0, signal.size, BLOCK):
        at = times_s[start : start + BLOCK] - times_s[0]
        for hz, amplitude in lines:
            turn = 2 * np.pi * hz * at
            out[start : start + BLOCK] -= amplitude.real * np.cos(turn) - amplitude.imag * np.sin(turn)
    return out
