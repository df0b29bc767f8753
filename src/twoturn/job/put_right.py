"""What was not met once and is proven now: a record in which something was put right says so."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from twoturn.drive.parts import Drive
from twoturn.job.assess import Assessment, assess
from twoturn.job.checks.base import Check, Unread
from twoturn.job.entries.base import EntryBase
from twoturn.job.order import TIMELESS
from twoturn.quantity.conformity import Verdict
from twoturn.words.numbers import list_words


@dataclass(frozen=True)
class PutRight:
    """A required check that was not met once.

    Attributes
    ----------
    check
        The check as it is now: proven.
    entries
        Numbers of the entries with which it was not met, in order.
    """

    check: Check
    entries: tuple[int, ...]

    @property
    def words(self) -> str:
        """``Was not met once, put right: Timing of the camshaft (entry 15)``."""
        which = list_words([str(number) for number in self.entries])
        return (
            f"Was not met once, put right: {self.check.title} "
            f"({'entry' if len(self.entries) == 1 else 'entries'} {which})"
        )


def put_right(
    drive: Drive,
    entries: Sequence[EntryBase],
    found: Assessment,
    unread: Mapping[int, Unread] | None = None,
) -> tuple[PutRight, ...]:
    """The required checks that are proven now and were not met when the record was shorter.

    An entry that was corrected, struck out or left out was a slip of the pen, not something put right, and is not told.

    Parameters
    ----------
    drive, entries
        The drive, and all entries of the record.
    found
        What they prove.
    unread
        As :func:`~twoturn.job.assess.assess` takes it.
    """
    now = {check.id: check for check in found.required if check.verdict is Verdict.PROVEN}
    slips = {*found.corrections, *(one.entry for one in found.left_out)}
    failed: dict[str, list[int]] = {}
    for count in range(1, len(entries)):
        if entries[count - 1].kind in TIMELESS:
            continue
        then = assess(drive, entries[:count], unread)
        for check in then.required:
            if check.id in now and check.verdict is Verdict.NOT_MET and not slips & {count, *check.entries}:
                number = max(check.entries, default=count)
                failed.setdefault(check.id, []).append(number)
    return tuple(
        PutRight(check, tuple(dict.fromkeys(failed[check_id]))) for check_id, check in now.items() if check_id in failed
    )
