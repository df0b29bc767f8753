"""Damped tones of many stretches of sound at once, fitted by least squares without a table of samples."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from twoturn.pluck.sums import Complexes, Stretches, both, moments, products, series
from twoturn.pluck.working import Array, Bools, Ints

SHORTEST_S = 0.002
RIDGE = 1e-9
FACTORS = (1.0, 0.4, 0.1)
ABSENT = -1.0 + 1.0j  # λ in place of a tone that a row does not have [1/sample]


@dataclass(frozen=True, eq=False)
class Fits:
    """Tones of each stretch with amplitudes by linear least squares.

    Attributes
    ----------
    rate
        λ = iω − d, shape (rows, k) [1/sample].
    weight
        a − ib of a·cos ωt + b·sin ωt, shape (rows, k) [-].
    heard
        Which of the tones a row has, shape (rows, k).
    cost
        Sum of squares of what is left, shape (rows,) [-].
    plain, later
        Sums of x·exp(λt) and of x·t·exp(λt), shape (rows, k).
    """

    rate: Complexes
    weight: Complexes
    heard: Bools
    cost: Array
    plain: Complexes
    later: Complexes

    def chosen(self, rows: Bools) -> Fits:
        """Only these rows."""
        return Fits(*(part[rows] for part in vars(self).values()))

    def put(self, rows: Ints, other: Fits) -> None:
        """Put others in place of these rows."""
        for mine, new in zip(vars(self).values(), vars(other).values(), strict=True):
            mine[rows] = new


def solve(square: Array, right: Array) -> Array:
    """Scaled, slightly damped normal equations, shape (rows, columns); 0 in columns whose square is 0.

    Parameters
    ----------
    square
        Sums of products of the columns, shape (rows, columns, columns) [-].
    right
        Sums of products with the values, shape (rows, columns) [-].
    """
    scaled, scale = _scaled(square)
    return np.asarray(np.linalg.solve(scaled, (right * scale)[..., None])[..., 0] * scale)


def spread(square: Array) -> Array:
    """Diagonal of the inverse of normal equations, shape (rows, columns).

    Parameters
    ----------
    square
        Sums of products of the columns, shape (rows, columns, columns) [-].
    """
    scaled, scale = _scaled(square)
    return np.asarray(np.linalg.inv(scaled).diagonal(axis1=1, axis2=2) * scale**2)


def _scaled(square: Array) -> tuple[Array, Array]:
    """Normal equations scaled to a diagonal of one and damped, and the scale; a column of zeros stays one."""
    size = np.einsum("ijj->ij", square)
    scale = np.where(size > 0, 1 / (np.sqrt(np.maximum(size, 0.0)) + 1e-12), 0.0)
    scaled = square * scale[:, :, None]
    scaled *= scale[:, None, :]
    np.einsum("ijj->ij", scaled)[:] += RIDGE
    return scaled, scale


def fit(sound: Stretches, rate: Complexes, heard: Bools) -> Fits:
    """Amplitudes of tones of given frequencies and decays.

    Parameters
    ----------
    sound
        The stretches.
    rate
        λ of the tones, shape (rows, k) [1/sample].
    heard
        Which of them a row has, shape (rows, k).
    """
    k = rate.shape[1]
    plain, later = moments(sound, rate)
    square = products(series(rate, sound.count, 0)[0])
    if not heard.all():
        every = np.concatenate([heard, heard], axis=1)
        square *= every[:, :, None] & every[:, None, :]
    right = np.concatenate([plain.real, plain.imag], axis=1)
    found = solve(square, right)
    taken = np.einsum("ij,ij->i", found, 2 * right - (square @ found[..., None])[..., 0])
    return Fits(rate, found[:, :k] - 1j * found[:, k:], heard, sound.power - taken, plain, later)


def slopes_square(sound: Stretches, fits: Fits) -> Array:
    """Sums of products of the tones and of t times them, shape (rows, 4k, 4k): real parts of both, imaginary of both.

    Parameters
    ----------
    sound
        The stretches.
    fits
        Their tones.
    """
    k, weight = fits.rate.shape[1], fits.weight
    zeroth, first, second = series(fits.rate, sound.count, 2)
    own = both(weight)[..., None]
    other = weight[:, None, None, :]
    pairs = np.empty((*zeroth.shape[:2], 2 * k, 2 * k), dtype=np.complex128)
    pairs[..., :k, :k] = zeroth
    pairs[..., :k, k:] = first * other
    pairs[..., k:, :k] = first * own
    pairs[..., k:, k:] = second * own * other
    square = products(pairs)
    if not fits.heard.all():
        every = np.concatenate([fits.heard] * 4, axis=1)
        square *= every[:, :, None] & every[:, None, :]
    return square


def _step(sound: Stretches, fits: Fits) -> Complexes:
    """Gauss-Newton step of λ, amplitudes free, shape (rows, k)."""
    k = fits.rate.shape[1]
    square = slopes_square(sound, fits)
    right = np.concatenate([fits.plain, fits.weight * fits.later], axis=1)
    right = np.concatenate([right.real, right.imag], axis=1)
    weight = np.concatenate([fits.weight.real, -fits.weight.imag], axis=1)
    columns = np.concatenate([np.arange(k), np.arange(2 * k, 3 * k)])
    right = right - (square[:, :, columns] @ weight[..., None])[..., 0]
    if not fits.heard.all():
        right = right * np.concatenate([fits.heard] * 4, axis=1)
    found = solve(square, right)
    return np.asarray(-found[:, k : 2 * k] - 1j * found[:, 3 * k :])


def _moved(rate: Complexes, step: Complexes, rate_hz: float) -> Complexes:
    """Frequencies and decays moved by a step that stays inside what a tone can be."""
    decay, omega = -rate.real, rate.imag
    limit, reach = 0.5 * decay + 0.02, 0.15 * omega + 0.003
    decay = np.minimum(
        np.maximum(decay + np.minimum(np.maximum(step.real, -limit), limit), 0.0), 1 / (SHORTEST_S * rate_hz)
    )
    omega = np.minimum(np.maximum(omega + np.minimum(np.maximum(step.imag, -reach), reach), 0.01), 2.9)
    return np.asarray(1j * omega - decay)


def refine_all(sound: Stretches, rate: Complexes, heard: Bools, rate_hz: float, rounds: int) -> Fits:
    """Gauss-Newton with a shortened step where a full one does not help; all tones of each stretch at once.

    Parameters
    ----------
    sound
        The stretches.
    rate
        λ of the tones to start from, shape (rows, k) [1/sample].
    heard
        Which of them a row has, shape (rows, k).
    rate_hz
        Samples a second [Hz].
    rounds
        Most rounds [-].
    """
    best = fit(sound, rate, heard)
    going = np.ones(len(sound), dtype=np.bool_)
    for _ in range(rounds):
        if not going.any():
            break
        before = best.cost.copy()
        part, own = (sound, best) if going.all() else (sound.chosen(going), best.chosen(going))
        step = _step(part, own)
        rows = np.flatnonzero(going)
        for factor in FACTORS:
            trial = fit(part, _moved(own.rate, factor * step, rate_hz), own.heard)
            better = trial.cost < own.cost
            best.put(rows[better], trial.chosen(better))
            worse = ~better
            if not worse.any():
                break
            rows, part, own, step = rows[worse], part.chosen(worse), own.chosen(worse), step[worse]
        going &= before - best.cost >= 0.01 + 1e-4 * best.cost
    return best
