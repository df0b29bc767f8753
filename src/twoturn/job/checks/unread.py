"""Recordings that are entered and gave no reading: a check says why, not that nothing was entered."""

from __future__ import annotations

from collections.abc import Callable

from twoturn.job.checks.base import Case, Unread
from twoturn.job.entries.recordings import Capture, Pluck
from twoturn.job.evidence import Evidence, where
from twoturn.job.needs import Need
from twoturn.job.order import Act

RECORD_AGAIN = "Record it again, or leave the recording out with its reason."


def unread_words(act: Act, case: Case) -> Unread:
    """Why the recording of an entry gave no reading, and what to do.

    Parameters
    ----------
    act
        The entry of a recording without a reading.
    case
        The job.
    """
    known = case.unread.get(act.number)
    if known is not None:
        return known
    file = act.entry.file if isinstance(act.entry, Pluck | Capture) else "the recording"
    return Unread(f"Entry {act.number}: {file} gave no reading.", RECORD_AGAIN)


def unread_pluck(need: Need, case: Case, fits: Callable[[Need, Evidence, Case], bool]) -> tuple[Unread, int] | None:
    """The last pluck recording of a requirement's span that gave no reading, and the number of its entry.

    Parameters
    ----------
    need
        The requirement.
    case
        The job.
    fits
        Whether a reading was taken where a requirement holds.
    """
    if need.quantity not in ("frequency", "tension"):
        return None
    for act in reversed(case.timeline.acts):
        entry = act.entry
        if not isinstance(entry, Pluck) or entry.reading is not None or act.number in case.timeline.left_out:
            continue
        place, shaft, span, belts = where(entry.span, case.places)
        item = Evidence(act, need.quantity, place, belts, shaft, span)
        if entry.as_found == (need.state == "as found") and fits(need, item, case):
            found = unread_words(act, case)
            standing = case.state.standing(act, item.touched, need.state, need.settle_min)
            both = found if standing.counts else Unread(f"{found.why} {standing.why}", standing.next)
            return both, act.number
    return None
