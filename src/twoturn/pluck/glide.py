"""A hard pluck starts sharp: the frequencies of its partials in the limit of small amplitude, many plucks at once."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from twoturn.pluck.many import Tones, local_variance
from twoturn.pluck.sums import BLOCK, Complexes, Stretches, moments, one_by_one, powers, sounding
from twoturn.pluck.working import Array, Bools, Ints

GLIDE_PRIOR = 0.008  # usual sharpness of a hard pluck at its start [-]
ODDS = 0.5  # of a hard pluck against a gentle one, which is what the technician is asked for [-]
LOST = 0.08  # a tone that the glide moves farther was none [-]
ROOM_FACTOR = 2.0
UNREST_SHARE = 0.6


@dataclass(frozen=True, eq=False)
class GlideFits:
    """Frequencies of each pluck in the limit of small amplitude.

    Attributes
    ----------
    omega
        Shape (rows, k) [rad/sample].
    covariance
        Shape (rows, k, k), from noise and glide [rad²/sample²].
    room
        Variances from room and neighbours, the same for every pluck of a recording, shape (rows, k) [rad²/sample²].
    number
        Number of the partial, 0 for foreign tones, shape (rows, k) [-].
    glide
        Relative sharpness at the start, shape (rows,) [-].
    glide_rate
        How fast it goes, shape (rows,) [1/sample].
    """

    omega: Array
    covariance: Array
    room: Array
    number: Ints
    glide: Array
    glide_rate: Array


def with_glide(tones: Tones, number: Ints, rest: Stretches) -> GlideFits:
    """Let all partials of a span start sharp together: f(t) = f·(1 + g·exp(−2t/τ)), averaged over g.

    One step from the fit without glide: for the small g of a belt the model is linear in it. The weight of g > 0
    against none at all is the ratio of their evidences under a half-normal prior.

    Parameters
    ----------
    tones
        Damped tones of each pluck.
    number
        Number of the partial each tone is, 0 for foreign ones, shape (rows, k) [-].
    rest
        What the tones leave of each stretch.

    References
    ----------
    G. F. Carrier, Q. Appl. Math. 3 (1945) 157-165 (tension grows with the square of the amplitude);
    R. E. Kass and A. E. Raftery, Bayes factors, J. Am. Stat. Assoc. 90 (1995) 773-795.
    """
    k, series, energy = tones.rate.shape[1], number > 0, tones.energy(rest.count)
    main = np.where(series, energy, -1.0).argmax(axis=1)
    rate = 2 * np.maximum(-tones.rate.real[np.arange(len(rest)), main], 0.5 / rest.count)
    by_glide = _by_glide(tones, series, rest, rate)
    inverse, step = _solved(*_normal(tones, rest, by_glide))
    moved = step[:, k, None] * by_glide.flat + _moved_by(tones, step, rest)
    left = _like(rest, rest.flat - moved)
    noise, room = local_variance(left, tones, series)
    own = np.sum((noise + room) * energy * series, axis=1) / np.sum(energy * series, axis=1)
    glide, u_glide = glide_posterior(step[:, k], np.sqrt(inverse[:, k, k] * own))
    slope = inverse[:, :k, k] / inverse[:, k, k, None]
    free = inverse[:, :k, :k] - slope[:, :, None] * inverse[:, k, None, :k]
    omega = tones.rate.imag + step[:, :k] + slope * (glide - step[:, k])[:, None]
    own_part = free * np.sqrt(noise[:, :, None] * noise[:, None, :])
    covariance = own_part + slope[:, :, None] * slope[:, None, :] * u_glide[:, None, None] ** 2
    room = ROOM_FACTOR**2 * np.einsum("ijj->ij", free) * room + unrest(tones, series, left, noise)
    held = np.abs(omega / tones.rate.imag - 1) < LOST
    omega, number = np.where(held, omega, tones.rate.imag), np.where(held, number, 0)
    return GlideFits(omega, covariance, room, number, glide, rate)


def _like(sound: Stretches, flat: Array) -> Stretches:
    """Other samples in stretches of the same lengths; ``flat`` is set to zero after their ends."""
    flat[np.arange(flat.shape[1]) >= sound.count[:, None]] = 0.0
    return Stretches(flat.reshape(sound.blocks.shape), sound.count, np.einsum("ij,ij->i", flat, flat))


def _by_glide(tones: Tones, series: Bools, rest: Stretches, rate: Array) -> Stretches:
    """Slope of each sound by the glide."""
    wave = sounding(tones.rate, 1j * tones.rate.imag * tones.weight * series, rest.blocks.shape[1])
    faded = powers(-rate[:, None].astype(np.complex128), wave.shape[1])[:, :, 0].real
    return _like(rest, wave * (1 - faded) / rate[:, None])


def _normal(tones: Tones, rest: Stretches, by_glide: Stretches) -> tuple[Array, Array]:
    """Normal equations of frequencies, glide, decays and amplitudes: (4k + 1)² sums of products, and those with rest.

    The columns are −Im(t·w·e), glide, −Re(t·w·e), Re e, Im e of the tones e = exp(λt) of weight w; shapes
    (rows, 4k + 1, 4k + 1) and (rows, 4k + 1).
    """
    k, glide, heard = tones.rate.shape[1], by_glide.flat, np.concatenate([tones.heard] * 4, axis=1)
    order = np.concatenate([np.arange(3 * k, 4 * k), np.arange(k, 2 * k), np.arange(k), np.arange(2 * k, 3 * k)])
    sign = np.repeat([-1.0, 1.0], 2 * k)
    sums = []
    for sound in (by_glide, rest):
        plain, later = moments(sound, tones.rate)
        both = np.concatenate([plain, tones.weight * later], axis=1)
        sums.append(np.where(heard, np.concatenate([both.real, both.imag], axis=1), 0.0)[:, order] * sign)
    places = np.concatenate([np.arange(k), np.arange(k + 1, 4 * k + 1)])
    square, right = np.empty((len(rest), 4 * k + 1, 4 * k + 1)), np.empty((len(rest), 4 * k + 1))
    own = tones.slopes_square(rest)
    square[:, places[:, None], places] = own[:, order[:, None], order] * np.outer(sign, sign)
    square[:, k, places] = square[:, places, k] = sums[0]
    square[:, k, k], right[:, k] = by_glide.power, np.einsum("ij,ij->i", glide, rest.flat)
    right[:, places] = sums[1]
    return square, right


def _solved(square: Array, right: Array) -> tuple[Array, Array]:
    """Inverse of scaled, slightly damped normal equations, and their solution; 0 in columns of zeros."""
    size = np.einsum("ijj->ij", square)
    scale = np.where(size > 0, np.sqrt(np.maximum(size, 0.0)) + 1e-12, 1.0)
    both = scale[:, :, None] * scale[:, None, :]
    scaled = square / both
    np.einsum("ijj->ij", scaled)[:] += np.where(size > 0, 1e-8, 1.0)
    inverse = np.linalg.inv(scaled) / both
    return inverse, (inverse @ right[..., None])[..., 0]


def _moved_by(tones: Tones, step: Array, rest: Stretches) -> Array:
    """What a step of frequencies, decays and amplitudes changes in the sound, shape (rows, samples) [-]."""
    k, blocks = tones.rate.shape[1], rest.blocks.shape[1]
    omega, decay, a, b = step[:, :k], *(step[:, 1 + n * k : 1 + (n + 1) * k] for n in (1, 2, 3))
    slow = sounding(tones.rate, tones.weight * (1j * omega - decay), blocks)
    return sounding(tones.rate, a - 1j * b, blocks) + np.arange(slow.shape[1]) * slow


def unrest(tones: Tones, series: Bools, rest: Stretches, noise: Array) -> Array:
    """How far a tone's frequency differs between the first and the second half of its energy, as a variance.

    A room keeps sounding after the span: then the halves disagree by more than noise can make them.

    Parameters
    ----------
    tones
        The tones.
    series
        Which of them are partials, shape (rows, k).
    rest
        What the whole fit leaves of each stretch.
    noise
        Variance of the noise at each tone, shape (rows, k) [-].

    Returns
    -------
    numpy.ndarray
        Shape (rows, k) [rad²/sample²]; 0 for tones that are no partials.
    """
    decay, count = np.maximum(-tones.rate.real, 1e-12), rest.count[:, None]
    cut = np.ceil(-np.log1p(0.5 * np.expm1(-2 * decay * count)) / (2 * decay) - 1e-9).astype(np.int64) - 1
    cut = np.clip(cut, 1, count - 1)
    right = _right_sides(rest, tones, cut)
    square = np.stack([_three(tones, cut), _three(tones, np.broadcast_to(count, cut.shape))])
    square[1] -= square[0]
    square[..., np.arange(3), np.arange(3)] *= 1 + 1e-9
    inverse = np.linalg.inv(square[:, series] + 1e-9 * np.eye(3))
    shift = np.einsum("hij,hij->hi", inverse[..., 2, :], right[:, series])
    variance = (inverse[..., 2, 2] * noise[series]).sum(axis=0)
    answer = np.zeros(series.shape)
    answer[series] = np.maximum(0.0, (shift[0] - shift[1]) ** 2 - 2 * variance) * UNREST_SHARE**2
    return answer


def _three(tones: Tones, count: Ints) -> Array:
    """Sums of products of Re e, Im e and −t·Im(w·e) over the first ``count`` samples, shape (rows, k, 3, 3)."""
    (plain, level), (first, by_time), (second, by_square) = one_by_one(tones.rate, count, 2)
    weight, table = tones.weight, np.empty((*count.shape, 3, 3))
    table[..., 0, 0], table[..., 1, 1] = 0.5 * (level + plain).real, 0.5 * (level - plain).real
    table[..., 0, 1] = table[..., 1, 0] = 0.5 * plain.imag
    table[..., 0, 2] = table[..., 2, 0] = -0.5 * (weight * (first + by_time)).imag
    table[..., 1, 2] = table[..., 2, 1] = 0.5 * (weight * (first - by_time)).real
    table[..., 2, 2] = 0.5 * (np.abs(weight) ** 2 * by_square - weight**2 * second).real
    return table


def _right_sides(rest: Stretches, tones: Tones, cut: Ints) -> Array:
    """Sums of a sound's products with Re e, Im e and −t·Im(w·e) before and after a cut, shape (2, rows, k, 3)."""
    rows, place = np.arange(len(rest))[:, None], cut // BLOCK
    fine, coarse = powers(tones.rate, BLOCK), powers(BLOCK * tones.rate, rest.blocks.shape[1])
    plain = (rest.blocks @ fine.view(np.float64)).view(np.complex128) * coarse
    inside = (rest.blocks @ (fine * np.arange(BLOCK)[:, None]).view(np.float64)).view(np.complex128) * coarse
    later = inside + (BLOCK * np.arange(rest.blocks.shape[1]))[:, None] * plain
    before = np.arange(rest.blocks.shape[1])[:, None] < place[:, None]
    part = np.where(np.arange(BLOCK) < (cut % BLOCK)[..., None], rest.blocks[rows, place], 0.0)
    part = part * fine.transpose(0, 2, 1) * np.take_along_axis(coarse, place[:, None], axis=1)[:, 0, :, None]
    first = (plain * before).sum(axis=1) + part.sum(axis=2)
    moved = (later * before).sum(axis=1) + (part * (np.arange(BLOCK) + BLOCK * place[..., None])).sum(axis=2)
    whole = _columns(plain.sum(axis=1), tones.weight * later.sum(axis=1))
    early = _columns(first, tones.weight * moved)
    return np.stack([early, whole - early])


def _columns(plain: Complexes, later: Complexes) -> Array:
    """Sums with Re e, Im e and −t·Im(w·e), shape (rows, k, 3)."""
    return np.stack([plain.real, plain.imag, -later.imag], axis=-1)


def glide_posterior(found: Array, u: Array) -> tuple[Array, Array]:
    """Mean and standard deviation of the glide, where two plucks of three are gentle and do not glide [-].

    Parameters
    ----------
    found
        Glide found, shape (rows,) [-].
    u
        Its standard uncertainty, shape (rows,) [-].
    """
    from scipy.special import log_ndtr, ndtr

    total = np.hypot(u, GLIDE_PRIOR)
    centre, sd = found * (GLIDE_PRIOR / total) ** 2, u * GLIDE_PRIOR / total
    ratio = centre / sd
    log_odds = np.log(ODDS * 2 * u / total) + 0.5 * (found / u) ** 2 - 0.5 * (found / total) ** 2 + log_ndtr(ratio)
    weight = 1 / (1 + np.exp(-np.clip(log_odds, -50, 50)))
    density = np.exp(-0.5 * ratio**2) / np.sqrt(2 * np.pi) / np.maximum(ndtr(ratio), 1e-12)
    mean = centre + sd * density
    variance = sd**2 * np.maximum(1e-6, 1 - ratio * density - density**2)
    average = weight * mean
    u_average = np.sqrt(np.maximum(weight * (variance + mean**2) - average**2, 0.0))
    hardly = ratio < -6
    return np.where(hardly, 0.0, average), np.where(hardly, sd / np.maximum(np.abs(ratio), 1e-12), u_average)
