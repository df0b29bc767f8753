"""A hard pluck starts sharp: the frequencies of its partials in the limit of small amplitude."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from twoturn.pluck.events import local_variance
from twoturn.pluck.fitting import Fits, slopes_square
from twoturn.pluck.modes import Modes, of_rates, turns
from twoturn.pluck.sums import moments, stretches
from twoturn.pluck.working import Array, Bools, Ints

GLIDE_PRIOR = 0.008  # usual sharpness of a hard pluck at its start [-]
ODDS = 0.5  # of a hard pluck against a gentle one, which is what the technician is asked for [-]
LOST = 0.08  # a tone that the glide moves farther was none [-]
ROOM_FACTOR = 2.0
UNREST_SHARE = 0.6


@dataclass(frozen=True, eq=False)
class GlideFit:
    """Frequencies in the limit of small amplitude.

    Attributes
    ----------
    omega
        Shape (k,) [rad/sample].
    covariance
        Shape (k, k), from noise and glide [rad²/sample²].
    room
        Variances from room and neighbours, the same for every pluck of a recording, shape (k,) [rad²/sample²].
    number
        Number of the partial, 0 for foreign tones [-].
    glide
        Relative sharpness at the start [-].
    glide_rate
        How fast it goes [1/sample].
    """

    omega: Array
    covariance: Array
    room: Array
    number: Ints
    glide: float
    glide_rate: float


def with_glide(modes: Modes, number: Ints, rest: Array) -> GlideFit:
    """Let all partials of the span start sharp together: f(t) = f·(1 + g·exp(−2t/τ)), averaged over g.

    One step from the fit without glide: for the small g of a belt the model is linear in it. The weight of g > 0
    against none at all is the ratio of their evidences under a half-normal prior.

    Parameters
    ----------
    modes
        Damped tones.
    number
        Number of the partial each tone is, shape (k,) [-].
    rest
        What the tones leave, shape (n,) [-].

    References
    ----------
    G. F. Carrier, Q. Appl. Math. 3 (1945) 157-165 (tension grows with the square of the amplitude);
    R. E. Kass and A. E. Raftery, Bayes factors, J. Am. Stat. Assoc. 90 (1995) 773-795.
    """
    k, count = len(modes), len(rest)
    series = number > 0
    rate = 2 * max(float(modes.decay[series][int(np.argmax(modes.energy(count)[series]))]), 0.5 / count)
    t = np.arange(count)
    by_glide = _quickened(modes.chosen(series)).sound(count) * (1 - np.exp(-rate * t)) / rate
    square, right = _normal(modes, rest, by_glide)
    scale = np.sqrt(square.diagonal()) + 1e-12
    square /= np.outer(scale, scale)
    square.flat[:: len(scale) + 1] += 1e-8
    inverse = np.linalg.inv(square) / np.outer(scale, scale)
    step = inverse @ right
    left = rest - step[k] * by_glide - _moved_by(modes, step, count)
    noise, room = local_variance(left, modes, series)
    main = float(np.average((noise + room)[series], weights=modes.energy(count)[series]))
    glide, u_glide = glide_posterior(float(step[k]), float(np.sqrt(inverse[k, k] * main)))
    slope = inverse[:k, k] / inverse[k, k]
    free = inverse[:k, :k] - np.outer(slope, inverse[k, :k])
    omega = modes.omega + step[:k] + slope * (glide - step[k])
    own = free * np.sqrt(np.outer(noise, noise)) + np.outer(slope, slope) * u_glide**2
    room = ROOM_FACTOR**2 * np.diag(free) * room + unrest(modes, series, left, noise)
    held = np.abs(omega / modes.omega - 1) < LOST
    return GlideFit(np.where(held, omega, modes.omega), own, room, np.where(held, number, 0), glide, rate)


def _quickened(modes: Modes) -> Modes:
    """Slope of each tone by the logarithm of its frequency, over t."""
    return of_rates(modes.rate, 1j * modes.omega * modes.weight)


def _normal(modes: Modes, rest: Array, by_glide: Array) -> tuple[Array, Array]:
    """Normal equations of frequencies, glide, decays and amplitudes: (4k + 1)² sums of products, and those with rest.

    The columns are −Im(t·w·e), glide, −Re(t·w·e), Re e, Im e of the tones e = exp(λt) of weight w.
    """
    k, rate, weight = len(modes), modes.rate[None], modes.weight[None]
    fits = Fits(rate, weight, np.ones(rate.shape, dtype=np.bool_), np.zeros(1), rate, rate)
    sound = stretches([by_glide, rest])
    plain, later = moments(sound, np.repeat(rate, 2, axis=0))
    both = np.concatenate([plain, weight * later], axis=1)
    sums = np.concatenate([both.real, both.imag], axis=1)
    order = np.concatenate([np.arange(3 * k, 4 * k), np.arange(k, 2 * k), np.arange(k), np.arange(2 * k, 3 * k)])
    sign = np.repeat([-1.0, 1.0], 2 * k)
    tones = np.concatenate([np.arange(k), np.arange(k + 1, 4 * k + 1)])
    square, right = np.empty((4 * k + 1, 4 * k + 1)), np.empty(4 * k + 1)
    own = slopes_square(sound.chosen(np.array([1])), fits)[0]
    square[np.ix_(tones, tones)] = own[np.ix_(order, order)] * np.outer(sign, sign)
    square[k, tones] = square[tones, k] = sums[0, order] * sign
    square[k, k], right[k] = by_glide @ by_glide, by_glide @ rest
    right[tones] = sums[1, order] * sign
    return square, right


def _moved_by(modes: Modes, step: Array, count: int) -> Array:
    """What a step of frequencies, decays and amplitudes changes in the sound, shape (count,) [-]."""
    k = len(modes)
    omega, (decay, a, b) = step[:k], step[k + 1 :].reshape(3, k)
    slow = of_rates(modes.rate, modes.weight * (1j * omega - decay))
    return of_rates(modes.rate, a - 1j * b).sound(count) + np.arange(count) * slow.sound(count)


def unrest(modes: Modes, series: Bools, rest: Array, noise: Array) -> Array:
    """How far a tone's frequency differs between the first and the second half of its energy, as a variance.

    A room keeps sounding after the span: then the halves disagree by more than noise can make them.

    Parameters
    ----------
    modes
        The tones.
    series
        Which of them are partials, shape (k,).
    rest
        What the whole fit leaves, shape (n,) [-].
    noise
        Variance of the noise at each tone, shape (k,) [-].

    Returns
    -------
    numpy.ndarray
        Shape (k,) [rad²/sample²]; 0 for tones that are no partials.
    """
    answer = np.zeros(len(modes))
    for place in np.flatnonzero(series):
        tone = modes.chosen(np.array([place]))
        wave = turns(tone.omega, tone.decay, len(rest))[:, 0]
        power = np.cumsum(np.abs(wave) ** 2)
        cut = int(np.searchsorted(power, 0.5 * power[-1]))
        moved = (wave * (tone.a[0] - 1j * tone.b[0])).imag * -np.arange(len(rest))
        basis = np.stack([wave.real, wave.imag, moved], axis=1)
        shifts, variances = [], []
        for part in (slice(0, cut), slice(cut, None)):
            square = basis[part].T @ basis[part]
            square.flat[::4] *= 1 + 1e-9
            inverse = np.linalg.inv(square + 1e-9 * np.eye(3))
            shifts.append(float(inverse[2] @ (basis[part].T @ rest[part])))
            variances.append(float(inverse[2, 2] * noise[place]))
        answer[place] = max(0.0, (shifts[0] - shifts[1]) ** 2 - 2 * sum(variances)) * UNREST_SHARE**2
    return answer


def glide_posterior(found: float, u: float) -> tuple[float, float]:
    """Mean and standard deviation of the glide, where two plucks of three are gentle and do not glide [-].

    Parameters
    ----------
    found
        Glide found [-].
    u
        Its standard uncertainty [-].
    """
    from scipy.special import log_ndtr, ndtr

    total = np.hypot(u, GLIDE_PRIOR)
    centre, sd = found * (GLIDE_PRIOR / total) ** 2, u * GLIDE_PRIOR / total
    ratio = centre / sd
    log_odds = (
        np.log(ODDS * 2 * u / total) + 0.5 * (found / u) ** 2 - 0.5 * (found / total) ** 2 + float(log_ndtr(ratio))
    )
    weight = 1 / (1 + np.exp(-np.clip(log_odds, -50, 50)))
    density = np.exp(-0.5 * ratio**2) / np.sqrt(2 * np.pi) / max(float(ndtr(ratio)), 1e-12)
    if ratio < -6:
        return 0.0, float(sd / abs(ratio))
    mean = centre + sd * density
    variance = sd**2 * max(1e-6, 1 - ratio * density - density**2)
    average = weight * mean
    return float(average), float(np.sqrt(weight * (variance + mean**2) - average**2))
