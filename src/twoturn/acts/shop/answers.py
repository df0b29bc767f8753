"""Answers to a job's questions, as a page sends them: turned into entries, and written once for each key."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import timedelta
from typing import IO, Any

from twoturn.acts.shop.entries import Added, add_entries
from twoturn.acts.shop.evidence import EvidenceKind, keep_evidence
from twoturn.acts.shop.job_view import JobView, job_view
from twoturn.acts.shop.people import Actor
from twoturn.acts.shop.sent_again import answers_it, content_of, says_the_same, view_before, written
from twoturn.acts.shop.shop import Shop
from twoturn.errors import TwoTurnError
from twoturn.job.asked.drawer import tool_rows
from twoturn.job.asked.model import Asked, Given, Units

METRIC = Units()
WAITED_S = 60.0
"""From which age on an answer counts as typed earlier than it came [s]."""
LONGEST_WAIT_S = 60 * 86400.0
SEVERAL = ("many", "torque row")
"""Shapes of a field in which several may be picked."""
FILES: dict[str, EvidenceKind] = {"photo": "photo", "sound": "sound", "capture": "capture"}
"""What the file of a field is, by the field's shape."""


@dataclass(frozen=True)
class Sent:
    """A file sent with an answer: the field it belongs to, the open file, and its name."""

    key: str
    stream: IO[bytes]
    name: str


@dataclass(frozen=True)
class Answer:
    """An answer as a page sends it.

    Attributes
    ----------
    asked
        Id of the question.
    given
        What was typed or picked, by key of the field.
    quick
        The answer given by one tap; ``given`` is then not looked at.
    units
        The units in which numbers without a unit were typed.
    replaces
        Number of the entry that it corrects; None for a new one.
    waited_s
        How long it has waited on the device before it was sent [s].
    files
        Files sent along.
    """

    asked: str
    given: Mapping[str, Given] = field(default_factory=dict)
    quick: bool = False
    units: Units = METRIC
    replaces: int | None = None
    waited_s: float = 0.0
    files: tuple[Sent, ...] = ()


def answer(shop: Shop, actor: Actor, job_id: int, said: Answer, key: str, after: int | None = None) -> Added:
    """Enter the answer to a question; a sending that comes again with its key writes nothing and gets the first answer.

    Parameters
    ----------
    shop, actor, job_id
        The record, who answers, and in which job.
    said, key
        The answer, and its key.
    after
        Number of the last entry that the page knew.

    Raises
    ------
    KeyMissing, KeyReused, KeyInFlight
        As :func:`~twoturn.acts.shop.entries.add_entries`.
    TwoTurnError
        The question is not asked any more, or what was typed cannot be understood.
    """
    before = written(shop, job_id, key)
    view = view_before(shop, job_id, before[0]) if before else job_view(shop, job_id)
    question = question_for(view, said.asked, said.replaces)
    one_tap = said.quick and said.replaces is None
    if before and (question is None or (one_tap and answers_it(question, before[-1]))):
        return add_entries(shop, actor, job_id, [content_of(one) for one in before], key, after)
    if question is None:
        raise TwoTurnError(
            "this question is not asked in this job any more",
            next_step="look at the step again; the job may have another drive or vehicle now",
        )
    named = _kept(shop, actor, job_id, question, said.files)
    row = _row(question, said, named)
    rows = [*tool_rows(row, view.proof.job.file.entries, view.known), row]
    if before and says_the_same(row, before[-1]):
        rows = [content_of(one) for one in before]
    elif said.waited_s > WAITED_S:
        rows = [{**one, "entered": _earlier(shop, said.waited_s)} for one in rows]
    return add_entries(shop, actor, job_id, rows, key, after)


def go_back(shop: Shop, actor: Actor, job_id: int, step_id: str, reason: str, key: str) -> Added:
    """Say that the work goes back to an earlier step: every later question is asked anew from there.

    Raises
    ------
    TwoTurnError
        The job has no such step.
    """
    from twoturn.job.asked.rounds import Rounds
    from twoturn.job.order import Timeline
    from twoturn.job.steps import step_numbers

    before = written(shop, job_id, key)
    if before:
        return add_entries(shop, actor, job_id, [content_of(before[0])], key)
    view = job_view(shop, job_id)
    step = next((one for one in view.plan.steps if one.id == step_id), None)
    if step is None:
        raise TwoTurnError(f'this job has no step "{step_id[:80]}"', next_step="choose one from the job's page")
    numbers = step_numbers(view.proof.job.drive)
    rounds = Rounds(Timeline(view.proof.filled.entries, numbers), numbers)
    return add_entries(shop, actor, job_id, [rounds.going_back(step_id, step.title, reason)], key)


def strike_out(shop: Shop, actor: Actor, job_id: int, number: int, reason: str, key: str) -> Added:
    """Strike out an entry made by mistake; both stay on record."""
    row = {"kind": "struck out", "replaces": number, "reason": reason}
    return add_entries(shop, actor, job_id, [row], key)


def leave_out(shop: Shop, actor: Actor, job_id: int, number: int, reason: str, key: str) -> Added:
    """Leave a reading out of what is combined, with the reason."""
    row = {"kind": "left out", "entry": number, "reason": reason}
    return add_entries(shop, actor, job_id, [row], key)


def question_for(view: JobView, asked: str, replaces: int | None = None) -> Asked | None:
    """The question of that id; of a correction the one that the old entry answered, in that one's round."""
    if replaces is not None:
        corrected = correction_of(view, replaces)
        if corrected is not None and corrected.id == asked:
            return corrected
    return next((one for questions in view.asked.values() for one in questions if one.id == asked), None)


def correction_of(view: JobView, number: int) -> Asked | None:
    """The question that an entry answered, filled in with what it says; None where no question asks for it."""
    from twoturn.job.asked.mending import correcting

    entries = view.proof.filled.entries
    if not 0 < number <= len(entries):
        return None
    return correcting(view.proof.job.drive, view.plan, entries, view.asked, number)


def _kept(shop: Shop, actor: Actor, job_id: int, question: Asked, files: tuple[Sent, ...]) -> dict[str, Given]:
    """The files of an answer, kept: the fields that name them, and the SHA-256."""
    kinds = {one.key: one.shape for one in question.every_field}
    named: dict[str, Given] = {}
    for one in files:
        if (kind := FILES.get(kinds.get(one.key, ""))) is not None:
            found = keep_evidence(shop, actor, job_id, one.stream, one.name, kind)
            named |= {one.key: found.name, "sha256": found.sha256}
    return named


def _row(question: Asked, said: Answer, named: Mapping[str, Given]) -> dict[str, Any]:
    from twoturn.job.asked.typed import quick_row, row_of

    if said.quick:
        row = quick_row(question)
    else:
        row = row_of(question, _shaped(question, {**said.given, **named}), said.units)
    if said.replaces is not None:
        row["replaces"] = said.replaces
    return row


def _shaped(question: Asked, given: Mapping[str, Given]) -> dict[str, Given]:
    """What was given, one text or several as each field takes it; a text typed beside the choices goes first."""
    found = dict(given)
    for one in question.every_field:
        typed = " ".join(_several(found.pop(f"{one.key}.typed", None)))
        picked = _several(found.get(one.key))
        if one.shape in SEVERAL:
            more = (part.strip() for part in typed.split(","))
            found[one.key] = tuple(dict.fromkeys([*picked, *(part for part in more if part)]))
        elif typed or picked:
            found[one.key] = typed or picked[-1]
    return found


def _several(given: Given) -> tuple[str, ...]:
    return (given,) if isinstance(given, str) else given or ()


def _earlier(shop: Shop, waited_s: float) -> str:
    typed = shop.now() - timedelta(seconds=min(waited_s, LONGEST_WAIT_S))
    return typed.astimezone().replace(tzinfo=None, microsecond=0).isoformat()
