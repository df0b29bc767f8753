"""Each partial of a recording's plucks by itself: turned down to rest, sampled sparsely, laid on each other."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from twoturn.pluck.modes import Modes, turns
from twoturn.pluck.series import stretch
from twoturn.pluck.working import Array, Bools, Ints

Waves = NDArray[np.complex128]
BEFORE_S = 0.005  # the sparse samples are counted from here before the onset
STEPS = 48  # most sparse samples aimed at over the stretch
FASTEST = 0.25  # of a decay time, the longest step
LEAST_ENERGY = 40.0
ASTRAY = 0.035  # a tone farther from its partial's place is another sound's [-]
REACH, REACH_SHARE, REACH_MOST = 5.0, 0.05, 0.3  # what counts as the same tone: widths, share of it, share of f₁
SETTLING = 6  # rounds in which size and shape of the plucks are found
OUTLYING = 6.0


@dataclass(frozen=True, eq=False)
class Ring:
    """What one pluck left to be looked at again.

    Attributes
    ----------
    samples
        The stretch that was fitted, shape (n,), background of standard deviation 1 [-].
    rate_hz
        Samples a second [Hz].
    late
        Samples from the onset to the stretch's first [-].
    modes, number
        All tones of the stretch and the partial each is, 0 for foreign ones [-], shape (k,).
    glide, glide_rate
        Relative sharpness at the start [-] and how fast it goes [1/sample].
    """

    samples: Array
    rate_hz: float
    late: int
    modes: Modes
    number: Ints
    glide: float
    glide_rate: float

    @cached_property
    def waves(self) -> Waves:
        """Each tone a·cos ωt + b·sin ωt as the real part of what turns one way, shape (n, k) [-]."""
        turn = turns(self.modes.omega, self.modes.decay, len(self.samples))
        return np.asarray(turn * self.modes.weight)

    @cached_property
    def energy(self) -> float:
        """Energy of the partials [-]."""
        return max(1.0, float(self.modes.energy(len(self.samples))[self.number > 0].sum()))


@dataclass(frozen=True, eq=False)
class Band:
    """One partial, all plucks of a recording laid on each other.

    Attributes
    ----------
    number
        Of the partial [-].
    omega, decay
        Frequency by which it was turned down, and decay rate to start from [rad/sample], [1/sample].
    values
        Sparse samples, shape (steps,) [-].
    noise
        Variance of each, shape (steps,) [-]; infinite where no pluck covers it.
    time
        Middle of each after the onset, shape (steps,) [sample].
    step
        Samples from one to the next [-].
    foreign
        What taking off the foreign tones within the partial's own width must gain in log-likelihood [-].
    """

    number: int
    omega: float
    decay: float
    values: Waves
    noise: Array
    time: Array
    step: int
    foreign: float


@dataclass(frozen=True)
class Common:
    """What the plucks share: first partial [Hz], B [-], glide of the strongest [-] and its rate [1/sample]."""

    f1_hz: float
    inharmonicity: float
    glide: float
    glide_rate: float


def common_glide(rings: Sequence[Ring]) -> tuple[float, float]:
    """Glide of the strongest pluck, where all glide by their energy, and its mean rate [-], [1/sample].

    Parameters
    ----------
    rings
        The plucks.
    """
    energy = np.array([ring.energy for ring in rings])
    size = energy / energy.max()
    glide = np.array([ring.glide for ring in rings])
    rate = float(np.average([ring.glide_rate for ring in rings], weights=energy))
    return float(np.sum(size * glide * energy) / np.sum(size**2 * energy)), rate


def bands_of(rings: Sequence[Ring], common: Common) -> list[Band]:
    """The partials of a recording, those with foreign tones inside their width in two versions: with and without.

    Parameters
    ----------
    rings
        Plucks of one span in one recording.
    common
        What they share.
    """
    found: list[Band] = []
    for number in sorted({int(n) for ring in rings for n in ring.number if n > 0}):
        start = _start(rings, common, number)
        if start is None:
            continue
        omega, decay = start
        reach = _reach(rings, common, omega, decay)
        foreign = sum(tones_cost(ring, _inside(ring, omega, reach)) for ring in rings)
        for apart in (False, True)[: 2 if foreign else 1]:
            band = _band(rings, common, (number, omega, decay), reach if not apart else 0.0)
            if band is not None:
                found.append(Band(*band, foreign if apart else 0.0))
    return found


def _start(rings: Sequence[Ring], common: Common, number: int) -> tuple[float, float] | None:
    """Frequency and decay of one partial to start from; None where it is weak or not where it should be."""
    rows = [
        (ring.modes.omega[k], ring.modes.decay[k], ring.modes.chosen(np.array([k])).energy(len(ring.samples))[0])
        for ring in rings
        for k in np.flatnonzero(ring.number == number)[:1]
    ]
    omega, decay, energy = np.array(rows).T
    if energy.sum() < LEAST_ENERGY:
        return None
    middle = float(np.average(omega, weights=energy))
    place = number * common.f1_hz * float(stretch(np.array(float(number)), common.inharmonicity))
    if abs(middle * rings[0].rate_hz / (2 * np.pi) / place - 1) > ASTRAY:
        return None
    return middle, float(np.average(decay, weights=energy))


def _reach(rings: Sequence[Ring], common: Common, omega: float, decay: float) -> float:
    """How far from a partial a tone may lie and still be part of it, as a room splits it [rad/sample]."""
    longest = max(len(ring.samples) for ring in rings)
    wide = max(REACH * max(decay, 2.0 / longest), REACH_SHARE * omega)
    return min(wide, REACH_MOST * 2 * np.pi * common.f1_hz / rings[0].rate_hz)


def _inside(ring: Ring, omega: float, reach: float) -> Bools:
    """Which foreign tones lie within a partial's reach, shape (k,)."""
    return np.asarray((ring.number == 0) & (np.abs(ring.modes.omega - omega) < reach))


def tones_cost(ring: Ring, chosen: Bools) -> float:
    """What tones fitted to a stretch must gain in log-likelihood to be believed [-].

    Each has four numbers, and each of these is known to some 1/√E of its range where the tone has the energy E: so the
    evidence of a tone is its likelihood over E².

    Parameters
    ----------
    ring
        The pluck.
    chosen
        Which of its tones, shape (k,).

    References
    ----------
    R. E. Kass and A. E. Raftery, Bayes factors, J. Am. Stat. Assoc. 90 (1995) 773-795, sec. 4.1 (Laplace's method).
    """
    if not chosen.any():
        return 0.0
    energy = ring.modes.chosen(chosen).energy(len(ring.samples))
    return float(2 * np.log(np.maximum(energy, 1.0)).sum())


def _band(
    rings: Sequence[Ring], common: Common, start: tuple[int, float, float], reach: float
) -> tuple[int, float, float, Waves, Array, Array, int] | None:
    """One partial turned down to rest and sampled once a turn of the first partial, or less often."""
    number, omega, decay = start
    rate_hz = rings[0].rate_hz
    period, longest = rate_hz / common.f1_hz, max(len(ring.samples) for ring in rings)
    step = max(2, round(max(1, int(min(longest / period / STEPS, FASTEST / max(decay, 1e-6) / period))) * period))
    before = round(BEFORE_S * rate_hz)
    steps = max((len(ring.samples) + ring.late + before) // step for ring in rings)
    table = np.zeros((len(rings), max(steps, 1)), dtype=np.complex128)
    known = np.zeros(table.shape, dtype=np.bool_)
    strongest = max(ring.energy for ring in rings)
    for row, ring in enumerate(rings):
        first = max(0, -(-(ring.late + before) // step))
        last = (len(ring.samples) + ring.late + before) // step
        if last - first < 3:
            continue
        rest = turned_down(ring, common, (number, omega, ring.energy / strongest), reach)
        offset = first * step - ring.late - before
        table[row, first:last] = rest[offset : offset + (last - first) * step].reshape(-1, step).mean(axis=1)
        known[row, first:last] = True
    used = known.any(axis=1)
    if not used.any():
        return None
    values, noise = laid_on(table[used], known[used], 4.0 / step)
    begin = int(np.flatnonzero(np.isfinite(noise))[0])
    time = np.asarray((np.arange(begin, len(values)) + 0.5) * step - before, dtype=np.float64)
    return number, omega, decay, values[begin:], noise[begin:], time, step


def turned_down(ring: Ring, common: Common, start: tuple[int, float, float], reach: float) -> Waves:
    """One partial of one pluck turned down to rest, the other tones and the glide known so far taken off, shape (n,).

    Parameters
    ----------
    ring
        The pluck.
    common
        What all plucks share.
    start
        Number [-] and frequency [rad/sample] of the partial; energy of the pluck over the strongest one's [-].
    reach
        Foreign tones nearer than this stay in [rad/sample].
    """
    number, omega, size = start
    other = ~((ring.number == number) | _inside(ring, omega, reach))
    count = len(ring.samples)
    mirrored = (ring.waves @ (~other).astype(np.float64)).conj()  # of negative frequency: it does not average out
    rest = 2 * (ring.samples - ring.waves.real @ other.astype(np.float64)) - mirrored
    t = np.arange(count)
    sharp = common.glide * size * np.exp(-common.glide_rate * (t + ring.late)) / common.glide_rate
    return np.asarray(rest * np.exp(-1j * omega * (t - sharp)))


def laid_on(table: Waves, known: Bools, noise: float) -> tuple[Waves, Array]:
    """Plucks laid on each other by size and phase, by alternating least squares; shape (steps,) each.

    In one room every pluck rings alike but for size and phase. Where three or more show what one has beside that
    (a knock, a word), that counts less.

    Parameters
    ----------
    table
        Plucks, shape (plucks, steps) [-].
    known
        Which of its values were heard.
    noise
        Variance of each by white noise alone [-].

    Returns
    -------
    tuple
        Values in the size of the strongest pluck [-], and the variance of each [-], infinite where none was heard.
    """
    weight = known.astype(np.float64)
    shape = table[int(np.argmax(np.sum(np.abs(table) ** 2, axis=1)))].copy()
    size = np.ones(len(table), dtype=np.complex128)
    for rounds in range(SETTLING):
        size = (weight * table * shape.conj()).sum(axis=1) / ((weight * np.abs(shape) ** 2).sum(axis=1) + 1e-30)
        share = (weight * np.abs(size[:, None]) ** 2).sum(axis=0)
        shape = (size.conj()[:, None] * weight * table).sum(axis=0) / (share + 1e-30)
        if rounds >= 2 and len(table) > 2:
            left = np.where(known, np.abs(table - size[:, None] * shape) ** 2, 0.0)
            usual = max(float(np.median(left[known])) / 0.69, noise)
            weight = known / np.maximum(1.0, left / (OUTLYING * usual))
    largest = float(np.abs(size).max()) + 1e-30
    share, shape, size = share / largest**2, shape * largest, size / largest
    heard = share > 1e-6
    free = int(known.sum()) - int(heard.sum()) - len(table)
    if free >= SETTLING:
        left = np.where(known, np.abs(table - size[:, None] * shape) ** 2, 0.0)
        noise = max(noise, float((weight * left).sum()) / free)
    return shape, np.where(heard, noise / np.maximum(share, 1e-30), np.inf)
