"""One pluck fitted as a whole: partials of a span whose note may glide down, beside tones that do not belong to it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from twoturn.pluck.bands import Ring
from twoturn.pluck.events import Event, shifted
from twoturn.pluck.glide import with_glide
from twoturn.pluck.modes import Modes, refine, strongest
from twoturn.pluck.series import PARTIALS, stretch, usable_tones
from twoturn.pluck.working import Array, Ints, Working

NEAR = 0.02  # how far a partial may lie from where the series puts it [-]
MISFIT = 0.002  # how far the partials of a belt stray from a stiff string's [-]
STIFF_PRIOR = 0.02
SPREAD_SHARE = 0.7
# how much each sign of room, neighbour and twist counts in the uncertainty; found on simulated recordings
MISFIT_SHARE = 0.3  # what is left beside the partials, and their unrest
STRAY_SHARE = 0.8  # how far the partials stray from those of a stiff string
REST_SHARE = 1.0  # the share of the sound that no partial explains, in widths of the strongest


@dataclass(frozen=True, eq=False)
class Pluck:
    """One pluck.

    Attributes
    ----------
    time_s
        Onset [s].
    f1_hz, u_hz
        First partial in the limit of small amplitude and its standard uncertainty from noise and glide [Hz].
    room_u_hz
        Standard uncertainty from room and neighbours, which all plucks of a recording share [Hz].
    inharmonicity, u_inharmonicity
        B of the stiff string [-].
    tau_s
        Decay time of the strongest partial [s].
    glide
        Relative sharpness at the start [-].
    number, partial_hz, partial_u_hz, gain
        Number [-], frequency, its standard uncertainty [Hz] and energy [-] of each partial heard, shape (k,).
    share
        Share of the sound after the onset that these partials explain [-].
    snr_db
        Energy of the partials over the background in the same time and 100 Hz [dB].
    ring
        The stretch and its tones, by which all plucks of a recording are looked at again together.
    """

    time_s: float
    f1_hz: float
    u_hz: float
    room_u_hz: float
    inharmonicity: float
    u_inharmonicity: float
    tau_s: float
    glide: float
    number: Ints
    partial_hz: Array
    partial_u_hz: Array
    gain: Array
    share: float
    snr_db: float
    ring: Ring | None = None


def fit_pluck(working: Working, event: Event, f1_hz: float, inharmonicity: float) -> Pluck | None:
    """Fit one event as a pluck of a span whose first partial lies near ``f1_hz``.

    Parameters
    ----------
    working
        The flattened recording.
    event
        The event.
    f1_hz
        First partial to start from [Hz].
    inharmonicity
        B to start from [-].

    Returns
    -------
    Pluck or None
        None where no partial of that span is heard.
    """
    rate_hz = working.rate_hz
    first = int(event.start_s * rate_hz + 0.5)
    stretched = working.samples[first : int(event.end_s * rate_hz + 0.5)]
    modes, number = matched(event, f1_hz, inharmonicity)
    if not number.any():
        return None
    modes, number, spread = without_shadows(modes, number, len(stretched))
    modes, number = completed(modes, number, stretched, rate_hz, f1_hz, inharmonicity)
    added = modes.chosen(np.arange(len(spread), len(modes))), number[len(spread) :]
    modes, piece = settled(refine(modes, stretched, rate_hz, 5), stretched, rate_hz)
    fit = with_glide(modes, number, piece - modes.waves(len(piece)).sum(axis=1))
    kept, to_hertz = fit.number > 0, rate_hz / (2 * np.pi)
    if not kept.any():
        return None
    hertz = fit.omega[kept] * to_hertz
    if not len(hertz) or not (hertz > 0).all():  # nothing there to hold a glide
        return None
    covariance = fit.covariance[np.ix_(kept, kept)] * to_hertz**2
    spread = np.concatenate([spread, np.zeros(len(modes) - len(spread))])
    room = (fit.room + SPREAD_SHARE**2 * spread)[kept] * to_hertz**2
    line = first_partial(fit.number[kept], hertz, covariance, room)
    gain = modes.energy(len(piece))[kept]
    tau = float(modes.chosen(kept).tau_s(rate_hz)[int(np.argmax(gain))])
    energy = max(1.0, float(piece @ piece) - len(piece))
    explained = float(np.sum(modes.chosen(kept).waves(len(piece)).sum(axis=1) ** 2))
    share, noise = min(1.0, explained / energy), 2.0 * min(tau, len(piece) / rate_hz) * 100.0
    room_u_hz = surroundings_u_hz(line, fit.number[kept], hertz, gain, (1 - share) / tau)
    whole, numbers = matched(event, f1_hz, inharmonicity)
    late = first - int(event.onset_s * rate_hz)
    ring = Ring(
        stretched, rate_hz, late, whole.joined(added[0]), np.append(numbers, added[1]), fit.glide, fit.glide_rate
    )
    return Pluck(
        event.onset_s, line.f1_hz, line.u_hz, room_u_hz, line.inharmonicity, line.u_inharmonicity, tau, fit.glide,
        fit.number[kept], hertz, np.sqrt(np.diag(covariance) + room), gain,
        share, float(10 * np.log10(explained / noise + 1e-9)), ring,
    )  # fmt: skip


BLOCK_S, SETTLED_S = 0.0015, 0.012
SURE_LEVEL, SURE_ALONG = 5.0, 9.0  # what noise hardly ever does: spread of a block's level, square along the tones
LIKELY_LEVEL, LIKELY_ALONG = 2.0, 3.0


def settled(modes: Modes, piece: Array, rate_hz: float) -> tuple[Modes, Array]:
    """Leave out what the tones do not describe yet: the finger, and the filters before they have run in.

    Parameters
    ----------
    modes
        The tones, fitted to the whole stretch.
    piece
        The stretch, shape (n,), background of standard deviation 1 [-].
    rate_hz
        Samples a second [Hz].

    Returns
    -------
    tuple
        The tones, time counted from the new start, and the stretch from there.
    """
    block = max(4, int(BLOCK_S * rate_hz))
    count = len(piece) // block
    most = min(int(SETTLED_S / BLOCK_S), count // 4)
    if not most:
        return modes, piece
    wave = modes.waves(count * block).sum(axis=1).reshape(count, block)
    rest = piece[: count * block].reshape(count, block) - wave
    level = np.mean(rest**2, axis=1)
    usual = max(float(np.median(level[most : 4 * most])), 1.0)
    spread, along = (2 / block) ** 0.5, np.sum(rest * wave, axis=1) ** 2 / (np.sum(wave**2, axis=1) + 1e-12)
    sure = (level > (1 + SURE_LEVEL * spread) * usual) | (along > SURE_ALONG * usual)
    likely = (level > (1 + LIKELY_LEVEL * spread) * usual) | (along > LIKELY_ALONG * usual)
    cut = int(np.flatnonzero(sure[:most])[-1] + 1) if sure[:most].any() else 0
    while cut < most and likely[cut]:
        cut += 1
    late = cut * block
    return (refine(shifted(modes, late), piece[late:], rate_hz, 3), piece[late:]) if late else (modes, piece)


def surroundings_u_hz(line: Line, number: Ints, hertz: Array, gain: Array, rest_per_s: float) -> float:
    """Standard uncertainty of the first partial from room, neighbours and twist [Hz].

    None of these is in the model. Each leaves a sign: energy beside the partials, partials that stray from the
    stiff string's, sound that no partial explains. The weights were found by maximum likelihood on some 350
    simulated recordings (of other seeds than the bench's), so that 19 of 20 intervals hold.

    Parameters
    ----------
    line
        First partial and stiffness through the partials heard.
    number, hertz, gain
        Number [-], frequency [Hz] and energy [-] of each partial, shape (k,).
    rest_per_s
        Share of the sound that no partial explains, over the decay time of the strongest partial [1/s].
    """
    n = number.astype(np.float64)
    stray = np.log(hertz / (n * line.f1_hz * stretch(n, line.inharmonicity)))
    astray = float(np.sqrt(np.sum(gain * np.clip(stray, -NEAR, NEAR) ** 2) / np.sum(gain)))
    width = rest_per_s / (2 * np.pi * float(hertz[int(np.argmax(gain))]))
    parts = (MISFIT_SHARE * line.room_u_hz, STRAY_SHARE * astray * line.f1_hz, REST_SHARE * width * line.f1_hz)
    return float(np.sqrt(np.sum(np.square(parts))))


def matched(event: Event, f1_hz: float, inharmonicity: float) -> tuple[Modes, Ints]:
    """The event's tones with the number of the partial each is; 0 for those that belong to something else.

    Parameters
    ----------
    event
        The event, its tones fitted.
    f1_hz
        First partial [Hz].
    inharmonicity
        Inharmonicity of the partials [-].
    """
    n = np.arange(1.0, PARTIALS + 1.0)
    partials = n * f1_hz * stretch(n, inharmonicity)
    away = np.abs(np.log(event.hertz[:, None] / partials[None, :]))
    nearest = away.argmin(axis=1)
    fits = (away.min(axis=1) < NEAR) & usable_tones(event)
    number = np.zeros(len(event.modes), dtype=np.int64)
    for partial in np.unique(nearest[fits]):
        same = np.flatnonzero(fits & (nearest == partial))
        closeness = event.gain[same] * np.exp(-((away[same, partial] / 0.008) ** 2))
        number[same[int(np.argmax(closeness))]] = partial + 1
    return event.modes, number


SHADOW = 5.0


def without_shadows(modes: Modes, number: Ints, count: int) -> tuple[Modes, Ints, Array]:
    """Leave out weaker tones that lie within a partial's own width: a room splits a tone, and one tone is meant.

    Returns
    -------
    tuple
        Tones and numbers that are left, and how far the tones left out were spread about each, weighted by energy,
        shape (k,) [rad²/sample²].
    """
    energy = modes.energy(count)
    keep, spread = np.ones(len(modes), dtype=np.bool_), np.zeros(len(modes))
    for place in np.flatnonzero(number):
        width = SHADOW * max(float(modes.decay[place]), 2.0 / count)
        away = np.abs(modes.omega - modes.omega[place])
        close = (away < width) & (number == 0) & (energy < energy[place])
        spread[place] = np.sum(energy[close] * away[close] ** 2) / (energy[place] + np.sum(energy[close]))
        keep &= ~close
    return modes.chosen(keep), number[keep], spread[keep]


def completed(
    modes: Modes, number: Ints, piece: Array, rate_hz: float, f1_hz: float, inharmonicity: float
) -> tuple[Modes, Ints]:
    """Look in what is left for partials that were too weak to be found on their own.

    Parameters
    ----------
    modes
        Damped tones.
    number
        Number of the partial each tone is, shape (k,) [-].
    piece
        Samples from the onset on, shape (n,) [-].
    rate_hz
        Samples a second [Hz].
    f1_hz
        First partial [Hz].
    inharmonicity
        Inharmonicity of the partials [-].
    """
    rest = piece - modes.waves(len(piece)).sum(axis=1)
    for n in range(1, 7):
        hertz = n * f1_hz * float(stretch(np.array(float(n)), inharmonicity))
        if n in number or hertz > min(1200.0, 0.4 * rate_hz):
            continue
        tone, gain = strongest(rest, rate_hz, hertz * (1 - 0.8 * NEAR), hertz * (1 + 0.8 * NEAR))
        if gain < 20.0:
            continue
        tone = refine(tone, rest, rate_hz, 2)
        close = abs(float(tone.hertz(rate_hz)[0]) / hertz - 1) < NEAR
        if close and tone.tau_s(rate_hz)[0] * hertz * np.pi > 3:
            modes, number = modes.joined(tone), np.append(number, n)
            rest = rest - tone.waves(len(piece)).sum(axis=1)
    return modes, number


@dataclass(frozen=True)
class Line:
    """First partial and B of a stiff string through the partials heard, with standard uncertainties [Hz] and [-]."""

    f1_hz: float
    u_hz: float
    room_u_hz: float
    inharmonicity: float
    u_inharmonicity: float


def first_partial(number: Ints, hertz: Array, covariance: Array, room: Array) -> Line:
    """First partial and B from the partials heard, by least squares with a prior on B.

    log f_n = log f₁ + log n + ½·log((1 + B·n²)/(1 + B)); higher partials may stray by ``MISFIT`` from the stiff
    string, the first one is what is asked for and may not.

    Parameters
    ----------
    number, hertz
        Number [-] and frequency [Hz] of each partial, shape (k,).
    covariance
        Covariance from noise and glide, shape (k, k) [Hz²].
    room
        Variances from room and neighbours, shape (k,) [Hz²].

    Returns
    -------
    Line
        f₁ and B.
    """
    n2 = number.astype(np.float64) ** 2
    own = covariance / np.outer(hertz, hertz)
    shared = np.diag(room / hertz**2)
    model = np.diag(np.where(number == 1, 0.0, MISFIT**2))
    weights = np.linalg.inv(own + shared + model + np.diag(np.full(len(number), 1e-12)))
    start, stiff = float(np.log(hertz[0] / number[0])), 0.001
    for _ in range(8):
        slope = 0.5 * (n2 / (1 + stiff * n2) - 1 / (1 + stiff))
        fitted = start + np.log(number) + 0.5 * np.log((1 + stiff * n2) / (1 + stiff))
        design = np.column_stack([np.ones(len(number)), slope])
        normal = design.T @ weights @ design
        normal[1, 1] += 1 / STIFF_PRIOR**2
        right = design.T @ weights @ (np.log(hertz) - fitted)
        right[1] -= stiff / STIFF_PRIOR**2
        step = np.linalg.solve(normal, right)
        start, stiff = start + float(step[0]), float(np.clip(stiff + step[1], 0.0, 0.12))
    inverse = np.linalg.inv(normal)
    pull = (inverse @ design.T @ weights)[0]
    f1, room_part = float(np.exp(start)), float(pull @ shared @ pull)
    own_part = max(float(inverse[0, 0]) - room_part, 0.0)
    return Line(f1, f1 * own_part**0.5, f1 * room_part**0.5, stiff, float(np.sqrt(inverse[1, 1])))
