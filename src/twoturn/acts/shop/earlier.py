"""What earlier jobs on a drive read: the last readings of each place, as they were once the belt was set and turned."""

from __future__ import annotations

import math
import statistics
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING

from twoturn.acts.shop.jobs import HeldJob, held_job
from twoturn.acts.shop.shop import Shop
from twoturn.drive.parts import Pulley
from twoturn.errors import TwoTurnError
from twoturn.job.asked.model import reading_key
from twoturn.job.checks.base import build_case
from twoturn.job.entries.base import EntryBase
from twoturn.job.entries.recordings import Pluck
from twoturn.job.evidence import Evidence
from twoturn.job.order import Timeline
from twoturn.job.steps import step_numbers
from twoturn.quantity.reading import Reading
from twoturn.quantity.show import show
from twoturn.store.faults import StoreError
from twoturn.store.records import jobs as kept
from twoturn.words.numbers import count_words

if TYPE_CHECKING:
    from twoturn.acts.prove import Proof

Judged = Callable[[Shop, HeldJob], "Proof"]
LOOKED_BACK = 12
"""Jobs looked through [-]: with four readings wanted, three jobs in four may be without one."""
NOTES = 4
"""Readings told of a place [-]."""


@dataclass(frozen=True)
class EarlierNotes:
    """The last notes of a span.

    Attributes
    ----------
    span
        The span, ``from:to`` in belt order.
    notes
        The notes, newest first, one a job.
    words
        What they say: ``"last four notes here: 101 ± 2 Hz"``.
    """

    span: str
    notes: tuple[Reading, ...]
    words: str


def earlier_notes(shop: Shop, drive_id: int, judged: Judged) -> tuple[EarlierNotes, ...]:
    """The last notes of each span of a drive that were read on a set belt after its turns by hand.

    Parameters
    ----------
    shop
        The shop.
    drive_id
        The drive; jobs by any of its versions count.
    judged
        Judges a job, and reads its recordings; its answer may be one of before.
    """
    found = _earlier(shop, drive_id, judged, None)
    spans = {reading_key("frequency", span): span for job in found for span in job.spans}
    told = _by_place(found)
    return tuple(
        EarlierNotes(span, tuple(told[key]), _words(key, told[key])) for key, span in spans.items() if key in told
    )


def earlier_words(shop: Shop, drive_id: int, judged: Judged, before: int) -> dict[str, str]:
    """What the jobs before one read, in words, by quantity and place (:func:`reading_key`).

    Parameters
    ----------
    shop, drive_id, judged
        As for :func:`earlier_notes`.
    before
        Running number of the job that asks: only jobs with a smaller one count.
    """
    return {key: _words(key, values) for key, values in _by_place(_earlier(shop, drive_id, judged, before)).items()}


@dataclass(frozen=True)
class _Job:
    """What a job read: its readings that count by quantity and place, and the spans of its drive."""

    readings: Mapping[str, Reading]
    spans: tuple[str, ...]


def _earlier(shop: Shop, drive_id: int, judged: Judged, before: int | None) -> list[_Job]:
    """The last jobs by a drive, newest first; each is looked through once as long as nothing is entered in it."""
    with shop.reading() as connection:
        rows = kept.jobs_of_drive(connection, drive_id)
    asked = [job for job in rows if job.entries and (before is None or job.number < before)]

    def look(job_id: int) -> _Job:
        try:
            return _read(shop, held_job(shop, job_id), judged)
        except StoreError:
            raise
        except TwoTurnError:
            return _Job({}, ())

    return [shop.answers.once(("earlier", job.id, job.entries), partial(look, job.id)) for job in asked[:LOOKED_BACK]]


def _by_place(jobs: Sequence[_Job]) -> dict[str, list[Reading]]:
    """The last readings of each quantity and place, all of one unit."""
    found: dict[str, list[Reading]] = {}
    for job in jobs:
        for key, value in job.readings.items():
            told = found.setdefault(key, [])
            if len(told) < NOTES and (not told or told[0].unit == value.unit):
                told.append(value)
    return found


def _read(shop: Shop, held: HeldJob, judged: Judged) -> _Job:
    """The last counting reading of each place of a job; recordings whose entry holds no reading are read, each once."""
    entries: Sequence[EntryBase] = held.file.entries
    if any(isinstance(entry, Pluck) and entry.reading is None for entry in entries):
        entries = judged(shop, held).filled.entries
    case = build_case(held.drive, Timeline(entries, step_numbers(held.drive)))
    found: dict[str, Reading] = {}
    for item in case.evidence:
        if item.value is None or not _place(item) or item.quantity in ("mark", "pin", "pin depth"):
            continue
        if case.state.standing(item.act, item.touched, "after turns").counts and not item.doubts:
            found[reading_key(item.quantity, _place(item))] = item.value
    spans = [":".join(pair) for belt in held.drive.belts for pair in _pairs(belt.pulleys)]
    return _Job(found, tuple(spans))


def _place(item: Evidence) -> str:
    return ":".join(sorted(item.span)) if item.span is not None else item.place or item.shaft or ""


def _pairs(pulleys: Sequence[Pulley]) -> list[tuple[str, str]]:
    ids = [pulley.id for pulley in pulleys]
    return list(zip(ids, ids[1:] + ids[:1], strict=True))


def _words(key: str, values: Sequence[Reading]) -> str:
    word = "note" if key.startswith("frequency") else "reading"
    if len(values) == 1:
        return f"last {word} here: {show(values[0])}"
    return f"last {count_words(len(values), word)} here: {show(next_note(values))}"


def next_note(notes: Sequence[Reading]) -> Reading:
    """Their mean, and how far the next note may lie from it 19 times of 20, as they scatter or are unsure [theirs].

    Notes
    -----
    Prediction interval of a normal sample: s·√(1 + 1/n) with n − 1 degrees of freedom. Where the notes agree better
    than their own uncertainties say, those count.
    """
    values = [note.value for note in notes]
    count = len(values)
    own = math.sqrt(math.fsum(note.u**2 for note in notes) / count)
    scatter = statistics.stdev(values)
    if scatter <= own:
        return Reading(statistics.fmean(values), own * math.sqrt(1 + 1 / count), notes[0].unit)
    return Reading(statistics.fmean(values), scatter * math.sqrt(1 + 1 / count), notes[0].unit, count - 1)
