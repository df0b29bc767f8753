"""Photos, sounds and sensor recordings sent for a job's questions: kept, and made ready to be analysed or entered."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import IO, Any

from twoturn.acts.shop.answers import Answer, Sent, answer, question_for
from twoturn.acts.shop.entries import Added, add_entries, understand
from twoturn.acts.shop.evidence import EvidenceKind, KeptEvidence, keep_evidence, plain_name
from twoturn.acts.shop.job_view import JobHead, JobView, job_view
from twoturn.acts.shop.jobs import HeldJob, held_job
from twoturn.acts.shop.people import Actor, allow
from twoturn.acts.shop.recorded import Recorded
from twoturn.acts.shop.recordings import KINDS, Analysed, Recording, recording_for
from twoturn.acts.shop.sent_again import written
from twoturn.acts.shop.shop import Shop
from twoturn.errors import TwoTurnError
from twoturn.job.asked.model import Asked, Field, Given, Units
from twoturn.job.entries.found import Photo
from twoturn.job.entries.recordings import Capture, Pluck
from twoturn.store.records import evidence as kept

FILE_OF: dict[str, EvidenceKind] = {"pluck": "sound", "capture": "capture", "photo": "photo"}
"""Which kind of file answers a question of that kind."""
AGAIN = ("another span", "noise beside it", "set or moved meanwhile", "plucked too hard", "wrong channel or lead")
"""Usual reasons why a recording that gave a reading is made again."""


@dataclass(frozen=True)
class Told:
    """What a person tells of a recording.

    Attributes
    ----------
    given
        What was typed or picked, by key of the question's fields.
    units
        The units of numbers without one.
    crank, cams, edge
        Of a sensor recording: the crank channel, camshafts with their channels, and which edges bare times are of.
    recorded
        What the browser did to the sound; None where no page recorded it.
    waited_s
        How long it has waited on the device before it was sent [s].
    replaces
        Number of the entry that it corrects; None for a new one.
    """

    given: Mapping[str, Given] = field(default_factory=dict)
    units: Units = field(default_factory=Units)
    crank: str | None = None
    cams: Mapping[str, str] = field(default_factory=dict)
    edge: str | None = None
    recorded: Recorded | None = None
    waited_s: float = 0.0
    replaces: int | None = None

    def row(self, question: Asked, file: str) -> dict[str, Any]:
        """The entry for a file, without reading."""
        from twoturn.job.asked.typed import row_of

        row = row_of(question, {**self.given, "file": file}, self.units)
        more = {"crank": self.crank, "cams": dict(self.cams), "edge": self.edge, "replaces": self.replaces}
        return {**row, **{key: value for key, value in more.items() if value}}


@dataclass(frozen=True)
class SentFile:
    """A file as it comes: open, its name and kind, the question it answers (None for none), and what is told."""

    stream: IO[bytes]
    name: str
    kind: EvidenceKind
    asked: str | None = None
    told: Told = field(default_factory=Told)


@dataclass(frozen=True)
class Taken:
    """What became of a file.

    Attributes
    ----------
    kept
        The file as it is kept; None where it was entered at once.
    recording, question
        What to analyse for which question; None where nothing is.
    added
        The entry of a photo; None for anything else.
    """

    kept: KeptEvidence | None
    recording: Recording | None = None
    question: Asked | None = None
    added: Added | None = None


def take_in(shop: Shop, actor: Actor, job_id: int, sent: SentFile, key: str = "") -> Taken:
    """Keep a file; a recording is made ready to be analysed, a photo that answers a question is entered.

    Parameters
    ----------
    shop, actor, job_id
        The record, who sends it, and for which job.
    sent, key
        The file, and the key of the sending.

    Raises
    ------
    TwoTurnError
        The question is not asked, what was typed cannot be understood, or the file cannot be taken in; nothing is kept.
    """
    allow(actor, "enter")
    if sent.asked is None:
        return Taken(keep_evidence(shop, actor, job_id, sent.stream, sent.name, sent.kind))
    if sent.kind == "photo" and written(shop, job_id, key):
        return Taken(None, added=_photo(shop, actor, job_id, sent, key))
    question = question_of(job_view(shop, job_id), sent.asked, sent.told.replaces)
    if FILE_OF[question.kind] != sent.kind:
        raise TwoTurnError(f"“{question.title}” is not answered by a {sent.kind}", allowed=FILE_OF[question.kind])
    if question.kind == "photo":
        return Taken(None, added=_photo(shop, actor, job_id, sent, key), question=question)
    held = held_job(shop, job_id)
    _check(shop, actor, held, sent.told.row(question, plain_name(sent.name, sent.kind)))
    found = keep_evidence(shop, actor, job_id, sent.stream, sent.name, sent.kind)
    row = sent.told.row(question, found.name)
    return Taken(found, recording_for(shop, actor, held_job(shop, job_id), row, sent.told.recorded), question)


def _photo(shop: Shop, actor: Actor, job_id: int, sent: SentFile, key: str) -> Added:
    """A photo entered; one that comes again with its key writes nothing, though its question be gone."""
    told, file = sent.told, Sent("file", sent.stream, sent.name)
    said = Answer(
        sent.asked or "", told.given, units=told.units, replaces=told.replaces, waited_s=told.waited_s, files=(file,)
    )
    return answer(shop, actor, job_id, said, key)


def look_again(shop: Shop, actor: Actor, job_id: int, name: str, asked: str, told: Told | None = None) -> Taken:
    """Make a file that was kept before ready to be analysed for a question.

    Raises
    ------
    TwoTurnError
        There is no such file or question, or what was typed cannot be understood.
    """
    question = question_of(job_view(shop, job_id), asked, told.replaces if told is not None else None)
    row = (told or Told()).row(question, name)
    recorded = told.recorded if told is not None else None
    return Taken(None, recording_for(shop, actor, held_job(shop, job_id), row, recorded), question)


def leave_unentered(shop: Shop, actor: Actor, job_id: int, analysed: Analysed, reason: str, key: str) -> Added:
    """Put on record that a recording with a reading was not entered, and why.

    Parameters
    ----------
    shop, actor, job_id
        The record, who decides it, in which job.
    analysed
        What was read of the recording.
    reason, key
        Why it is made again, and the key of the sending.

    Raises
    ------
    TwoTurnError
        There is no reason.
    """
    if not reason.strip():
        raise TwoTurnError(
            "a recording that gave a reading is not entered, and nothing says why",
            allowed=", ".join(AGAIN),
            next_step="pick a reason or type one, or accept the recording",
        )
    read = " ".join(analysed.said.words).removesuffix(".") or "a sensor recording"
    text = f"The recording {analysed.file} ({read}) was not entered and is made again: {reason.strip()}."
    return add_entries(shop, actor, job_id, [{"kind": "remark", "text": text[:2000]}], key)


def question_of(view: JobView, asked: str, replaces: int | None = None) -> Asked:
    """A question of a job that a file answers; of a correction the one that the entry ``replaces`` answered.

    Raises
    ------
    TwoTurnError
        The job does not ask it.
    """
    found = question_for(view, asked, replaces)
    if found is None or found.kind not in FILE_OF:
        raise TwoTurnError(
            "this recording or photo is not asked for in this job", next_step="choose one from the job's recordings"
        )
    return found


def questions_of(view: JobView) -> tuple[Asked, ...]:
    """The questions of a job that a file answers, in the order of the work."""
    return tuple(one for step in view.plan.steps for one in view.asked.get(step.id, ()) if one.kind in FILE_OF)


@dataclass(frozen=True)
class FileLine:
    """A file of a job.

    Attributes
    ----------
    name, size, media_type
        Its name in the job, its size [bytes], and what it is.
    by, at
        Who sent it first, and when.
    entries
        Numbers of the entries that name it.
    """

    name: str
    size: int
    media_type: str
    by: str
    at: datetime
    entries: tuple[int, ...]


@dataclass(frozen=True)
class RecordingsView:
    """A job's recordings and photos.

    Attributes
    ----------
    head
        The job.
    questions
        What may be recorded and photographed.
    files
        The files it has.
    entries
        How many entries it has [-].
    """

    head: JobHead
    questions: tuple[Asked, ...]
    files: tuple[FileLine, ...]
    entries: int

    def question(self, asked: str) -> Asked | None:
        """The question of that id."""
        return next((one for one in self.questions if one.id == asked), None)


def recordings_view(shop: Shop, job_id: int) -> RecordingsView:
    """A job's recordings and photos.

    Raises
    ------
    NotFound
        There is no such job.
    """
    view, held = job_view(shop, job_id), held_job(shop, job_id)
    return RecordingsView(view.head, questions_of(view), _files(shop, held), len(held.entries))


def _files(shop: Shop, held: HeldJob) -> tuple[FileLine, ...]:
    lines = []
    with shop.reading() as connection:
        for named in kept.of_job(connection, held.row.id):
            found = kept.evidence(connection, named.sha256)
            if found is not None:
                numbers = _naming(held, named.name)
                lines.append(FileLine(named.name, found.size, found.media_type, found.by, found.at, numbers))
    return tuple(sorted(lines, key=lambda line: line.at, reverse=True))


def _naming(held: HeldJob, name: str) -> tuple[int, ...]:
    entries: Sequence[Any] = held.file.entries
    return tuple(
        number
        for number, entry in enumerate(entries, 1)
        if isinstance(entry, Pluck | Capture | Photo) and entry.file == name
    )


def _check(shop: Shop, actor: Actor, held: HeldJob, row: Mapping[str, Any]) -> None:
    """Refuse an entry that could not be added, before its file is kept."""
    assert row["kind"] in KINDS  # noqa: S101 - told by the caller
    understand(held, [{**row, "by": actor.name, "entered": shop.local_text()}])


def filled_with(question: Asked, given: Mapping[str, Given]) -> Asked:
    """A question with what was typed already."""

    def with_typed(one: Field) -> Field:
        return replace(one, value=given[one.key], from_where="") if one.key in given else one

    fields, more = ([with_typed(one) for one in group] for group in (question.fields, question.more))
    return replace(question, fields=tuple(fields), more=tuple(more))
