"""What earlier jobs on a drive found: the last notes of each span, as they were once the belt was set and turned."""

from __future__ import annotations

import math
import statistics
from collections.abc import Sequence
from dataclasses import dataclass

from twoturn.acts.shop.job_view import judged
from twoturn.acts.shop.jobs import HeldJob, held_job
from twoturn.acts.shop.shop import Shop
from twoturn.drive.parts import Pulley
from twoturn.job.checks.base import build_case
from twoturn.job.entries.base import EntryBase
from twoturn.job.entries.recordings import Pluck
from twoturn.job.evidence import Evidence
from twoturn.job.order import Timeline
from twoturn.job.steps import step_numbers
from twoturn.quantity.reading import Reading
from twoturn.quantity.show import show
from twoturn.store.records import jobs as kept
from twoturn.words.numbers import count_words

LOOKED_BACK = 12
"""Jobs looked through [-]: with four notes wanted, three jobs in four may be without one."""
NOTES = 4
"""Notes told of a span [-]."""


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


def earlier_notes(shop: Shop, drive_id: int, without: int | None = None) -> tuple[EarlierNotes, ...]:
    """The last notes of each span of a drive that were read on a set belt after its turns by hand.

    Parameters
    ----------
    shop
        The shop.
    drive_id
        The drive; jobs by any of its versions count.
    without
        Number of a job that does not count: the one that asks.
    """
    with shop.reading() as connection:
        rows = [job for job in kept.jobs_of_drive(connection, drive_id, LOOKED_BACK) if job.entries]
    asked = tuple((job.id, job.entries) for job in rows if job.id != without)

    def look() -> tuple[EarlierNotes, ...]:
        found: dict[str, list[Reading]] = {}
        for job_id, _ in asked:
            for span, note in _notes_of(shop, held_job(shop, job_id)).items():
                found.setdefault(span, []).append(note)
        return tuple(_told(span, notes[:NOTES]) for span, notes in found.items())

    return shop.answers.once(("earlier notes", drive_id, asked), look)


def _notes_of(shop: Shop, held: HeldJob) -> dict[str, Reading]:
    """The last counting note of each span of a job; recordings whose entry holds no reading are read, each once."""
    entries: Sequence[EntryBase] = held.file.entries
    if any(isinstance(entry, Pluck) and entry.reading is None for entry in entries):
        entries = judged(shop, held).filled.entries
    case = build_case(held.drive, Timeline(entries, step_numbers(held.drive)))
    spans = [pair for belt in held.drive.belts for pair in _pairs(belt.pulleys)]
    names = {frozenset(pair): ":".join(pair) for pair in spans}
    found: dict[str, Reading] = {}
    for item in case.of("frequency"):
        span = names.get(item.span) if item.span is not None else None
        if span is not None and _counts(case.state.standing(item.act, item.touched, "after turns").counts, item):
            assert item.value is not None  # noqa: S101 - `_counts` has seen it
            found[span] = item.value
    return found


def _counts(standing: bool, item: Evidence) -> bool:
    return standing and item.value is not None and item.value.unit == "Hz" and not item.doubts


def _pairs(pulleys: Sequence[Pulley]) -> list[tuple[str, str]]:
    ids = [pulley.id for pulley in pulleys]
    return list(zip(ids, ids[1:] + ids[:1], strict=True))


def _told(span: str, notes: Sequence[Reading]) -> EarlierNotes:
    if len(notes) == 1:
        return EarlierNotes(span, tuple(notes), f"last note here: {show(notes[0])}")
    next_one = next_note(notes)
    return EarlierNotes(span, tuple(notes), f"last {count_words(len(notes), 'note')} here: {show(next_one)}")


def next_note(notes: Sequence[Reading]) -> Reading:
    """Their mean, and how far the next note may lie from it 19 times of 20, as they scatter or are unsure [Hz].

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
        return Reading(statistics.fmean(values), own * math.sqrt(1 + 1 / count), "Hz")
    return Reading(statistics.fmean(values), scatter * math.sqrt(1 + 1 / count), "Hz", count - 1)
