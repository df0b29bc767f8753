"""Damped tones in a stretch of sound: found one after the other, refined together by least squares."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from twoturn.pluck.working import Array, Bools, Ints

Complexes = NDArray[np.complex128]

DECAYS_S = np.array([0.006, 0.015, 0.04, 0.1, 0.3, np.inf])
LOWEST_HZ = 22.0
SHORTEST_S = 0.002


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

    def waves(self, count: int, start: int = 0) -> Array:
        """Each tone by itself, shape (count, k) [-]."""
        turn = turns(self.omega, self.decay, count, start)
        return np.asarray(turn.real * self.a + turn.imag * self.b)

    def energy(self, count: int) -> Array:
        """Energy of each tone over a stretch, shape (k,) [-]."""
        return np.asarray(np.sum(self.waves(count) ** 2, axis=0))

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
    count = len(rest)
    t = np.arange(count)
    windows = np.exp(-t / (DECAYS_S[:, None] * rate_hz))
    weights = np.sum(windows**2, axis=1)
    size = 1 << int(np.ceil(np.log2(2 * count)))
    spectra = np.fft.rfft(rest * windows, size)
    first = int(low_hz * size / rate_hz + 0.5)
    last = max(first, int(high_hz * size / rate_hz + 0.5)) + 1
    gains = 2 * np.abs(spectra[:, first:last]) ** 2 / weights[:, None]
    row, column = np.unravel_index(int(np.argmax(gains)), gains.shape)
    amplitude = 2 * spectra[row, first + column] / weights[row]
    omega = 2 * np.pi * (first + column) / size
    decay = 1 / (DECAYS_S[row] * rate_hz)
    tone = Modes(np.array([omega]), np.array([decay]), np.array([amplitude.real]), np.array([-amplitude.imag]))
    return tone, float(gains[row, column])


STRIDE = 32


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
    coarse = np.exp(rate * (start + STRIDE * np.arange(-(-count // STRIDE)))[:, None])
    fine = np.exp(rate * np.arange(STRIDE)[:, None])
    return np.asarray((coarse[:, None, :] * fine[None, :, :]).reshape(-1, len(omega))[:count])


def jacobian(modes: Modes, count: int) -> tuple[Array, Array]:
    """Basis of the amplitudes, shape (n, 2k), and slopes by decay and frequency, shape (n, 2k)."""
    turn = turns(modes.omega, modes.decay, count)
    moved = _moving(modes, turn)
    parts = ((turn.real, turn.imag), (-moved.real, -moved.imag))
    linear, slopes = (np.concatenate(part, axis=1) for part in parts)
    return linear, slopes


def _moving(modes: Modes, turn: Complexes) -> Complexes:
    """Complex slope of each tone, less by decay in the real part and less by frequency in the other, shape (n, k)."""
    return np.asarray(turn * (modes.a - 1j * modes.b) * np.arange(len(turn))[:, None])


def _step(modes: Modes, rest: Array, turn: Complexes) -> Array:
    """Gauss-Newton step of decays and frequencies, amplitudes free, shape (2k,)."""
    k = len(modes)
    both = np.concatenate([turn, _moving(modes, turn)], axis=1).view(np.float64)
    weights = solve(both, rest)[2 * k :]
    return -np.concatenate([weights[0::2], weights[1::2]])


def amplitudes(modes: Modes, samples: Array) -> tuple[Modes, Array, Complexes]:
    """The same frequencies and decays with amplitudes by linear least squares, what is left, and the table of turns.

    Parameters
    ----------
    modes
        Damped tones.
    samples
        Samples of one channel, shape (n,) [-].
    """
    turn = turns(modes.omega, modes.decay, len(samples))
    basis = turn.view(np.float64)
    weights = solve(basis, samples)
    return replace(modes, a=weights[0::2], b=weights[1::2]), samples - basis @ weights, turn


def refine(modes: Modes, samples: Array, rate_hz: float, rounds: int) -> Modes:
    """Gauss-Newton with a shortened step where a full one does not help; all tones at once.

    Parameters
    ----------
    modes
        Damped tones.
    samples
        Samples of one channel, shape (n,) [-].
    rate_hz
        Samples a second [Hz].
    rounds
        Most rounds [-].
    """
    if not len(modes):
        return modes
    modes, rest, turn = amplitudes(modes, samples)
    cost = float(rest @ rest)
    for _ in range(rounds):
        step = _step(modes, rest, turn)
        for factor in (1.0, 0.4, 0.1):
            trial, new_rest, new_turn = amplitudes(_moved(modes, factor * step, rate_hz), samples)
            new_cost = float(new_rest @ new_rest)
            if new_cost < cost:
                break
        else:
            return modes
        gain, modes, rest, turn, cost = cost - new_cost, trial, new_rest, new_turn, new_cost
        if gain < 0.01 + 1e-4 * cost:
            break
    return modes


def _moved(modes: Modes, step: Array, rate_hz: float) -> Modes:
    """Frequencies and decays moved by a step that stays inside what a tone can be."""
    k = len(modes)
    limit = 0.5 * modes.decay + 0.02
    decay = np.clip(modes.decay + np.clip(step[:k], -limit, limit), 0.0, 1 / (SHORTEST_S * rate_hz))
    reach = 0.15 * modes.omega + 0.003
    omega = np.clip(modes.omega + np.clip(step[k:], -reach, reach), 0.01, 2.9)
    return replace(modes, decay=decay, omega=omega)


def solve(basis: Array, values: Array) -> Array:
    """Least squares by scaled, slightly damped normal equations, shape (columns,).

    Parameters
    ----------
    basis
        Columns to be fitted, shape (n, columns) [-].
    values
        Values, shape (n,) [-].
    """
    square = basis.T @ basis
    scale = np.sqrt(square.diagonal()) + 1e-12
    square /= scale[:, None] * scale
    square.flat[:: len(scale) + 1] += 1e-9
    return np.asarray(np.linalg.solve(square, (basis.T @ values) / scale) / scale)


def find_modes(samples: Array, rate_hz: float, *, most: int = 10, least_gain: float = 26.0) -> Modes:
    """Damped tones in a stretch of sound.

    Parameters
    ----------
    samples
        The stretch, shape (n,), background of standard deviation 1 [-].
    rate_hz
        Samples a second [Hz].
    most
        Most tones looked for [-].
    least_gain
        Energy a tone must take away to count [-].

    Returns
    -------
    Modes
        Tones in the order in which they were found.
    """
    modes, rest, total = no_modes(), samples, 0.0
    high_hz = min(1250.0, 0.42 * rate_hz)
    while len(modes) < most:
        tone, gain = strongest(rest, rate_hz, LOWEST_HZ, high_hz)
        total = max(total, gain)
        if gain < max(least_gain, 0.002 * total):
            break
        modes = modes.joined(refine(tone, rest, rate_hz, 3))
        if len(modes) % 2 and len(modes) > 1:
            modes = refine(modes, samples, rate_hz, 1)
        else:
            modes, _, _ = amplitudes(modes, samples)
        rest = samples - modes.waves(len(samples)).sum(axis=1)
    return refine(modes, samples, rate_hz, 8)
