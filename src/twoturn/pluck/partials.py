"""One pluck fitted as a whole: partials of a span whose note may glide down, beside tones that do not belong to it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from twoturn.pluck.bands import Ring
from twoturn.pluck.events import Event
from twoturn.pluck.glide import with_glide
from twoturn.pluck.ready import NEAR, Ready, make_ready
from twoturn.pluck.series import stretch
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
    pairs = zip(events, every, strict=True)
    return [None if ready is None else _fitted(working.rate_hz, event, ready) for event, ready in pairs]


def _fitted(rate_hz: float, event: Event, ready: Ready) -> Pluck | None:
    """One event's partials as a pluck."""
    modes, piece = ready.modes, ready.piece
    fit = with_glide(modes, ready.number, piece - modes.sound(len(piece)))
    kept, to_hertz = fit.number > 0, rate_hz / (2 * np.pi)
    if not kept.any():
        return None
    hertz = fit.omega[kept] * to_hertz
    if not len(hertz) or not (hertz > 0).all():  # nothing there to hold a glide
        return None
    covariance = fit.covariance[np.ix_(kept, kept)] * to_hertz**2
    room = (fit.room + SPREAD_SHARE**2 * ready.spread)[kept] * to_hertz**2
    line = first_partial(fit.number[kept], hertz, covariance, room)
    gain = modes.energy(len(piece))[kept]
    tau = float(modes.chosen(kept).tau_s(rate_hz)[int(np.argmax(gain))])
    energy = max(1.0, float(piece @ piece) - len(piece))
    explained = float(np.sum(modes.chosen(kept).sound(len(piece)) ** 2))
    share, noise = min(1.0, explained / energy), 2.0 * min(tau, len(piece) / rate_hz) * 100.0
    room_u_hz = surroundings_u_hz(line, fit.number[kept], hertz, gain, (1 - share) / tau)
    ring = Ring(ready.stretch, rate_hz, ready.late, ready.every, ready.numbers, fit.glide, fit.glide_rate)
    return Pluck(
        event.onset_s, line.f1_hz, line.u_hz, room_u_hz, line.inharmonicity, line.u_inharmonicity, tau, fit.glide,
        fit.number[kept], hertz, np.sqrt(np.diag(covariance) + room), gain,
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
