"""One pluck fitted as a whole: partials of a span whose note may glide down, beside tones that do not belong to it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from twoturn.pluck.bands import Ring
from twoturn.pluck.events import Event
from twoturn.pluck.glide import with_glide
from twoturn.pluck.many import side_by_side
from twoturn.pluck.ready import NEAR, Ready, make_ready
from twoturn.pluck.series import stretch
from twoturn.pluck.sums import sounding, stretches
from twoturn.pluck.working import Array, Ints, Working

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


@dataclass(frozen=True)
class Line:
    """First partial and B of a stiff string through the partials heard, with standard uncertainties [Hz] and [-]."""

    f1_hz: float
    u_hz: float
    room_u_hz: float
    inharmonicity: float
    u_inharmonicity: float


def fit_plucks(
    working: Working, events: Sequence[Event], f1_hz: Sequence[float], inharmonicity: Sequence[float]
) -> list[Pluck | None]:
    """Fit each event as a pluck of a span whose first partial lies near ``f1_hz``.

    Parameters
    ----------
    working
        The flattened recording.
    events
        The events.
    f1_hz, inharmonicity
        First partial [Hz] and B [-] to start from, for each.

    Returns
    -------
    list
        None for an event in which no partial of that span is heard.
    """
    every = make_ready(working, events, f1_hz, inharmonicity)
    chosen = [(place, ready) for place, ready in enumerate(every) if ready is not None]
    answer: list[Pluck | None] = [None] * len(events)
    if chosen:
        found = _fitted(working.rate_hz, [events[place] for place, _ in chosen], [ready for _, ready in chosen])
        for (place, _), pluck in zip(chosen, found, strict=True):
            answer[place] = pluck
    return answer


def _fitted(rate_hz: float, events: Sequence[Event], every: Sequence[Ready]) -> list[Pluck | None]:
    """Each event's partials as a pluck."""
    sound, tones = stretches([ready.piece for ready in every]), side_by_side([ready.modes for ready in every])
    number, spread = np.zeros(tones.heard.shape, dtype=np.int64), np.zeros(tones.heard.shape)
    number[tones.heard] = np.concatenate([ready.number for ready in every])
    spread[tones.heard] = np.concatenate([ready.spread for ready in every])
    fits = with_glide(tones, number, sound.without(tones.rate, tones.weight))
    to_hertz = rate_hz / (2 * np.pi)
    kept, hertz = fits.number > 0, fits.omega * to_hertz
    good = np.flatnonzero(kept.any(axis=1) & (~kept | (hertz > 0)).all(axis=1))  # else nothing there to hold a glide
    covariance = fits.covariance[good] * to_hertz**2
    room = (fits.room + SPREAD_SHARE**2 * spread)[good] * to_hertz**2
    lines = first_partials(fits.number[good], hertz[good], covariance, room)
    gain = tones.energy(sound.count)
    heard = sounding(tones.rate, tones.weight * kept, sound.blocks.shape[1])
    heard[np.arange(heard.shape[1]) >= sound.count[:, None]] = 0.0
    explained = np.einsum("ij,ij->i", heard, heard)
    answer: list[Pluck | None] = [None] * len(every)
    for line, row, u_hz in zip(lines, good.tolist(), np.sqrt(np.einsum("ijj->ij", covariance) + room), strict=True):
        mine, ready = kept[row], every[row]
        partials = (fits.number[row, mine], hertz[row, mine], u_hz[mine], gain[row, mine])
        glide, glide_rate = float(fits.glide[row]), float(fits.glide_rate[row])
        ring = Ring(ready.stretch, rate_hz, ready.late, ready.every, ready.numbers, glide, glide_rate)
        tau_s = 1 / max(-float(tones.rate[row].real[mine][int(np.argmax(partials[3]))]), 1e-9) / rate_hz
        energy = (float(explained[row]), float(sound.power[row]), len(ready.piece))
        answer[row] = _told(events[row].onset_s, line, partials, tau_s, energy, ring)
    return answer


def _told(
    onset_s: float,
    line: Line,
    partials: tuple[Ints, Array, Array, Array],
    tau_s: float,
    energy: tuple[float, float, int],
    ring: Ring,
) -> Pluck:
    """One pluck from its line, its partials (number, frequency, uncertainty, energy) and energies (explained, all)."""
    number, hertz, u_hz, gain = partials
    explained, whole, count = energy
    share = min(1.0, explained / max(1.0, whole - count))
    noise = 2.0 * min(tau_s, count / ring.rate_hz) * 100.0
    return Pluck(
        onset_s, line.f1_hz, line.u_hz, surroundings_u_hz(line, number, hertz, gain, (1 - share) / tau_s),
        line.inharmonicity, line.u_inharmonicity, tau_s, ring.glide, number, hertz, u_hz, gain,
        share, float(10 * np.log10(explained / noise + 1e-9)), ring,
    )  # fmt: skip


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


def first_partials(number: Ints, hertz: Array, covariance: Array, room: Array) -> list[Line]:
    """First partial and B of each pluck from the partials heard, by least squares with a prior on B.

    log f_n = log f₁ + log n + ½·log((1 + B·n²)/(1 + B)); higher partials may stray by ``MISFIT`` from the stiff
    string, the first one is what is asked for and may not.

    Parameters
    ----------
    number, hertz
        Number [-], 0 for tones that are none, and frequency [Hz] of each partial, shape (rows, k).
    covariance
        Covariance from noise and glide, shape (rows, k, k) [Hz²].
    room
        Variances from room and neighbours, shape (rows, k) [Hz²].

    Returns
    -------
    list of Line
        f₁ and B of each.
    """
    heard = number > 0
    n, hertz = np.where(heard, number, 1).astype(np.float64), np.where(heard, hertz, 1.0)
    both, place, n2 = heard[:, :, None] & heard[:, None, :], np.log(hertz / n), n**2
    total = np.where(both, covariance / (hertz[:, :, None] * hertz[:, None, :]), 0.0)
    shared = np.where(heard, room / hertz**2, 0.0)
    np.einsum("ijj->ij", total)[:] += np.where(heard, shared + np.where(number == 1, 0.0, MISFIT**2) + 1e-12, 1.0)
    weights = np.linalg.inv(total) * both
    start, stiff = place[np.arange(len(n)), heard.argmax(axis=1)], np.full(len(n), 0.001)
    for _ in range(8):
        b = stiff[:, None]
        design = np.stack([heard.astype(np.float64), 0.5 * (n2 / (1 + b * n2) - 1 / (1 + b)) * heard], axis=1)
        weighted = design @ weights
        normal = weighted @ design.transpose(0, 2, 1)
        normal[:, 1, 1] += 1 / STIFF_PRIOR**2
        fitted = start[:, None] + 0.5 * np.log((1 + b * n2) / (1 + b))
        right = (weighted @ (place - fitted)[..., None])[..., 0]
        right[:, 1] -= stiff / STIFF_PRIOR**2
        step = np.linalg.solve(normal, right[..., None])[..., 0]
        start, stiff = start + step[:, 0], np.minimum(np.maximum(stiff + step[:, 1], 0.0), 0.12)
    inverse = np.linalg.inv(normal)
    pull = (inverse @ weighted)[:, 0]
    room_part = np.sum(pull**2 * shared, axis=1)
    own_part = np.maximum(inverse[:, 0, 0] - room_part, 0.0)
    f1 = np.exp(start)
    columns = (f1, f1 * own_part**0.5, f1 * room_part**0.5, stiff, np.sqrt(inverse[:, 1, 1]))
    return [Line(*row) for row in zip(*(column.tolist() for column in columns), strict=True)]
