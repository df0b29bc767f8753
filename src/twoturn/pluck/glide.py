"""A hard pluck starts sharp: the frequencies of its partials in the limit of small amplitude."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from twoturn.pluck.events import local_variance
from twoturn.pluck.modes import Modes, turns
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
    t = np.arange(count)[:, None]
    turn = np.exp((1j * modes.omega - modes.decay) * t)
    by_phase = turn.real * modes.b - turn.imag * modes.a
    by_decay = -t * (turn.real * modes.a + turn.imag * modes.b)
    series = number > 0
    rate = 2 * max(float(modes.decay[series][int(np.argmax(modes.energy(count)[series]))]), 0.5 / count)
    grown = (1 - np.exp(-rate * t[:, 0])) / rate
    by_glide = (by_phase * modes.omega)[:, series].sum(axis=1) * grown
    basis = np.hstack([t * by_phase, by_glide[:, None], turn.real, turn.imag, by_decay])
    scale = np.sqrt(np.einsum("ij,ij->j", basis, basis)) + 1e-12
    square = (basis.T @ basis) / np.outer(scale, scale)
    square[np.diag_indices_from(square)] += 1e-8
    inverse = np.linalg.inv(square) / np.outer(scale, scale)
    step = inverse @ (basis.T @ rest)
    noise, room = local_variance(rest - basis @ step, modes, series)
    main = float(np.average((noise + room)[series], weights=modes.energy(count)[series]))
    glide, u_glide = glide_posterior(float(step[k]), float(np.sqrt(inverse[k, k] * main)))
    slope = inverse[:k, k] / inverse[k, k]
    free = inverse[:k, :k] - np.outer(slope, inverse[k, :k])
    omega = modes.omega + step[:k] + slope * (glide - step[k])
    own = free * np.sqrt(np.outer(noise, noise)) + np.outer(slope, slope) * u_glide**2
    room = ROOM_FACTOR**2 * np.diag(free) * room + unrest(modes, series, rest - basis @ step, noise)
    held = np.abs(omega / modes.omega - 1) < LOST
    return GlideFit(np.where(held, omega, modes.omega), own, room, np.where(held, number, 0), glide, rate)


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
