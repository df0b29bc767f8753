"""A second round that was not written down as one: what goes back to an earlier step needs ``pass = 2``."""

from __future__ import annotations

from collections.abc import Sequence

from twoturn.drive.parts import Drive
from twoturn.job.entries.base import EntryBase
from twoturn.job.evidence import is_reading
from twoturn.job.order import Act, Timeline
from twoturn.job.places import Places
from twoturn.job.resets import Reset
from twoturn.job.state import State
from twoturn.job.steps import step_numbers


def forgotten_rounds(drive: Drive, entries: Sequence[EntryBase]) -> tuple[str, ...]:
    """Sentences on what looks like a second round without its ``pass``; they change no verdict.

    The same act twice in one step and round, with readings of later steps listed between, was either typed in no
    order, or done again after those readings. Only who did it knows.

    Parameters
    ----------
    drive, entries
        The drive, and all entries of the record in order.
    """
    timeline = Timeline(entries, step_numbers(drive))
    resets = State(timeline, Places(drive)).resets
    found = []
    for at, reset in enumerate(resets):
        first = next((one for one in resets[:at] if _alike(one, reset)), None)
        if first is not None and any(_between(act, first.act, reset.act) for act in timeline.acts):
            found.append(
                f"Entry {reset.act.number} ({reset.what}) names the same step and round as entry {first.act.number}, "
                "and later readings stand between them: if it was done again, write pass = 2 on it and on all that "
                "followed, and read everything again."
            )
    return tuple(found)


def _alike(one: Reset, other: Reset) -> bool:
    same = one.act.entry.kind == other.act.entry.kind and one.what == other.what and one.belts == other.belts
    return same and one.act.key is not None and one.act.key == other.act.key


def _between(act: Act, first: Act, second: Act) -> bool:
    """Whether a reading of a later step of the same round is listed between two acts."""
    if act.key is None or first.key is None or not is_reading(act.entry) or getattr(act.entry, "as_found", False):
        return False
    return first.place < act.place < second.place and act.key[0] == first.key[0] and act.key > first.key
