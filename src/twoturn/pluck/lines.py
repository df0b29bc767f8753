"""Steady lines (mains hum, motors): found in the quiet parts of a recording and taken off.

The quiet parts are whole blocks, and a tone over blocks is a coarse table times a fine one; so are its sums.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Complexes = NDArray[np.complex128]
Bools = NDArray[np.bool_]

QUIET_S = 0.02
LOUD = 4.0  # times the energy that a quarter of the blocks keep under
STEADY_S = 0.06
APART_HZ = 8.0
MOST_PEAKS, MOST_LOOKED_AT = 80, 16


@dataclass(frozen=True, eq=False)
class Quiet:
    """The quiet blocks of a recording.

    Attributes
    ----------
    samples
        Samples of all whole blocks, shape (blocks, block) [-].
    low
        Which blocks are quiet, shape (blocks,).
    rate_hz
        Samples a second [Hz].
    """

    samples: Array
    low: Bools
    rate_hz: float

    @property
    def block(self) -> int:
        """Samples of one block [-]."""
        return int(self.samples.shape[1])

    @cached_property
    def own(self) -> Array:
        """The samples of the quiet blocks, shape (quiet, block) [-]."""
        return np.asarray(self.samples[self.low])

    @cached_property
    def coarse_s(self) -> Array:
        """When each quiet block begins, from the middle of all quiet samples, shape (quiet,) [s]."""
        return np.asarray(self.begin_s - self.middle_s)

    @cached_property
    def begin_s(self) -> Array:
        """When each quiet block begins, shape (quiet,) [s]."""
        return np.asarray(np.flatnonzero(self.low) * self.block / self.rate_hz)

    @cached_property
    def fine_s(self) -> Array:
        """Time of each sample after its block's first, shape (block,) [s]."""
        return np.asarray(np.arange(self.block) / self.rate_hz)

    @cached_property
    def middle_s(self) -> float:
        """Mean time of the quiet samples [s]."""
        return float(self.begin_s.mean() + self.fine_s.mean())

    def of(self, samples: Array) -> Quiet:
        """The same blocks of other samples, shape (n,) [-]."""
        return Quiet(samples[: self.samples.size].reshape(self.samples.shape), self.low, self.rate_hz)


def remove_lines(samples: Array, rate_hz: float) -> tuple[Array, tuple[float, ...]]:
    """Take off steady sinusoids (mains hum, motors): what neither comes nor goes is no pluck.

    Parameters
    ----------
    samples
        Shape (n,) [-].
    rate_hz
        Samples a second [Hz].

    Returns
    -------
    tuple
        Samples without the lines, shape (n,), and the frequencies taken off [Hz].
    """
    quiet = quiet_blocks(samples, rate_hz)
    if quiet is None or quiet.own.size < 0.5 * rate_hz:
        return samples, ()
    found = np.zeros(0)
    rest = samples
    for _ in range(3):
        new = steady_peaks(rest, quiet.of(rest))
        if not len(new):
            break
        found = polish(quiet, np.concatenate([found, new]))
        rest = samples - sinusoids(quiet, found, len(samples))
    return rest, tuple(float(f) for f in np.sort(found))


def quiet_blocks(samples: Array, rate_hz: float) -> Quiet | None:
    """Where the recording is quiet; None where it is too short to tell.

    Parameters
    ----------
    samples
        Samples of one channel, shape (n,) [-].
    rate_hz
        Samples a second [Hz].
    """
    block = max(1, int(QUIET_S * rate_hz))
    count = len(samples) // block
    if count < 5:
        return None
    blocks = samples[: count * block].reshape(count, block)
    energy = np.sum(blocks**2, axis=1)
    return Quiet(blocks, energy <= LOUD * np.quantile(energy, 0.25), rate_hz)


def steady_peaks(samples: Array, quiet: Quiet) -> Array:
    """Frequencies of sharp lone peaks in the quiet parts that are as strong early as late [Hz].

    Parameters
    ----------
    samples
        Samples of one channel, shape (n,) [-].
    quiet
        Their quiet blocks.
    """
    from scipy.fft import rfft

    rate_hz, size = quiet.rate_hz, 1 << int(np.ceil(np.log2(2 * len(samples))))
    found = rfft((quiet.samples * quiet.low[:, None]).ravel(), size)
    spectrum = found.real**2 + found.imag**2
    floor = smooth_median(spectrum, max(3, int(25.0 * size / rate_hz)))
    hertz = np.arange(len(spectrum)) * rate_hz / size
    peak = (spectrum[1:-1] > spectrum[:-2]) & (spectrum[1:-1] >= spectrum[2:]) & (spectrum[1:-1] > 60 * floor[1:-1])
    places = np.flatnonzero(peak & (hertz[1:-1] > 20) & (hertz[1:-1] < 0.42 * rate_hz)) + 1
    places = places[np.argsort(-spectrum[places])]
    chosen: list[int] = []
    for place in places[:MOST_PEAKS]:
        if all(abs(hertz[place] - hertz[other]) > APART_HZ for other in chosen):
            chosen.append(int(place))
    return np.array([hertz[place] for place in chosen[:MOST_LOOKED_AT] if is_steady(quiet, float(hertz[place]))])


def smooth_median(values: Array, width: int) -> Array:
    """Median over blocks of ``width`` bins, interpolated back to every bin.

    Parameters
    ----------
    values
        Values, shape (n,) [-].
    width
        Width of a block [bins].
    """
    count = max(1, len(values) // width)
    blocks = np.median(values[: count * width].reshape(count, width), axis=1) + 1e-30
    middle = (np.arange(count) + 0.5) * width
    return np.asarray(np.interp(np.arange(len(values)), middle, blocks))


def is_steady(quiet: Quiet, hertz: float) -> bool:
    """Whether a line keeps its strength and its phase in each third of the quiet parts.

    A string that rings on fades; a string plucked again and again jumps in phase.

    Parameters
    ----------
    quiet
        The quiet blocks.
    hertz
        Frequency of the line [Hz].
    """
    coarse, fine = _turns(quiet, np.array([hertz]))
    turning = (quiet.own * fine[:, 0].conj() * coarse.conj()).ravel()
    first = np.arange(0, len(turning), max(1, int(STEADY_S * quiet.rate_hz)))
    sums, counts = np.add.reduceat(turning, first), np.diff(np.append(first, len(turning))).astype(np.float64)
    levels = []
    for part, weight in zip(np.array_split(sums, 3), np.array_split(counts, 3), strict=True):
        size = float(np.abs(part).sum())
        if not len(part) or abs(part.sum()) < 0.7 * size:
            return False
        levels.append(size / float(weight.sum()))
    return bool(min(levels) > 0.7 * max(levels))


def _turns(quiet: Quiet, hertz: Array) -> tuple[Complexes, Complexes]:
    """exp(iωt) of each line at the quiet blocks, shape (quiet, k), and within a block, shape (block, k)."""
    turn = 2j * np.pi * hertz
    return np.exp(quiet.begin_s[:, None] * turn), np.exp(quiet.fine_s[:, None] * turn)


def polish(quiet: Quiet, hertz: Array) -> Array:
    """One Gauss-Newton step for each line's frequency on the quiet samples, shape (k,) [Hz].

    Parameters
    ----------
    quiet
        The quiet blocks.
    hertz
        Frequencies, shape (k,) [Hz].
    """
    k, tables = len(hertz), _turns(quiet, hertz)
    plain, later = _with_sound(quiet, *tables)
    slope = 2j * np.pi * _amplitudes(quiet, hertz)
    square = _squares(quiet, *tables, slope)
    right = np.concatenate([plain.real, plain.imag, (slope * later).real])
    step = _solve(square, right)[2 * k :]
    span_s = float(quiet.begin_s[-1] - quiet.begin_s[0] + quiet.fine_s[-1])
    limit = 0.5 / (span_s + 0.1)
    return np.asarray(hertz + np.clip(step, -limit, limit))


def _with_sound(quiet: Quiet, coarse: Complexes, fine: Complexes) -> tuple[Complexes, Complexes]:
    """Sums of the quiet samples with each line, and with it and the time from their middle [s], shape (k,) each."""
    inner = quiet.own @ fine * coarse
    later = quiet.own @ (fine * quiet.fine_s[:, None]) * coarse
    return inner.sum(axis=0), quiet.coarse_s @ inner + later.sum(axis=0)


def _squares(quiet: Quiet, coarse: Complexes, fine: Complexes, slope: Complexes) -> Array:
    """Sums of products of the columns Re e, Im e and Re(slope·t·e) over the quiet samples, shape (3k, 3k)."""
    k, plain, turned = len(slope), list[Complexes](), list[Complexes]()
    for pairs, other in ((plain, (coarse, fine)), (turned, (coarse.conj(), fine.conj()))):
        far = [(other[0].T * quiet.coarse_s**m) @ coarse for m in range(3)]
        near = [(other[1].T * quiet.fine_s**m) @ fine for m in range(3)]
        pairs += [far[0] * near[0], far[1] * near[0] + far[0] * near[1]]
        pairs.append(far[2] * near[0] + 2 * far[1] * near[1] + far[0] * near[2])
    (zeroth, first, second), (level, by_time, by_square) = plain, turned
    square = np.empty((3 * k, 3 * k))
    square[:k, :k], square[k : 2 * k, k : 2 * k] = (level + zeroth).real, (level - zeroth).real
    square[:k, k : 2 * k] = (zeroth + level).imag
    square[:k, 2 * k :] = (slope * (first + by_time)).real
    square[k : 2 * k, 2 * k :] = (slope * (first - by_time)).imag
    square[2 * k :, 2 * k :] = (slope[:, None] * slope * second + slope.conj()[:, None] * slope * by_square).real
    for low, high in ((0, 1), (0, 2), (1, 2)):
        square[high * k : (high + 1) * k, low * k : (low + 1) * k] = square[
            low * k : (low + 1) * k, high * k : (high + 1) * k
        ].T
    return np.asarray(0.5 * square)


def _amplitudes(quiet: Quiet, hertz: Array) -> Complexes:
    """Amplitudes a − ib of lines a·cos ωt + b·sin ωt fitted to the quiet samples, shape (k,) [-]."""
    k, tables = len(hertz), _turns(quiet, hertz)
    plain = _with_sound(quiet, *tables)[0]
    square = _squares(quiet, *tables, np.zeros(k, dtype=np.complex128))[: 2 * k, : 2 * k]
    found = _solve(square, np.concatenate([plain.real, plain.imag]))
    return np.asarray(found[:k] - 1j * found[k:])


def sinusoids(quiet: Quiet, hertz: Array, count: int) -> Array:
    """The lines fitted to the quiet samples, evaluated everywhere, shape (count,) [-].

    Parameters
    ----------
    quiet
        The quiet blocks.
    hertz
        Frequencies, shape (k,) [Hz].
    count
        Samples of the recording [-].
    """
    begin_s = np.arange(-(-count // quiet.block)) * quiet.block / quiet.rate_hz
    turn = 2j * np.pi * hertz
    coarse = np.exp(begin_s[:, None] * turn) * _amplitudes(quiet, hertz)
    fine = np.exp(quiet.fine_s[:, None] * turn)
    return np.asarray((coarse.real @ fine.real.T - coarse.imag @ fine.imag.T).ravel()[:count])


def _solve(square: Array, right: Array) -> Array:
    """Least squares by the normal equations, slightly damped."""
    damped = square.copy()
    damped[np.diag_indices_from(damped)] *= 1 + 1e-9
    damped[np.diag_indices_from(damped)] += 1e-12
    return np.asarray(np.linalg.solve(damped, right))
