"""Sums over damped tones exp(λ·t), λ = iω − d, of many stretches of sound at once.

Sums of products of tones are geometric series with t⁰, t¹ and t² and need no samples. Sums of a sound with tones are
taken in blocks: one product of matrices with the tones of one block, then one turn a block.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from twoturn.pluck.working import Array, Bools, Ints

Complexes = NDArray[np.complex128]

BLOCK = 32
FEW = 800  # powers that are taken one by one as fast as by doubling
NEAR_ONE = 0.2  # |1 − z|·n under which the closed form loses digits and a power series is taken
TERMS = 10
ORDERS = np.arange(1.0, TERMS)


@dataclass(frozen=True, eq=False)
class Stretches:
    """Stretches of sound in blocks of ``BLOCK`` samples.

    Attributes
    ----------
    blocks
        Samples, zero after the end, shape (rows, blocks, BLOCK) [-].
    count
        Samples of each, shape (rows,) [-].
    power
        Sum of their squares, shape (rows,) [-].
    """

    blocks: Array
    count: Ints
    power: Array

    def __len__(self) -> int:
        return len(self.count)

    @property
    def flat(self) -> Array:
        """The samples in rows, zero after the end, shape (rows, blocks·BLOCK) [-]."""
        return self.blocks.reshape(len(self.count), -1)

    def chosen(self, rows: Bools | Ints) -> Stretches:
        """Only these rows."""
        count = self.count[rows]
        most = -(-int(count.max(initial=1)) // BLOCK)
        return Stretches(self.blocks[rows][:, :most], count, self.power[rows])

    def without(self, rate: Complexes, weight: Complexes) -> Stretches:
        """What is left when these tones are taken off."""
        left = self.flat - sounding(rate, weight, self.blocks.shape[1])
        left[np.arange(left.shape[1]) >= self.count[:, None]] = 0.0
        return Stretches(left.reshape(self.blocks.shape), self.count, np.einsum("ij,ij->i", left, left))


def stretches(pieces: Sequence[Array]) -> Stretches:
    """Stretches of these samples.

    Parameters
    ----------
    pieces
        Samples of each, shape (n,) [-].
    """
    count = np.array([len(piece) for piece in pieces], dtype=np.int64)
    flat = np.zeros((len(pieces), -(-int(count.max(initial=1)) // BLOCK) * BLOCK))
    for row, piece in zip(flat, pieces, strict=True):
        row[: len(piece)] = piece
    return Stretches(flat.reshape(len(pieces), flat.shape[1] // BLOCK, BLOCK), count, np.einsum("ij,ij->i", flat, flat))


def powers(rate: Complexes, count: int) -> Complexes:
    """exp(λt), t = 0 … count − 1, shape (rows, count, k) from (rows, k): many by doubling.

    Parameters
    ----------
    rate
        λ, shape (rows, k) [-].
    count
        How many powers [-].
    """
    if rate.size * count < FEW:
        return np.asarray(np.exp(rate[:, None] * np.arange(count)[:, None]))
    table = np.empty((len(rate), count, rate.shape[1]), dtype=np.complex128)
    table[:, 0] = 1.0
    base, known = np.exp(rate), 1
    while known < count:
        more = min(known, count - known)
        np.multiply(table[:, :more], base[:, None], out=table[:, known : known + more])
        base, known = base * base, known + more
    return table


def sounding(rate: Complexes, weight: Complexes, blocks: int) -> Array:
    """Sum of tones Re(weight·exp(λt)) in blocks, shape (rows, blocks·BLOCK) [-].

    Parameters
    ----------
    rate
        λ of the tones, shape (rows, k) [1/sample].
    weight
        Complex amplitudes a − ib, shape (rows, k) [-].
    blocks
        How many blocks [-].
    """
    fine = powers(rate, BLOCK).view(np.float64)
    coarse = (powers(BLOCK * rate, blocks) * weight[:, None]).conj().view(np.float64)
    return np.asarray((coarse @ fine.transpose(0, 2, 1)).reshape(len(rate), -1))


def sums_with(sound: Stretches, rate: Complexes) -> Complexes:
    """Sums of x·exp(λt) over each stretch, shape (rows, k).

    Parameters
    ----------
    sound
        The stretches.
    rate
        λ of the tones, shape (rows, k) [1/sample].
    """
    inner = (sound.blocks @ powers(rate, BLOCK).view(np.float64)).view(np.complex128)
    return np.asarray(np.einsum("ijk,ijk->ik", inner, powers(BLOCK * rate, sound.blocks.shape[1])))


def moments(sound: Stretches, rate: Complexes) -> tuple[Complexes, Complexes]:
    """Sums of x·exp(λt) and of x·t·exp(λt) over each stretch, shape (rows, k) each.

    Parameters
    ----------
    sound
        The stretches.
    rate
        λ of the tones, shape (rows, k) [1/sample].
    """
    k, blocks = rate.shape[1], sound.blocks.shape[1]
    fine = powers(rate, BLOCK)
    tables = np.concatenate([fine, fine * np.arange(BLOCK)[:, None]], axis=2)
    inner = (sound.blocks @ tables.view(np.float64)).view(np.complex128)
    coarse = powers(BLOCK * rate, blocks)
    inner *= np.concatenate([coarse, coarse], axis=2)
    total = inner.sum(axis=1)
    later = (inner[:, :, :k] * (BLOCK * np.arange(blocks))[:, None]).sum(axis=1)
    return total[:, :k], total[:, k:] + later


def both(numbers: Complexes) -> Complexes:
    """Complex numbers as they are and conjugate, shape (rows, 2, k) from (rows, k)."""
    table = np.empty((len(numbers), 2, numbers.shape[1]), dtype=np.complex128)
    table[:, 0] = numbers
    np.conjugate(numbers, out=table[:, 1])
    return table


def series(rate: Complexes, count: Ints, most: int) -> list[Complexes]:
    """Sums of t^m·exp((λ_i + λ_j)t) and of t^m·exp((λ_i* + λ_j)t), t = 0 … n − 1, for m = 0 … most ≤ 2.

    Parameters
    ----------
    rate
        λ of the tones, shape (rows, k) [1/sample].
    count
        n of each row, shape (rows,) [-].
    most
        Highest power of t [-].

    Returns
    -------
    list
        For each m, shape (rows, 2, k, k): λ_i as it is and conjugate.
    """
    n = count[:, None].astype(np.float64)
    one, whole = np.exp(rate), np.exp(rate * n)
    z, last = (both(part)[..., None] * part[:, None, None, :] for part in (one, whole))
    sums, near = _closed(z, last, n[..., None, None], most)
    if len(near[0]):
        row, side, i, j = near
        first = rate[row, i]
        np.negative(first.imag, out=first.imag, where=side == 1)
        for found, right in zip(sums, _near_one(first + rate[row, j], count[row], most), strict=True):
            found[near] = right
    return sums


def one_by_one(rate: Complexes, count: int | Ints, most: int = 0) -> list[Complexes]:
    """Sums of t^m·exp(2λt) and of t^m·exp(2·Re λ·t), t = 0 … n − 1, for m = 0 … most ≤ 2; shape (2, …) each.

    Parameters
    ----------
    rate
        λ of the tones, any shape [1/sample].
    count
        n, one for all or one for each [-].
    most
        Highest power of t [-].
    """
    exponent = np.stack([2 * rate, 2 * rate.real + 0j])
    n = np.broadcast_to(np.asarray(count, dtype=np.int64), exponent.shape)
    sums, near = _closed(np.exp(exponent), np.exp(exponent * n), n.astype(np.float64), most)
    if len(near[0]):
        for found, right in zip(sums, _near_one(exponent[near], n[near], most), strict=True):
            found[near] = right
    return sums


def _closed(z: Complexes, last: Complexes, n: Array, most: int) -> tuple[list[Complexes], tuple[Ints, ...]]:
    """Sums of t^m·z^t, t = 0 … n − 1, from z and zⁿ, and where they cannot be had so: z near one."""
    gap = 1 - z
    near = (np.abs(gap) * n < NEAR_ONE).nonzero()
    gap[near] = 1.0
    sums = [(1 - last) / gap]
    if most > 0:
        sums.append((z * sums[0] - n * last) / gap)
    if most > 1:
        sums.append((2 * sums[1] - sums[0] + 1 - (n - 1) ** 2 * last) / gap)
    return sums, near


def _near_one(exponent: Complexes, count: Ints, most: int) -> list[Complexes]:
    """Sums of t^m·exp(s·t) for small s·n by their power series, shape (k,) for each m = 0 … most."""
    means = np.array([_power_means(one) for one in count.tolist()])
    terms = np.empty((len(exponent), TERMS), dtype=np.complex128)
    terms[:, 0] = 1.0
    np.divide((exponent * count)[:, None], ORDERS, out=terms[:, 1:])
    np.multiply.accumulate(terms, axis=1, out=terms)
    sums = [np.einsum("ij,ij->i", terms, means[:, m : m + TERMS]) for m in range(most + 1)]
    for m in range(1, most + 1):
        sums[m] *= count.astype(np.float64) ** m
    return sums


@lru_cache(maxsize=512)
def _power_means(count: int) -> tuple[float, ...]:
    """Sums of (t/n)^q over t = 0 … n − 1, for q from 0."""
    place = np.arange(count) / count
    return tuple(float(np.sum(place**q)) for q in range(TERMS + 2))


def products(pairs: Complexes) -> Array:
    """Sums of products of real and imaginary parts, shape (rows, 2k, 2k), all real parts first.

    Parameters
    ----------
    pairs
        Sums of F_i·F_j and of F_i*·F_j, shape (rows, 2, k, k).
    """
    k = pairs.shape[-1]
    plain, turned = pairs[:, 0], pairs[:, 1]
    table = np.empty((len(pairs), 2 * k, 2 * k))
    table[:, :k, :k] = plain.real + turned.real
    table[:, k:, k:] = turned.real - plain.real
    table[:, :k, k:] = plain.imag + turned.imag
    table[:, k:, :k] = plain.imag - turned.imag
    table *= 0.5
    return table
