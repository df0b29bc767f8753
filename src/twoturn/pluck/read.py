"""From a recording to the note of a plucked span: the front of this package."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from twoturn.pluck.agree import agreeing, combine
from twoturn.pluck.doubts import doubts_of, too_little
from twoturn.pluck.events import Event
from twoturn.pluck.onsets import Onset, find_onsets
from twoturn.pluck.partials import Pluck
from twoturn.pluck.refused import refused
from twoturn.pluck.result import HeardPluck, PluckResult, Spectrum
from twoturn.pluck.search import Progress, Weighed, best_span, events_of
from twoturn.pluck.witnesses import OtherNote, other_notes, strikes
from twoturn.pluck.working import FRAME, Working, prepare
from twoturn.quantity.reading import Reading
from twoturn.recording.sound import Sound

SHORTEST_S = 0.06


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
    events = events_of(working, onsets, progress)
    weighed, nearest = best_span(working, events)
    if not weighed:
        return _nothing(sound, _why_not(onsets, events, nearest), working.steps)
    together = [
        weighed[k] for k in agreeing([row.pluck for row in weighed], [row.evidence.log_odds for row in weighed])
    ]
    once = strikes(together)
    others = other_notes(working, events, together)
    heard, notes = _in_order(once, others), tuple((note.hertz, len(note.plucks)) for note in others)
    plucks = [row.pluck for row in once]
    frequency = combine(plucks)
    note = f"{len(plucks)} plucks that agree" if len(plucks) > 1 else "one pluck"
    why = f"{frequency.value:.4g} Hz ± {frequency.expanded:.2g} Hz (19 of 20 times) from {note}"
    return PluckResult(
        True,
        heard,
        frequency,
        second_ratio(plucks),
        why,
        doubts_of(sound, heard, notes),
        (*working.steps, f"{len(onsets)} starts looked at", f"{len(plucks)} taken as plucks"),
        spectrum_of(working, heard),
        sound.duration_s,
        sound.sha256,
        notes,
    )


def _in_order(group: Sequence[Weighed], others: Sequence[OtherNote]) -> tuple[HeardPluck, ...]:
    """All plucks in order of time: those that were combined, and those at other notes."""
    heard = [HeardPluck(row.pluck, row.evidence, True) for row in group]
    heard += [HeardPluck(row.pluck, row.evidence, False) for note in others for row in note.plucks]
    return tuple(sorted(heard, key=lambda row: row.pluck.time_s))


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
