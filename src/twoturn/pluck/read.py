"""From a recording to the note of a plucked span: the front of this package."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import count

import numpy as np

from twoturn.pluck.agree import WITHIN, agreeing, combine
from twoturn.pluck.doubts import doubts_of, too_little
from twoturn.pluck.events import Event, analyse
from twoturn.pluck.evidence import Evidence, weigh
from twoturn.pluck.onsets import Onset, find_onsets
from twoturn.pluck.partials import Pluck, fit_plucks
from twoturn.pluck.refused import refused
from twoturn.pluck.result import HeardPluck, PluckResult, Spectrum
from twoturn.pluck.series import APART, Candidate, candidates, gather, grid_of, own_candidates
from twoturn.pluck.working import FRAME, Working, prepare
from twoturn.quantity.reading import Reading
from twoturn.recording.sound import Sound

POSSIBLE = -0.5  # log-odds from which an event may count beside a sure one
ENOUGH = 2.0  # log-odds of the best event and those that agree from which a span was plucked
SUPPORT = 0.5  # what an event that agrees adds: plucks of one recording are not independent
LEAST_SERIES = -4.0
SHORTEST_S = 0.06
AT_ONCE = 20  # onsets whose tones are fitted at once [-]
LOUDER = 0.5  # rise of a later start, over this one's, that ends the stretch
Progress = Callable[[float], None]


@dataclass(frozen=True)
class Weighed:
    """One event fitted as a pluck of a candidate span."""

    pluck: Pluck
    evidence: Evidence


def read_pluck(sound: Sound, progress: Progress | None = None) -> PluckResult:
    """Find the plucks of one span in a recording and read its first partial.

    Parameters
    ----------
    sound
        The recording.
    progress
        Called with the share done [-], for a long recording.

    Returns
    -------
    PluckResult
        ``found`` is False, and ``why`` says so, where nothing rings like a plucked span.

    References
    ----------
    Damped tones by separable least squares: G. H. Golub and V. Pereyra, Inverse Problems 19 (2003) R1-R26.
    Partials of a stiff string: H. Fletcher, J. Acoust. Soc. Am. 36 (1964) 203-209.
    """
    refusal = too_little(sound, SHORTEST_S)
    if refusal:
        return _nothing(sound, refusal, ())
    working = prepare(sound.mono, sound.rate_hz)
    onsets = find_onsets(working)
    events = _events(working, onsets, progress)
    weighed, nearest = _best(working, events)
    if not weighed:
        return _nothing(sound, _why_not(onsets, events, nearest), working.steps)
    group = agreeing([row.pluck for row in weighed], [row.evidence.log_odds for row in weighed])
    heard = tuple(HeardPluck(row.pluck, row.evidence, k in group) for k, row in enumerate(weighed))
    plucks = [row.pluck for row in heard if row.agrees]
    frequency = combine(plucks)
    note = f"{len(plucks)} plucks that agree" if len(plucks) > 1 else "one pluck"
    why = f"{frequency.value:.4g} Hz ± {frequency.expanded:.2g} Hz (19 of 20 times) from {note}"
    return PluckResult(
        True,
        heard,
        frequency,
        second_ratio(plucks),
        why,
        doubts_of(sound, heard),
        (*working.steps, f"{len(onsets)} starts looked at", f"{len(plucks)} taken as plucks"),
        spectrum_of(working, heard),
        sound.duration_s,
        sound.sha256,
    )


def _events(working: Working, onsets: Sequence[Onset], progress: Progress | None) -> list[Event]:
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


def _best(working: Working, events: Sequence[Event]) -> tuple[list[Weighed], Weighed | None]:
    """The events that are plucks of the first candidate span that is sure enough; without one, none and the nearest."""
    seen: list[Weighed] = []
    for candidate in _proposals(working, events):
        rows = _weigh_all(working, events, candidate)
        if together(rows) > ENOUGH:
            return [row for row in rows if row.evidence.log_odds > POSSIBLE], None
        seen += rows
    return [], max(seen, key=lambda row: row.evidence.log_odds, default=None)


def _proposals(working: Working, events: Sequence[Event]) -> Iterator[Candidate]:
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


def _weigh_all(working: Working, events: Sequence[Event], candidate: Candidate) -> list[Weighed]:
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


def second_ratio(plucks: Sequence[Pluck]) -> Reading | None:
    """Stretch of the second partial f₂/(2·f₁), where it and the first were heard.

    Parameters
    ----------
    plucks
        Plucks that agree.

    Returns
    -------
    Reading or None
        Weighted mean over the plucks [-].
    """
    value, u = [], []
    for pluck in plucks:
        heard = {int(n): k for k, n in enumerate(pluck.number)}
        if 1 in heard and 2 in heard:
            f1, f2 = (float(pluck.partial_hz[heard[n]]) for n in (1, 2))
            relative = np.hypot(pluck.partial_u_hz[heard[1]] / f1, pluck.partial_u_hz[heard[2]] / f2)
            value.append(f2 / (2 * f1))
            u.append(float(np.hypot(relative, 1e-3)) * value[-1])
    if not value:
        return None
    weights = 1 / np.array(u) ** 2
    mean = float(np.average(value, weights=weights))
    scatter = float(np.average((np.array(value) - mean) ** 2, weights=weights)) / max(1, len(value) - 1)
    return Reading(mean, float(np.sqrt(max(1 / weights.sum(), scatter))), "-", source="second partial over the first")


def spectrum_of(working: Working, heard: Sequence[HeardPluck]) -> Spectrum | None:
    """Mean spectrum of the plucks that agree, from 20 Hz up, for a picture."""
    size, total, count = 2048, np.zeros(1025), 0
    for row in heard:
        start = int(row.pluck.time_s * working.rate_hz)
        piece = working.samples[start : start + max(FRAME, int(4 * row.pluck.tau_s * working.rate_hz))][:size]
        if row.agrees and len(piece) >= FRAME:
            window = np.hanning(2 * len(piece))[len(piece) :]
            total += np.abs(np.fft.rfft(piece * window, size)) ** 2 / np.sum(window**2)
            count += 1
    if not count:
        return None
    hertz = np.arange(1025) * working.rate_hz / size
    inside = (hertz >= 20) & (hertz <= 0.42 * working.rate_hz)
    best = max((row.pluck for row in heard if row.agrees), key=lambda pluck: pluck.snr_db)
    partials = tuple((int(n), float(f)) for n, f in sorted(zip(best.number, best.partial_hz, strict=True)))
    return Spectrum(hertz[inside], 10 * np.log10(total[inside] / count + 1e-6), partials)


def _why_not(onsets: Sequence[Onset], events: Sequence[Event], nearest: Weighed | None) -> str:
    """Why nothing was taken as a pluck, in one sentence."""
    if not onsets:
        return "nothing starts suddenly in this recording: pluck the span once or more while it runs"
    if not events:
        return "what starts here rings too briefly for a span"
    if nearest is None:
        return "nothing here rings like a plucked span: no sound has tones that belong to one"
    return refused(nearest.pluck, nearest.evidence)


def _nothing(sound: Sound, why: str, steps: tuple[str, ...]) -> PluckResult:
    """The answer when no pluck was found."""
    doubts = doubts_of(sound, ())
    return PluckResult(False, (), None, None, why, doubts, steps, None, sound.duration_s, sound.sha256)
