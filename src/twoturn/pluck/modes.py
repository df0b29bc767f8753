"""Damped tones in stretches of sound: found one after the other, refined together by least squares."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from twoturn.pluck.fitting import ABSENT, Fits, fit, refine_all
from twoturn.pluck.sums import BLOCK, Complexes, Stretches, one_by_one, sounding
from twoturn.pluck.working import Array, Bools, Ints

DECAYS_S = np.array([0.006, 0.015, 0.04, 0.1, 0.3, np.inf])
LOWEST_HZ, HIGHEST_HZ = 22.0, 1250.0
MOST, LEAST_GAIN = 10, 26.0
LEAST_SHARE = 0.002  # of the strongest tone's energy that a tone must take away to count [-]


@dataclass(frozen=True, eq=False)
class Modes:
    """Damped tones exp(−d·t)·(a·cos ωt + b·sin ωt), t from the start of the stretch.

    Attributes
    ----------
    omega
        Angular frequencies, shape (k,) [rad/sample].
    decay
        Decay rates, shape (k,) [1/sample].
    a, b
        Amplitudes, shape (k,) [-].
    """

    omega: Array
    decay: Array
    a: Array
    b: Array

    def __len__(self) -> int:
        return len(self.omega)

    def hertz(self, rate_hz: float) -> Array:
        """Frequencies, shape (k,) [Hz]."""
        return np.asarray(self.omega * rate_hz / (2 * np.pi))

    def tau_s(self, rate_hz: float) -> Array:
        """Decay times of the amplitude, shape (k,) [s]."""
        return np.asarray(1 / np.maximum(self.decay, 1e-9) / rate_hz)

    def sound(self, count: int) -> Array:
        """All tones together, shape (count,) [-]."""
        if not len(self):
            return np.zeros(count)
        return sounding(self.rate[None], self.weight[None], -(-count // BLOCK))[0, :count]

    def energy(self, count: int) -> Array:
        """Energy of each tone over a stretch, shape (k,) [-]."""
        if not len(self):
            return np.zeros(0)
        own = one_by_one(self.rate, count)[0]
        return np.asarray(0.5 * (np.abs(self.weight) ** 2 * own[1] + self.weight**2 * own[0]).real)

    @property
    def rate(self) -> Complexes:
        """λ = iω − d, shape (k,) [1/sample]."""
        return np.asarray(1j * self.omega - self.decay)

    @property
    def weight(self) -> Complexes:
        """a − ib, shape (k,) [-]."""
        return np.asarray(self.a - 1j * self.b)

    def joined(self, other: Modes) -> Modes:
        """These tones and others."""
        pairs = ((self.omega, other.omega), (self.decay, other.decay), (self.a, other.a), (self.b, other.b))
        return Modes(*(np.concatenate(pair) for pair in pairs))

    def chosen(self, index: Bools | Ints) -> Modes:
        """Only the tones of this index or mask."""
        return Modes(self.omega[index], self.decay[index], self.a[index], self.b[index])


def no_modes() -> Modes:
    """No tone at all."""
    empty = np.zeros(0)
    return Modes(empty, empty, empty, empty)


def of_rates(rate: Complexes, weight: Complexes) -> Modes:
    """Tones of these λ = iω − d [1/sample] and amplitudes a − ib [-], shape (k,) each."""
    return Modes(rate.imag, -rate.real, weight.real, -weight.imag)


def turns(omega: Array, decay: Array, count: int, start: int = 0) -> Complexes:
    """exp((iω − d)·t) for t = start … start + count − 1, shape (count, k): products of a coarse and a fine table.

    Parameters
    ----------
    omega
        Angular frequencies, shape (k,) [rad a sample].
    decay
        Decay rates, shape (k,) [1 a sample].
    count
        Number of samples [-].
    start
        First sample [-].
    """
    rate = 1j * omega - decay
    coarse = np.exp(rate * (start + BLOCK * np.arange(-(-count // BLOCK)))[:, None])
    fine = np.exp(rate * np.arange(BLOCK)[:, None])
    return np.asarray((coarse[:, None, :] * fine[None, :, :]).reshape(-1, len(omega))[:count])


@dataclass(frozen=True, eq=False)
class Gains:
    """What damped tones on a grid of frequencies and decays take away from stretches of sound.

    Attributes
    ----------
    spectra
        Spectra under a window of each decay, shape (rows, decays, bins) [-].
    weights
        Sums of squares of the windows, shape (rows, decays) [-].
    low
        Number of the first bin [-].
    size
        Length of the transform [-].
    rate_hz
        Samples a second [Hz].
    """

    spectra: Complexes
    weights: Array
    low: int
    size: int
    rate_hz: float

    def bins(self, low_hz: float, high_hz: float) -> slice:
        """The bins of a range of frequencies."""
        first = int(low_hz * self.size / self.rate_hz + 0.5)
        last = max(first, int(high_hz * self.size / self.rate_hz + 0.5)) + 1
        return slice(first - self.low, last - self.low)

    def best(self, low_hz: float, high_hz: float) -> tuple[Complexes, Array]:
        """λ of the tone that takes most away in each stretch, and the energy it takes, shape (rows,) each."""
        inside = self.bins(low_hz, high_hz)
        part = self.spectra[:, :, inside]
        gains = (part.real**2 + part.imag**2) * (2 / self.weights[:, :, None])
        place = gains.reshape(len(gains), -1).argmax(axis=1)
        decay, column = np.divmod(place, gains.shape[2])
        omega = 2 * np.pi * (self.low + inside.start + column) / self.size
        gain = gains.reshape(len(gains), -1)[np.arange(len(gains)), place]
        return 1j * omega - 1 / (DECAYS_S[decay] * self.rate_hz), gain


def gains_of(flat: Array, count: Ints, rate_hz: float, low_hz: float, high_hz: float) -> Gains:
    """Spectra of stretches of about one length under damped windows.

    Parameters
    ----------
    flat
        Samples, zero after the end, shape (rows, n), background of standard deviation 1 [-].
    count
        Samples of each, shape (rows,) [-].
    rate_hz
        Samples a second [Hz].
    low_hz, high_hz
        Range that will be searched [Hz].
    """
    from scipy.fft import rfft

    size = transform(int(count.max()))
    flat = flat[:, :size]
    damped, squares = windows(rate_hz, size)
    weights = squares[:, count - 1].T
    spectra = rfft(flat[:, None, :] * damped[:, : flat.shape[1]], size)
    found = Gains(spectra, weights, 0, size, rate_hz)
    inside = found.bins(low_hz, high_hz)
    return Gains(spectra[:, :, inside], weights, inside.start, size, rate_hz)


@lru_cache(maxsize=8)
def windows(rate_hz: float, count: int) -> tuple[Array, Array]:
    """Damped windows of every decay, and the sums of their squares up to each sample, shape (decays, count) each.

    Parameters
    ----------
    rate_hz
        Samples a second [Hz].
    count
        Length [samples].
    """
    damped = np.exp(-np.arange(count) / (DECAYS_S[:, None] * rate_hz))
    squares = np.cumsum(damped**2, axis=1)
    damped.flags.writeable = squares.flags.writeable = False
    return damped, squares


def transform(count: int) -> int:
    """Length of the transform in which a stretch of ``count`` samples is searched [-]."""
    return 1 << int(np.ceil(np.log2(2 * count)))


def strongest(rest: Array, rate_hz: float, low_hz: float, high_hz: float) -> tuple[Modes, float]:
    """The damped tone that explains most of the energy, on a grid of frequencies and decays.

    Parameters
    ----------
    rest
        Shape (n,), background of standard deviation 1 [-].
    rate_hz
        Samples a second [Hz].
    low_hz, high_hz
        Range searched [Hz].

    Returns
    -------
    tuple
        One tone and the energy it takes away [-] (in white noise chi-squared with two degrees of freedom).
    """
    rate, gain = gains_of(rest[None], np.array([len(rest)]), rate_hz, low_hz, high_hz).best(low_hz, high_hz)
    return of_rates(rate, np.zeros(1, dtype=np.complex128)), float(gain[0])


def _strongest_each(rest: Stretches, rate_hz: float) -> tuple[Complexes, Array]:
    """λ of the tone that explains most of each stretch, and the energy it takes away, shape (rows,) each."""
    high_hz = min(HIGHEST_HZ, 0.42 * rate_hz)
    size = np.array([transform(int(count)) for count in rest.count])
    rate, gain = np.empty(len(rest), dtype=np.complex128), np.empty(len(rest))
    for one in np.unique(size):
        rows = np.flatnonzero(size == one)
        alike = rest.chosen(rows)
        rate[rows], gain[rows] = gains_of(alike.flat, alike.count, rate_hz, LOWEST_HZ, high_hz).best(LOWEST_HZ, high_hz)
    return rate, gain


def refine_each(modes: Sequence[Modes], sound: Stretches, rate_hz: float, rounds: int) -> list[Modes]:
    """Gauss-Newton with a shortened step where a full one does not help, for all stretches at once.

    Parameters
    ----------
    modes
        Damped tones of each stretch.
    sound
        The stretches.
    rate_hz
        Samples a second [Hz].
    rounds
        Most rounds [-].
    """
    most = max((len(one) for one in modes), default=0)
    if not most:
        return list(modes)
    rate = np.full((len(modes), most), ABSENT)
    for row, one in zip(rate, modes, strict=True):
        row[: len(one)] = one.rate
    heard = np.arange(most) < np.array([len(one) for one in modes])[:, None]
    found = refine_all(sound, rate, heard, rate_hz, rounds)
    return [of_rates(found.rate[row, : len(one)], found.weight[row, : len(one)]) for row, one in enumerate(modes)]


def find_modes(sound: Stretches, rate_hz: float) -> list[Modes]:
    """Damped tones in each stretch of sound, in the order in which they were found.

    Parameters
    ----------
    sound
        The stretches, background of standard deviation 1 [-].
    rate_hz
        Samples a second [Hz].

    Returns
    -------
    list of Modes
        Those of each stretch.
    """
    found, largest = [no_modes()] * len(sound), np.zeros(len(sound))
    rows, going, rest = np.arange(len(sound)), sound, sound
    rate = np.zeros((len(sound), 0), dtype=np.complex128)
    while len(rows) and rate.shape[1] < MOST:
        tone, gain = _strongest_each(rest, rate_hz)
        largest[rows] = np.maximum(largest[rows], gain)
        loud = gain >= np.maximum(LEAST_GAIN, LEAST_SHARE * largest[rows])
        rows, going, rest, rate, tone = rows[loud], going.chosen(loud), rest.chosen(loud), rate[loud], tone[loud]
        if not len(rows):
            break
        alone = refine_all(rest, tone[:, None], np.ones((len(rows), 1), dtype=np.bool_), rate_hz, 3)
        fits = _together(going, np.concatenate([rate, alone.rate], axis=1), rate_hz)
        rate, rest = fits.rate, going.without(fits.rate, fits.weight)
        for row, place in enumerate(rows):
            found[place] = of_rates(fits.rate[row], fits.weight[row])
    return refine_each(found, sound, rate_hz, 8)


def _together(sound: Stretches, rate: Complexes, rate_hz: float) -> Fits:
    """All tones found so far fitted together; every second time their frequencies and decays too."""
    heard = np.ones(rate.shape, dtype=np.bool_)
    if rate.shape[1] % 2 and rate.shape[1] > 1:
        return refine_all(sound, rate, heard, rate_hz, 1)
    return fit(sound, rate, heard)
