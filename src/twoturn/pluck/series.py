"""Which tones are partials of one plucked span: the search for the first partial."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from twoturn.pluck.events import Event
from twoturn.pluck.working import Array, Bools, Ints

LOWEST_HZ, HIGHEST_HZ = 28.0, 540.0
PARTIALS = 12
INHARMONICITIES = np.array([0.0, 0.002, 0.006, 0.015, 0.035, 0.07])
# how often a partial is heard when the span is plucked; the first of a low span often is not
HEARD = np.array([0.9, 0.75, 0.6, 0.5, 0.4, 0.3, 0.2, 0.15, 0.1, 0.1, 0.08, 0.08])
TOLERANCE = 0.004
APART = 0.02  # between two candidates [-]
STIFF_COST = 0.012
MATCHED, FAR_OFF = 2.5, 9.0  # tolerances within which a tone is a partial, and beyond which it cannot be
RANDOM = 1 / np.log(1250 / 22)  # density of an unrelated tone on the logarithmic axis


@dataclass(frozen=True, eq=False)
class Tones:
    """The tones of all events in one row.

    Attributes
    ----------
    log_hertz, tolerance, weight
        Logarithm of the frequency [-], its relative tolerance [-] and how much the tone counts [-], shape (k,).
    event
        Number of the event each belongs to, shape (k,) [-].
    index
        Its place in that event's tones, shape (k,) [-].
    events
        Number of events [-].
    """

    log_hertz: Array
    tolerance: Array
    weight: Array
    event: Ints
    index: Ints
    events: int


@dataclass(frozen=True)
class Candidate:
    """A first partial and what speaks for it.

    Attributes
    ----------
    f1_hz
        First partial [Hz].
    inharmonicity
        B in f_n = n·f₁·√((1 + B·n²)/(1 + B)) [-].
    score
        Log-likelihood against unrelated tones, over all events [-].
    scores
        The same for each event, shape (events,) [-].
    """

    f1_hz: float
    inharmonicity: float
    score: float
    scores: Array


def stretch(n: Array, inharmonicity: float | Array) -> Array:
    """Ratio of partial n to n times the first: √((1 + B·n²)/(1 + B)) [-].

    References
    ----------
    H. Fletcher, Normal vibration frequencies of a stiff piano string, J. Acoust. Soc. Am. 36 (1964) 203-209.
    """
    return np.asarray(np.sqrt((1 + inharmonicity * n**2) / (1 + inharmonicity)))


def gather(events: Sequence[Event]) -> Tones:
    """Tones that can be partials of a pluck: they start at the onset and ring."""
    rows = []
    for number, event in enumerate(events):
        usable = usable_tones(event)
        strong = np.log(np.maximum(event.gain, 30.0) / 12)
        top = strong[usable].max() if usable.any() else 1.0
        relative = np.hypot(TOLERANCE, np.minimum(0.03, 2 * event.u_hertz / event.hertz))
        columns = np.column_stack([np.log(event.hertz), relative, strong / top, np.full(len(strong), number)])
        rows.append(np.column_stack([columns, np.arange(len(strong))])[usable])
    table = np.vstack([np.zeros((0, 5)), *rows])
    return Tones(
        table[:, 0], table[:, 1], table[:, 2], table[:, 3].astype(np.int64), table[:, 4].astype(np.int64), len(events)
    )


def usable_tones(event: Event) -> Bools:
    """Mask of the tones that start here, ring for more than a turn or two, and lie in the range, shape (k,)."""
    quality = np.pi * event.hertz * event.tau_s
    return np.asarray(
        (event.older < 0.3) & (quality > 3.0) & (event.tau_s > 0.006) & (event.hertz > 25) & (event.tau_s < 20.0)
    )


@dataclass(frozen=True, eq=False)
class Grid:
    """Every first partial that some tone suggests, and what speaks for it.

    Attributes
    ----------
    hertz, stiff
        First partial [Hz] and inharmonicity [-], shape (candidates,).
    scores
        Log-likelihood of each for each event, shape (candidates, events) [-].
    """

    hertz: Array
    stiff: Array
    scores: Array

    def candidate(self, place: int, score: float) -> Candidate:
        """One of them."""
        return Candidate(float(self.hertz[place]), float(self.stiff[place]), score, self.scores[place])


def grid_of(tones: Tones) -> Grid:
    """Score every first partial that one of the sixty weightiest tones suggests.

    Parameters
    ----------
    tones
        The tones of all events.
    """
    n = np.arange(1.0, 9.0)
    order = np.argsort(-tones.weight)[:60]
    grid = [(np.exp(tones.log_hertz[order])[:, None] / (n * stretch(n, b))).ravel() for b in INHARMONICITIES]
    hertz = np.concatenate(grid)
    stiff = np.repeat(INHARMONICITIES, len(grid[0]))
    inside = (hertz > LOWEST_HZ) & (hertz < HIGHEST_HZ)
    hertz, stiff = hertz[inside], stiff[inside]
    scores = score_all(tones, hertz, stiff) if len(hertz) else np.zeros((0, tones.events))
    return Grid(hertz, stiff, scores)


def candidates(grid: Grid) -> list[Candidate]:
    """First partials worth a look for all events together, best first.

    Parameters
    ----------
    grid
        All first partials that the tones suggest.

    Returns
    -------
    list of Candidate
        At most eight, no two within 2 % of each other.
    """
    total = np.logaddexp(0.0, grid.scores).sum(axis=1) - grid.stiff / STIFF_COST
    found: list[Candidate] = []
    for place in np.argsort(-total):
        if all(abs(np.log(grid.hertz[place] / other.f1_hz)) > APART for other in found):
            found.append(grid.candidate(int(place), float(total[place])))
        if len(found) == 8:
            break
    return found


def own_candidates(grid: Grid) -> list[Candidate | None]:
    """The first partial that each event suggests by itself; None where it suggests none.

    Parameters
    ----------
    grid
        All first partials that the tones suggest.
    """
    if not len(grid.hertz):
        return [None] * grid.scores.shape[1]
    alone = grid.scores - grid.stiff[:, None] / STIFF_COST
    best = alone.argmax(axis=0)
    rows = ((int(place), float(alone[place, event])) for event, place in enumerate(best))
    return [grid.candidate(place, score) if score > 0 else None for place, score in rows]


def score_all(tones: Tones, hertz: Array, stiff: Array) -> Array:
    """Log-likelihood of every candidate for every event, shape (candidates, events) [-].

    Parameters
    ----------
    tones
        Tones of all events.
    hertz
        Frequencies, shape (k,) [Hz].
    stiff
        Inharmonicity of each candidate, shape (candidates,) [-].
    """
    nearest, partials = _nearest(tones.log_hertz, np.log(hertz), stiff)
    close = (tones.log_hertz - np.take_along_axis(partials, nearest, axis=1)) / tones.tolerance
    gain = np.full(close.shape, np.log(0.6)) * tones.weight
    place = np.nonzero(np.abs(close) < FAR_OFF)
    tolerance = tones.tolerance[place[1]]
    density = (
        np.exp(-0.5 * close[place] ** 2) / (np.sqrt(2 * np.pi) * tolerance) * (HEARD / HEARD.sum())[nearest[place]]
    )
    gain[place] = tones.weight[place[1]] * np.log(0.6 + 0.4 * density / RANDOM)
    heard = np.where(np.abs(close) < MATCHED, 1 << nearest, 0)
    present, first = np.unique(tones.event, return_index=True)
    together = np.zeros((len(hertz), tones.events), dtype=np.int64)
    if len(present):
        together[:, present] = np.bitwise_or.reduceat(heard, first, axis=1)
    own = tones.event[:, None] == np.arange(tones.events)
    return np.asarray(gain @ own + absence(together, partials))


def _nearest(log_tones: Array, log_first: Array, stiff: Array) -> tuple[Ints, Array]:
    """Which partial lies nearest to each tone, from 0, shape (candidates, tones); logarithms of the partials [-]."""
    n = np.arange(1.0, PARTIALS + 1.0)
    partials = np.empty((len(stiff), PARTIALS))
    nearest = np.empty((len(stiff), len(log_tones)), dtype=np.int64)
    for one in np.unique(stiff):
        same = stiff == one
        above = np.log(n * stretch(n, one))
        partials[same] = log_first[same, None] + above
        nearest[same] = np.searchsorted(0.5 * (above[1:] + above[:-1]), log_tones - log_first[same, None])
    return nearest, partials


def _silent() -> Array:
    """Which partials are silent below the highest one heard, by which are heard (one bit each), shape (4096, 12)."""
    left = np.arange(1 << PARTIALS)[:, None] >> np.arange(PARTIALS)
    return np.asarray((left > 0) & (left & 1 == 0), dtype=np.float64)


SILENT = _silent()


def absence(heard: Ints, log_partials: Array) -> Array:
    """What silent partials cost below the highest one heard, shape (candidates, events) [-].

    Parameters
    ----------
    heard
        Which partials are heard, one bit each, shape (candidates, events).
    log_partials
        Logarithms of the partials' frequencies, shape (candidates, partials) [-].
    """
    likely = np.where(log_partials < np.log(110), 0.8 * HEARD, HEARD)
    cost = np.where(log_partials > np.log(1200), 0.0, np.log(1 - likely))
    answer = np.repeat(cost[:, :1], heard.shape[1], axis=1)
    place, event = np.nonzero(heard)
    answer[place, event] = np.einsum("ij,ij->i", SILENT[heard[place, event]], cost[place])
    return answer
