"""How many plucks there were, and whether some of them rang at another note."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from twoturn.pluck.agree import alike
from twoturn.pluck.events import Event
from twoturn.pluck.evidence import weigh
from twoturn.pluck.partials import fit_plucks
from twoturn.pluck.search import ENOUGH, POSSIBLE, Weighed, together, weigh_all
from twoturn.pluck.series import Candidate, gather, grid_of, own_candidates
from twoturn.pluck.working import Working

STRIKE_S = 0.1  # no finger plucks twice within this
MOST_LOOKED_AT = 6  # events fitted anew, those whose tones are most like one span's partials [-]
SIMPLE = 3  # ratios of whole numbers up to this are one span's partials told differently [-]
NEAR_RATIO = 0.02  # to such a ratio [-]


@dataclass(frozen=True)
class OtherNote:
    """Plucks that ring at another note than those that were combined.

    Attributes
    ----------
    hertz
        Their first partial [Hz].
    plucks
        The plucks, in order of time.
    """

    hertz: float
    plucks: tuple[Weighed, ...]


def strikes(rows: Sequence[Weighed]) -> list[Weighed]:
    """The rows with every pluck once: of starts within a tenth of a second the surest, in order of time.

    A belt that touches the finger again, or a wall that answers, starts anew what is still one pluck; counted twice
    it would be its own second witness.

    Parameters
    ----------
    rows
        Events that are plucks of one span.
    """
    kept: list[Weighed] = []
    for row in sorted(rows, key=lambda row: -row.evidence.log_odds):
        if all(abs(row.pluck.time_s - other.pluck.time_s) >= STRIKE_S for other in kept):
            kept.append(row)
    return sorted(kept, key=lambda row: row.pluck.time_s)


def other_notes(working: Working, events: Sequence[Event], group: Sequence[Weighed]) -> list[OtherNote]:
    """Plucks among the other events, by their note, the note with most plucks first.

    Parameters
    ----------
    working
        The sound as it is worked on.
    events
        All events of the recording.
    group
        The plucks that agree, every start of them: what begins with one of them is no pluck of its own.

    Returns
    -------
    list of OtherNote
        Often none. Notes a simple ratio away are left out: they are mostly the same span heard by other partials.
    """
    taken = [row.pluck.time_s for row in group]
    own_hz = float(np.median([row.pluck.f1_hz for row in group]))
    left = [event for event in events if all(abs(event.onset_s - time) >= STRIKE_S for time in taken)]
    found: list[OtherNote] = []
    for row, candidate in _by_themselves(working, left):
        known = any(abs(row.pluck.time_s - time) < STRIKE_S for time in taken)
        if known or is_simple(row.pluck.f1_hz / own_hz) or any(alike(row.pluck, one.pluck) for one in group):
            continue
        rows = [one for one in weigh_all(working, left, candidate) if one.evidence.log_odds > POSSIBLE]
        rows = [one for one in rows if all(abs(one.pluck.time_s - time) >= STRIKE_S for time in taken)]
        same = strikes([row, *(one for one in rows if alike(one.pluck, row.pluck))])
        if together(same) <= ENOUGH:
            continue
        taken += [one.pluck.time_s for one in same]
        found.append(OtherNote(float(np.median([one.pluck.f1_hz for one in same])), tuple(same)))
    return sorted(found, key=lambda note: -len(note.plucks))


def _by_themselves(working: Working, events: Sequence[Event]) -> list[tuple[Weighed, Candidate]]:
    """The events that may be plucks of the span each suggests by itself, with that span, the surest first."""
    own = own_candidates(grid_of(gather(events))) if events else []
    pairs = [(number, one) for number, one in enumerate(own) if one is not None]
    pairs = sorted(pairs, key=lambda pair: -float(pair[1].scores[pair[0]]))[:MOST_LOOKED_AT]
    hertz, stiff = [one.f1_hz for _, one in pairs], [one.inharmonicity for _, one in pairs]
    plucks = fit_plucks(working, [events[number] for number, _ in pairs], hertz, stiff)
    rows = [
        (Weighed(pluck, weigh(working, events[number], pluck, float(one.scores[number]))), one)
        for (number, one), pluck in zip(pairs, plucks, strict=True)
        if pluck is not None and np.isfinite(pluck.f1_hz)
    ]
    likely = [row for row in rows if row[0].evidence.log_odds > POSSIBLE]
    return sorted(likely, key=lambda row: -row[0].evidence.log_odds)


def is_simple(ratio: float) -> bool:
    """Whether a ratio of two notes is one of small whole numbers other than 1.

    Parameters
    ----------
    ratio
        One note over the other [-].
    """
    whole = range(1, SIMPLE + 1)
    return any(n != m and abs(np.log(ratio * m / n)) < NEAR_RATIO for n in whole for m in whole)
