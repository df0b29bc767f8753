"""A partial heard in a room: what the room keeps sounding is noise that drives the tone and dies away.

A room answers a click with the click itself and a tail g(u) that is Gaussian noise under a dying exponential. So a
partial y, turned down to rest, obeys dy/dt = λ·y + A·g(t) with λ = iω − d: a first-order process whose driving noise
dies away, and the microphone adds white noise. The likelihood of λ comes from a Kalman filter; strength and decay of
the tail, level of the noise and glide are averaged over.

References
----------
A. C. Harvey, Forecasting, structural time series models and the Kalman filter (1989), ch. 3 (likelihood by its
innovations); M. R. Schroeder, J. Acoust. Soc. Am. 37 (1965) 409-412, and J.-D. Polack, Applied Acoustics 38 (1993)
235-244 (a room's tail as dying noise).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from twoturn.pluck.bands import Band, Common, Waves
from twoturn.pluck.glide import GLIDE_PRIOR, ODDS
from twoturn.pluck.working import Array, Ints

TAILS = np.array([1e-6, 0.02, 0.06, 0.2, 0.6, 1.5])  # energy of the tail over that of the sound itself [-]
TAIL_S = np.array([0.03, 0.08, 0.2])  # decay time of its amplitude [s]
LEVELS = np.array([1.0, 4.0, 16.0])  # of the noise, over what the plucks show
DRY_ODDS = 4.0  # of no tail against one of the others [-]
GLIDES = np.linspace(0.0, 0.024, 13)
NO_GLIDE = 1 / (1 + ODDS)  # chance that the plucks were gentle [-]
FINER = 0.001 * np.array([-1.0, -0.5, -0.25, -0.1, 0.0, 0.1, 0.25, 0.5, 1.0])
ROUNDS = 4
OUTLIER = 11.0  # square of an innovation over its variance that is no chance
UNHEARD = 1e12
AVERAGED = 1.5  # means over a step hide a third of the driving noise, and neighbours share it


@dataclass(frozen=True, eq=False)
class InRoom:
    """Partials as they would be without the room.

    Attributes
    ----------
    number
        Of the partials, shape (k,) [-].
    omega, variance
        Frequencies [rad/sample] and their variances [rad²/sample²], shape (k,).
    dry
        Chance that there is no room to be heard [-].
    """

    number: Ints
    omega: Array
    variance: Array
    dry: float


@dataclass(frozen=True, eq=False)
class Lanes:
    """Bands by grid of tail, tail's decay and noise level, one lane each; shape (lanes, steps) or (lanes,).

    Attributes
    ----------
    values, noise, heard
        Sparse samples [-], their variances [-] and whether they were heard (0 or 1).
    driven
        Variance that the room adds on the way to each sample [-].
    step
        Length of a step [sample].
    sharper
        Turn that a glide of 1 adds on the way to each sample [rad].
    """

    values: Waves
    noise: Array
    heard: Array
    driven: Array
    step: Array
    sharper: Array

    @cached_property
    def by_step(self) -> tuple[Waves, Array, Array, Array]:
        """Values, noise, driven and sharper, one step after the other, shape (steps, lanes)."""
        noise, driven, sharper = (np.ascontiguousarray(part.T) for part in (self.noise, self.driven, self.sharper))
        return np.ascontiguousarray(self.values.T), noise, driven, sharper


@dataclass(frozen=True, eq=False)
class Passed:
    """What one pass of the filter leaves, shape (lanes,): costs, slopes and curvatures by λ and by glide."""

    cost: Array
    by_rate: Waves
    rate_rate: Array
    rate_glide: Waves
    by_glide: Array
    glide_glide: Array
    surprise: Array


def in_room(bands: Sequence[Band], common: Common, rate_hz: float) -> InRoom:
    """Frequencies of partials behind a room's tail.

    Parameters
    ----------
    bands
        The partials.
    common
        First partial, B and the glide that was taken off already.
    rate_hz
        Samples a second of the recording [Hz].
    """
    lanes, rate = laid_out(bands, common, rate_hz), first_rates(bands)
    grid = len(TAILS) * len(TAIL_S) * len(LEVELS)
    least = np.repeat(np.array([-band.decay for band in bands]), grid)
    rates = np.repeat(rate, grid)
    for again in (False, True):
        for _ in range(ROUNDS):
            rates = _nearer(lanes, rates, least)
        passed = passes(lanes, rates, glide=True)
        odd = 1.0 if again else _odd(passed, grid)
        if not np.any(odd > 1):
            break
        lanes = replace(lanes, noise=lanes.noise * odd)
    return averaged(bands, common, rates, passed)


def laid_out(bands: Sequence[Band], common: Common, rate_hz: float) -> Lanes:
    """All bands side by side, once for each point of the grid.

    Parameters
    ----------
    bands
        The partials.
    common
        First partial, B and glide.
    rate_hz
        Samples a second [Hz].
    """
    tail, tail_s, level = (axis.ravel() for axis in np.meshgrid(TAILS, TAIL_S, LEVELS, indexing="ij"))
    steps, fades = max(len(band.values) for band in bands), tail_s * rate_hz
    rows: list[list[Array | Waves]] = []
    for band in bands:
        pad = (0, steps - len(band.values))
        noise = np.pad(np.where(np.isfinite(band.noise), band.noise, UNHEARD), pad, constant_values=UNHEARD)
        time = band.time[0] + band.step * np.arange(steps)
        first = np.abs(band.values[:2]) ** 2 * np.exp(2 * band.decay * band.time[:2])
        fade = np.exp(-2 * np.maximum(time, 0.0)[None, :] / fades[:, None])
        driven = (2 * tail / fades)[:, None] * band.step * fade * float(first.mean())
        values = np.pad(np.where(np.isfinite(band.noise), band.values, 0.0), pad)
        sharper = band.omega * band.step * np.exp(-common.glide_rate * (time - band.step / 2))
        ones = np.ones((len(tail), 1))
        heard = ones * (noise < UNHEARD)
        rows.append([ones * values, level[:, None] * noise, heard, driven, ones[:, 0] * band.step, ones * sharper])
    values, noise, heard, driven, step, sharper = (np.concatenate(column) for column in zip(*rows, strict=True))
    return Lanes(
        np.asarray(values, dtype=np.complex128), *(np.real(part) for part in (noise, heard, driven, step, sharper))
    )


def first_rates(bands: Sequence[Band]) -> Waves:
    """λ of each band from how one sample follows the other while nine tenths of the energy pass, shape (bands,)."""
    rates = []
    for band in bands:
        values = np.where(np.isfinite(band.noise), band.values, 0.0)
        noise = np.where(np.isfinite(band.noise), band.noise, 0.0)
        energy = np.cumsum(np.abs(values) ** 2 - noise)
        part = values[: int(np.argmax(energy >= 0.9 * energy.max())) + 2]
        turn, whole = np.sum(part[1:] * part[:-1].conj()), np.sum(np.abs(part[:-1]) ** 2)
        rate = np.log(turn / max(whole - np.sum(noise[: len(part) - 1]), 0.1 * whole + 1e-30) + 1e-30) / band.step
        reach = 3 * band.decay
        rates.append(complex(min(rate.real, -0.3 * band.decay), np.clip(rate.imag, -reach, reach)))
    return np.array(rates)


@dataclass(frozen=True, eq=False)
class _Filtered:
    """The filter's way through all lanes, shape (steps − 1, lanes) each.

    Innovations, their variances, slopes of the prediction by λ, and the lanes' factors of passing from step to step.
    """

    new: Waves
    total: Array
    by_rate: Waves
    state: Waves
    kept: Waves

    def sums(self) -> tuple[Waves, Array]:
        """Slope and curvature of the cost by λ, shape (lanes,) each."""
        turned = self.by_rate.conj() / self.total
        return np.einsum("ij,ij->j", turned, self.new), np.einsum("ij,ij->j", turned, self.by_rate).real


def _filtered(lanes: Lanes, rates: Waves) -> _Filtered:
    """One pass: variances first, which no sample changes; states and slopes are then two products a step each."""
    values, noise, driven, _ = lanes.by_step
    steps, count = values.shape
    factor = np.exp(rates * lanes.step)
    shrink, known = np.abs(factor) ** 2, noise[0]
    doubt, total = np.empty((steps - 1, count)), np.empty((steps - 1, count))
    for k in range(steps - 1):
        np.multiply(shrink, known, out=doubt[k])
        doubt[k] += driven[k + 1]
        np.add(doubt[k], noise[k + 1], out=total[k])
        known = doubt[k] * noise[k + 1]
        known /= total[k]
    kept = np.asarray(factor * (noise[1:] / total), dtype=np.complex128)
    entering = (doubt / total) * values[1:]
    state, slope = np.empty((steps, count), dtype=np.complex128), np.empty((steps, count), dtype=np.complex128)
    state[0], slope[0] = values[0], 0.0
    for k in range(steps - 1):
        np.multiply(kept[k], state[k], out=state[k + 1])
        state[k + 1] += entering[k]
    moved = lanes.step * state[:-1]
    for k in range(steps - 1):
        moved[k] += slope[k]
        np.multiply(kept[k], moved[k], out=slope[k + 1])
    return _Filtered(values[1:] - factor * state[:-1], total, factor * moved, state, kept)


def passes(lanes: Lanes, rates: Waves, *, glide: bool = False) -> Passed:
    """One pass of the Kalman filter over all lanes, with the slopes of the innovations by λ and glide.

    The gains follow from the variances, which move little with λ; so innovations are analytic in it, and one complex
    slope stands for decay and frequency.

    Parameters
    ----------
    lanes
        The bands.
    rates
        λ of each lane, shape (lanes,) [1/sample].
    glide
        Whether slopes by glide are wanted too.
    """
    way = _filtered(lanes, rates)
    heard, sharper = lanes.heard.T, lanes.by_step[3]
    surprise = np.zeros(heard.shape)
    surprise[1:] = heard[1:] * (way.new.real**2 + way.new.imag**2) / way.total
    cost = np.sum(heard[1:] * np.log(way.total), axis=0) + surprise.sum(axis=0)
    rate_slope, rate_rate = way.sums()
    rate_glide, glide_slope, glide_glide = np.zeros(len(rates), dtype=np.complex128), *np.zeros((2, len(rates)))
    if glide:
        entering = (1j * sharper[1:]) * way.state[:-1]
        for k in range(1, len(entering)):
            entering[k] += way.kept[k - 1] * entering[k - 1]
        by_glide = np.exp(rates * lanes.step) * entering
        rate_glide = np.einsum("ij,ij->j", way.by_rate.conj() / way.total, by_glide)
        turned = by_glide.conj() / way.total
        glide_glide = np.einsum("ij,ij->j", turned, by_glide).real
        glide_slope = np.einsum("ij,ij->j", turned, way.new).real
    return Passed(cost, rate_slope, np.maximum(rate_rate, 1e-30), rate_glide, glide_slope, glide_glide, surprise.T)


def _nearer(lanes: Lanes, rates: Waves, least: Array) -> Waves:
    """λ moved by one Gauss-Newton step that stays inside what a partial can be."""
    by_rate, rate_rate = _filtered(lanes, rates).sums()
    step, limit = by_rate / np.maximum(rate_rate, 1e-30), -0.5 * least
    decay = np.clip(rates.real + np.clip(step.real, -limit, limit), 4 * least, 0.15 * least)
    turn = np.clip(rates.imag + np.clip(step.imag, -limit, limit), 4 * least, -4 * least)
    return np.asarray(decay + 1j * turn)


def _odd(passed: Passed, grid: int) -> Array:
    """How much less samples shall count that even the best lane of a band did not expect, shape (lanes, steps) [-]."""
    bands = len(passed.cost) // grid
    best = np.argmin(passed.cost.reshape(bands, grid), axis=1) + grid * np.arange(bands)
    return np.repeat(np.where(passed.surprise[best] > OUTLIER, passed.surprise[best], 1.0), grid, axis=0)


def averaged(bands: Sequence[Band], common: Common, rates: Waves, passed: Passed) -> InRoom:
    """Mean and variance of each partial over tails, noise levels, glides and both versions of its band.

    Parameters
    ----------
    bands
        The partials.
    common
        First partial, B and the glide that was taken off already.
    rates
        λ of each lane, shape (lanes,) [1/sample].
    passed
        The last pass of the filter.
    """
    shape = (len(bands), len(TAILS) * len(TAIL_S), len(LEVELS))
    glides = np.unique(np.concatenate([GLIDES, np.maximum(common.glide + FINER, 0.0)]))
    moved = (glides - common.glide)[:, None]
    slope = passed.rate_glide / passed.rate_rate
    bend = np.maximum(passed.glide_glide - np.abs(passed.rate_glide) ** 2 / passed.rate_rate, 0.0)
    lean = passed.by_glide - (slope.conj() * passed.by_rate).real
    cost = (passed.cost - 2 * lean * moved + bend * moved**2).reshape(-1, *shape)
    most = np.repeat([2 * band.decay for band in bands], shape[1] * shape[2])
    change = (passed.by_rate / passed.rate_rate).imag - slope.imag * moved
    turn = rates.imag + np.clip(change, -most, most)
    omega = turn.reshape(-1, *shape) + np.array([band.omega for band in bands])[:, None, None]
    own = np.broadcast_to(0.5 * AVERAGED / passed.rate_rate, turn.shape).reshape(cost.shape)
    cost = cost + np.array([band.foreign for band in bands])[:, None, None]
    total, middle, spread = np.zeros(cost.shape[:1] + cost.shape[2:3]), list[Array](), list[Array]()
    numbers = np.array([band.number for band in bands])
    for number in np.unique(numbers):
        mine = numbers == number
        parts = (np.moveaxis(part[:, mine], 1, 2).reshape(*total.shape, -1) for part in (cost, omega, own))
        weight, mean, variance = _mixed(*parts)
        total, middle, spread = total + weight, [*middle, mean], [*spread, variance]
    hard = np.exp(-0.5 * (glides[1:] / GLIDE_PRIOR) ** 2) * np.gradient(glides)[1:]
    total += np.log(np.concatenate([[NO_GLIDE], (1 - NO_GLIDE) * hard / hard.sum()]))[:, None]
    total[:, : len(TAIL_S)] += np.log(DRY_ODDS)
    chance = np.exp(total - total.max())
    chance /= chance.sum()
    mean = np.array([np.sum(chance * part) for part in middle])
    pairs = zip(spread, middle, mean, strict=True)
    variance = np.array([np.sum(chance * (own + (part - one) ** 2)) for own, part, one in pairs])
    dry = float(chance[:, : len(TAIL_S)].sum())
    return InRoom(np.unique(numbers), mean, variance, dry)


def _mixed(cost: Array, omega: Array, own: Array) -> tuple[Array, Array, Array]:
    """Log-weight, mean and variance over the last axis of a mixture with these costs."""
    least = cost.min(axis=-1, keepdims=True)
    weight = np.exp(-np.minimum(cost - least, 300.0))
    total = weight.sum(axis=-1, keepdims=True)
    weight /= total
    mean = np.sum(weight * omega, axis=-1)
    spread = np.sum(weight * (own + (omega - mean[..., None]) ** 2), axis=-1)
    return (np.log(total) - least)[..., 0], mean, spread
