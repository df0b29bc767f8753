"""Which span was plucked: candidates tried on all events of a recording, until one is sure enough."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import count

import numpy as np

from twoturn.pluck.agree import WITHIN
from twoturn.pluck.events import Event, analyse
from twoturn.pluck.evidence import Evidence, weigh
from twoturn.pluck.onsets import Onset
from twoturn.pluck.partials import Pluck, fit_plucks
from twoturn.pluck.series import APART, Candidate, candidates, gather, grid_of, own_candidates
from twoturn.pluck.working import Working

POSSIBLE = -0.5  # log-odds from which an event may count beside a sure one
ENOUGH = 2.0  # log-odds of the best event and those that agree from which a span was plucked
SUPPORT = 0.5  # what an event that agrees adds: plucks of one recording are not independent
LEAST_SERIES = -4.0
AT_ONCE = 20  # onsets whose tones are fitted at once [-]
LOUDER = 0.5  # rise of a later start, over this one's, that ends the stretch
Progress = Callable[[float], None]


@dataclass(frozen=True)
class Weighed:
    """One event fitted as a pluck of a candidate span."""

    pluck: Pluck
    evidence: Evidence


def events_of(working: Working, onsets: Sequence[Onset], progress: Progress | None) -> list[Event]:
    """The damped tones after every onset."""
    whole_s = len(working.samples) / working.rate_hz
    ends_s = []
    for number, onset in enumerate(onsets):
        louder = (later.start_s for later in onsets[number + 1 :] if later.rise > LOUDER * onset.rise)
        ends_s.append(next(louder, whole_s))
    found = []
    for first in range(0, len(onsets), AT_ONCE):
        some = slice(first, first + AT_ONCE)
        found += analyse(working, onsets[some], ends_s[some])
        if progress is not None:
            progress(min(1.0, (first + AT_ONCE) / len(onsets)))
    return found


def best_span(working: Working, events: Sequence[Event]) -> tuple[list[Weighed], Weighed | None]:
    """The events that are plucks of the first candidate span that is sure enough; without one, none and the nearest."""
    seen: list[Weighed] = []
    for candidate in proposals(working, events):
        rows = weigh_all(working, events, candidate)
        if together(rows) > ENOUGH:
            return [row for row in rows if row.evidence.log_odds > POSSIBLE], None
        seen += rows
    return [], max(seen, key=lambda row: row.evidence.log_odds, default=None)


def proposals(working: Working, events: Sequence[Event]) -> Iterator[Candidate]:
    """Candidate spans: the two best for all events together, then the best pluck among the events each by itself.

    One pluck amid speech or a ratchet is outvoted by what is no pluck; looked at by itself it is not.
    """
    grid = grid_of(gather(events))
    tried = candidates(grid)[:2]
    yield from tried
    alone: list[tuple[float, Candidate]] = []
    own = [
        (event, number, one)
        for event, number, one in zip(events, count(), own_candidates(grid), strict=False)
        if one is not None and all(abs(np.log(one.f1_hz / other.f1_hz)) >= APART for other in tried)
    ]
    plucks = fit_plucks(
        working, [row[0] for row in own], [row[2].f1_hz for row in own], [row[2].inharmonicity for row in own]
    )
    for (event, number, one), pluck in zip(own, plucks, strict=True):
        if pluck is not None and np.isfinite(pluck.f1_hz):
            alone.append((weigh(working, event, pluck, float(one.scores[number])).log_odds, one))
    if alone:
        yield max(alone, key=lambda row: row[0])[1]


def weigh_all(working: Working, events: Sequence[Event], candidate: Candidate) -> list[Weighed]:
    """Every event as a pluck of one candidate; those that hardly can be are left out."""
    chosen = [(event, float(series)) for event, series in zip(events, candidate.scores, strict=True)]
    chosen = [row for row in chosen if row[1] >= LEAST_SERIES]
    many = len(chosen)
    plucks = fit_plucks(working, [row[0] for row in chosen], [candidate.f1_hz] * many, [candidate.inharmonicity] * many)
    return [
        Weighed(pluck, weigh(working, event, pluck, series))
        for (event, series), pluck in zip(chosen, plucks, strict=True)
        if pluck is not None and np.isfinite(pluck.f1_hz)
    ]


def together(rows: Sequence[Weighed]) -> float:
    """How sure it is that these events are plucks of one span: the surest one, and what the others that agree add [-].

    Parameters
    ----------
    rows
        Events fitted as plucks of one candidate.

    Returns
    -------
    float
        Log-odds; minus infinity where there is none.
    """
    if not rows:
        return -math.inf
    best = max(rows, key=lambda row: row.evidence.log_odds)
    others = (row for row in rows if row is not best and abs(np.log(row.pluck.f1_hz / best.pluck.f1_hz)) < WITHIN)
    more = sum(float(np.clip(row.evidence.log_odds + 0.5, 0.0, 2.0)) for row in others)
    return best.evidence.log_odds + SUPPORT * more
