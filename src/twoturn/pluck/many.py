"""Tones of many stretches of sound side by side: their energies, and the noise that stands at each."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from twoturn.pluck.fitting import ABSENT, Fits, slopes_square
from twoturn.pluck.modes import Modes
from twoturn.pluck.sums import Complexes, Stretches, one_by_one, sums_with
from twoturn.pluck.working import Array, Bools, Ints

NEAR_OFFSETS = np.array([-4.0, -3.0, -2.0, 2.0, 3.0, 4.0])
FAR_OFFSETS = np.array([-14.0, -11.0, -8.0, 8.0, 11.0, 14.0])


@dataclass(frozen=True, eq=False)
class Tones:
    """Damped tones of each of many stretches.

    Attributes
    ----------
    rate
        λ = iω − d, shape (rows, k) [1/sample].
    weight
        a − ib of a·cos ωt + b·sin ωt, shape (rows, k), 0 where a row has no more tones [-].
    heard
        Which of the tones a row has, shape (rows, k).
    """

    rate: Complexes
    weight: Complexes
    heard: Bools

    def energy(self, count: Ints) -> Array:
        """Energy of each over stretches of so many samples, shape (rows, k) [-]."""
        own = one_by_one(self.rate, count[:, None])[0]
        return np.asarray(0.5 * (np.abs(self.weight) ** 2 * own[1] + self.weight**2 * own[0]).real)

    def slopes_square(self, sound: Stretches) -> Array:
        """Sums of products of the tones and of t times them, shape (rows, 4k, 4k), as ``fitting`` orders them."""
        return slopes_square(sound, Fits(self.rate, self.weight, self.heard, sound.power, self.rate, self.rate))


def side_by_side(modes: Sequence[Modes]) -> Tones:
    """Tones of many stretches in one table.

    Parameters
    ----------
    modes
        The tones of each.
    """
    many = np.array([len(one) for one in modes], dtype=np.int64)
    heard = np.arange(int(many.max(initial=0))) < many[:, None]
    rate, weight = np.full(heard.shape, ABSENT), np.zeros(heard.shape, dtype=np.complex128)
    if len(modes):
        rate[heard] = np.concatenate([one.rate for one in modes])
        weight[heard] = np.concatenate([one.weight for one in modes])
    return Tones(rate, weight, heard)


def local_variance(rest: Stretches, tones: Tones, series: Bools) -> tuple[Array, Array]:
    """Variance of what is left, as it stands at each tone: noise, and what room and neighbours add.

    In white noise of variance s² the energy 2|X|²/Σw² of a damped window is 2s² on average. What a room adds lies
    about the tone like the tone's own spectrum, A/(1 + (Δω/d)²); at the tone itself the fit has swallowed it. So A is
    found from what is left beside the tones, shared over the tones of one pluck by their energy.

    Parameters
    ----------
    rest
        What the tones leave of each stretch.
    tones
        Damped tones.
    series
        Which tones belong to the span, shape (rows, k).

    Returns
    -------
    tuple
        Both for each tone, shape (rows, k) each [-].
    """
    decay = -tones.rate.real
    width = np.maximum(decay, 3 * np.pi / rest.count[:, None])
    offsets = np.concatenate([NEAR_OFFSETS, FAR_OFFSETS])[:, None]
    turned = -1j * (tones.rate.imag[:, None] + offsets * width[:, None]) - decay[:, None]
    value = sums_with(rest, turned.reshape(len(turned), -1)).reshape(turned.shape)
    power = np.abs(value) ** 2 / one_by_one(tones.rate, rest.count[:, None])[0][1].real[:, None]
    near, far = power[:, : len(NEAR_OFFSETS)], power[:, len(NEAR_OFFSETS) :]
    level = (far.sum(axis=1) + 2.0) / 8.0
    share = 1 / (1 + (NEAR_OFFSETS[:, None] * (width / np.maximum(decay, 1e-6))[:, None]) ** 2)
    share = np.maximum(share, 0.01)
    peak = np.sum(share * (near - level[:, None]), axis=1) / np.sum(share**2, axis=1)
    gain = tones.energy(rest.count)
    own = np.maximum(np.sum(gain * series, axis=1), 1.0)
    ratio = np.maximum(0.0, np.sum(peak * series, axis=1) / own)
    return np.asarray(np.maximum(level, (near.sum(axis=1) + 2.0) / 8.0)), ratio[:, None] * gain
