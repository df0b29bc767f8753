"""A plucked belt span for demo jobs and practice: what a telephone near the belt would record. Invented, seeded."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
PARTIALS = 10
KAPPA = 0.8  # between pinned and clamped ends


@dataclass(frozen=True)
class RingingSpan:
    """A span as it rings.

    Attributes
    ----------
    f1_hz
        First partial at small amplitude [Hz].
    stretch
        κ·π²·EI/(T·L²): what bending adds to the first partial, as a share of tension [-].
    decay_s
        Decay time of the first partial's amplitude [s].
    sharpness
        By how much a pluck of strength 1 starts sharp, as a share of f₁ [-].
    """

    f1_hz: float
    stretch: float = 0.004
    decay_s: float = 0.07
    sharpness: float = 0.004

    @property
    def partials_hz(self) -> Array:
        """Partials at small amplitude, f_n = n·f₁·√((1 + s·n²)/(1 + s)), shape (10,) [Hz]."""
        n = np.arange(1, PARTIALS + 1)
        return np.asarray(n * self.f1_hz * np.sqrt((1 + self.stretch * n**2) / (1 + self.stretch)))


@dataclass(frozen=True)
class Workshop:
    """What else the telephone hears.

    Attributes
    ----------
    rate_hz
        Samples a second [Hz].
    noise, hum
        RMS of broad noise and of mains hum beside a pluck of strength 1 [-].
    mains_hz
        Mains frequency [Hz].
    lowest_hz
        Below this the telephone hears little [Hz].
    """

    rate_hz: int = 16000
    noise: float = 0.01
    hum: float = 0.03
    mains_hz: float = 50.0
    lowest_hz: float = 90.0


def plucked(
    span: RingingSpan, times_s: tuple[float, ...], workshop: Workshop, rng: np.random.Generator, seconds: float = 0.0
) -> Array:
    """A recording of a span plucked at given times.

    Parameters
    ----------
    span
        The span.
    times_s
        When it is plucked [s].
    workshop
        Noise, hum, telephone.
    rng
        Seeded source of strengths, places and noise.
    seconds
        Length of the recording [s]; 0 for long enough.

    Returns
    -------
    numpy.ndarray
        Samples of shape (n,), full scale ±1 [-].
    """
    rate = workshop.rate_hz
    count = int(rate * (seconds or (max(times_s, default=0.0) + 10 * span.decay_s + 0.3)))
    sound = np.zeros(count)
    for time_s in times_s:
        note = one_pluck(span, rate, rng.uniform(0.6, 1.0), rng.uniform(0.2, 0.45), rng)
        start = int(time_s * rate)
        note = note[: max(0, count - start)]
        sound[start : start + len(note)] += note
    t = np.arange(count) / rate
    for n in range(1, 8):
        phase = rng.uniform(0, 2 * np.pi)
        sound += workshop.hum / n * np.sqrt(2) * np.sin(2 * np.pi * n * workshop.mains_hz * t + phase)
    sound += workshop.noise * rng.standard_normal(count)
    return heard(sound, workshop)


def one_pluck(span: RingingSpan, rate_hz: int, strength: float, place: float, rng: np.random.Generator) -> Array:
    """One pluck of a stiff string at a fraction of its length, with the note gliding down, shape (n,) [-].

    The amplitudes are those of a string drawn aside at one point, sin(nπβ)/n², heard by its velocity; each partial
    dies faster than the one below it.

    Parameters
    ----------
    span
        The span.
    rate_hz
        Samples a second [Hz].
    strength
        Strength of the pluck [-].
    place
        Where it is plucked, as a share of the span [-].
    rng
        Seeded source of random numbers.
    """
    t = np.arange(int(10 * span.decay_s * rate_hz)) / rate_hz
    sharp = span.sharpness * strength**2
    glided = t + sharp * span.decay_s / 2 * (1 - np.exp(-2 * t / span.decay_s))
    sound = np.zeros(len(t))
    for n, hertz in enumerate(span.partials_hz, start=1):
        if hertz < 0.45 * rate_hz:
            decay = np.exp(-t / span.decay_s * (1 + 0.4 * (n - 1)))
            sound += np.sin(n * np.pi * place) / n * decay * np.cos(2 * np.pi * hertz * glided)
    finger = 0.05 * rng.standard_normal(len(t)) * np.exp(-t / 0.002)
    return np.asarray(strength * (sound + finger))


def heard(sound: Array, workshop: Workshop) -> Array:
    """What the telephone makes of it: little below its range, 16 bits, no clipping, shape (n,) [-].

    Parameters
    ----------
    sound
        Samples, shape (n,) [-].
    workshop
        What else the telephone hears.
    """
    spectrum = np.fft.rfft(sound)
    ratio = np.fft.rfftfreq(len(sound), 1 / workshop.rate_hz) / workshop.lowest_hz
    sound = np.fft.irfft(spectrum * ratio**2 / (1 + ratio**2), len(sound))
    sound = sound * 0.7 / max(float(np.abs(sound).max()), 1e-9)
    return np.asarray(np.round(sound * 32767) / 32767)
