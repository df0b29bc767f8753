"""A sending that comes again: what it wrote the first time, and whether it says the same now."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from twoturn.acts.shop.job_view import JobView, view_of
from twoturn.acts.shop.jobs import held_job
from twoturn.acts.shop.shop import Shop

if TYPE_CHECKING:
    from twoturn.job.asked.model import Asked
    from twoturn.store.records.entries import Entry

SETTLED_LATER = ("pass", "entered", "by")
"""Keys of an entry that the job gives it, not the one who answers."""


def written(shop: Shop, job_id: int, key: str) -> tuple[Entry, ...]:
    """The entries that a sending with this key wrote to a job; none where it has not come yet."""
    from twoturn.store.records.entries import of_key

    with shop.reading() as connection:
        return of_key(connection, job_id, key) or ()


def content_of(entry: Entry) -> dict[str, Any]:
    """What an entry says, to be sent once more: who stands for it is filled in again."""
    return {key: value for key, value in entry.content.items() if key not in ("entered", "by")} | {
        "entered": entry.content.get("entered")
    }


def says_the_same(row: Mapping[str, Any], before: Entry) -> bool:
    """Whether a row says what an entry said the first time, whatever the job has grown to since."""
    from twoturn.job.canonical import canonical_json

    def own(content: Mapping[str, Any]) -> str:
        return canonical_json({key: value for key, value in content.items() if key not in SETTLED_LATER})

    return own(row) == own(before.content)


def answers_it(question: Asked, before: Entry) -> bool:
    """Whether an entry answers a question: a tap says no more than which one, whatever is known by now."""
    from twoturn.job.canonical import canonical_json

    fixed = {key: value for key, value in question.fixed.items() if key not in SETTLED_LATER}
    said = {key: before.content.get(key) for key in fixed}
    return before.content.get("kind") == question.kind and canonical_json(said) == canonical_json(fixed)


def all_the_same(rows: Sequence[Mapping[str, Any]], before: Sequence[Entry]) -> bool:
    """As :func:`says_the_same`, of a sending of several rows."""
    return len(rows) == len(before) and all(map(says_the_same, rows, before))


def view_before(shop: Shop, job_id: int, first: Entry) -> JobView:
    """The job as it stood before an entry was written: the questions that it could answer then."""
    held, count = held_job(shop, job_id), first.number - 1
    file = replace(held.file, entries=held.file.entries[:count], raw=held.file.raw[:count])
    row = replace(held.row, entries=count, last_hash=first.previous_hash)
    return view_of(shop, replace(held, row=row, file=file, entries=held.entries[:count]))
