"""What the checks of a job would say with one entry more."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from twoturn.acts.shop.recording_says import Drawn, band_of
from twoturn.job.assess import Assessment
from twoturn.job.checks.base import Check
from twoturn.job.checks.readings import DOUBT


@dataclass(frozen=True)
class Preview:
    """A check as it would stand.

    Attributes
    ----------
    id, title
        Of the check.
    before, verdict
        Its verdict now (None where there is no such check yet), and with the entry.
    reading, requirement, why, next
        As in the check.
    notes
        What else must be said; doubts of the recording itself are said beside it and left out here.
    picture
        Value against requirement; None where there are no numbers.
    """

    id: str
    title: str
    before: str | None
    verdict: str
    reading: str
    requirement: str
    why: str
    next: str
    notes: tuple[str, ...]
    picture: Drawn | None = None

    def as_json(self) -> dict[str, Any]:
        """All but the picture."""
        return {key: value for key, value in self.__dict__.items() if key != "picture"} | {"notes": list(self.notes)}


def previews(before: Assessment, after: Assessment, number: int) -> tuple[Preview, ...]:
    """The checks that rest on an entry, or whose verdict it changes.

    Parameters
    ----------
    before, after
        What is proven without the entry and with it.
    number
        Its number, counted from 1.
    """
    old = {check.id: check for check in before.checks}
    found = []
    for check in after.checks:
        was = old.get(check.id)
        if number in check.entries or was is None or was.verdict is not check.verdict:
            found.append(_preview(check, was))
    return tuple(found)


def _preview(check: Check, was: Check | None) -> Preview:
    picture = None
    if check.value is not None and check.limits is not None and check.method == "measured":
        picture = band_of(check.title, check.value, check.limits, check.verdict.value)
    return Preview(
        id=check.id,
        title=check.title,
        before=None if was is None else was.verdict.value,
        verdict=check.verdict.value,
        reading=check.reading or "",
        requirement=check.requirement or "",
        why=check.why,
        next=check.next,
        notes=tuple(note for note in check.notes if not note.startswith(DOUBT)),
        picture=picture,
    )
