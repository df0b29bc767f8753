"""Handing a job over: who may, what a lead must answer for by name, the sheet that is kept with its record number."""

from __future__ import annotations

import io
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from twoturn.acts.shop.entries import add_entries
from twoturn.acts.shop.forms import FormReader
from twoturn.acts.shop.jobs import HeldJob, held_job
from twoturn.acts.shop.people import Actor, NotAllowed, allow, may
from twoturn.acts.shop.shop import Shop
from twoturn.errors import TwoTurnError
from twoturn.job.assess import Overridden
from twoturn.job.checks.base import Check
from twoturn.job.entries.vehicle import Odometer
from twoturn.job.order import Timeline
from twoturn.quantity.conformity import Verdict
from twoturn.store.faults import KeyReused
from twoturn.words.numbers import count_words

if TYPE_CHECKING:
    from twoturn.acts.prove import Proof
    from twoturn.store.records.sheets import Sheet

SHEET = "proof sheet"
STEP, QUESTION = "hand-over", "nothing-moved"
"""The step at which a job is handed over, and the check that the last question answers."""
CURES = "finding-"
"""How the ids of checks of severe findings begin: they bind until they are cured."""
MOST_BYTES = 30_000_000
LONGEST_REASON, LONGEST_TEXT = 1000, 1900


@dataclass(frozen=True)
class Binding:
    """A check that nobody but a lead hands over in spite of: not met, or a severe finding that is not cured.

    Attributes
    ----------
    check
        The check.
    answered
        The lead's reason on record that still stands; None where there is none, or where the check has new entries.
    """

    check: Check
    answered: Overridden | None

    @property
    def field(self) -> str:
        """Name of the form's field for the reason."""
        return f"reason-{self.check.id}"


@dataclass(frozen=True)
class HandOver:
    """What can be handed over, and what binds.

    Attributes
    ----------
    held, proof
        The job, and what it proves.
    bind
        Checks that are not met, and findings that are not cured.
    open
        The other required checks that are not shown; they are listed on the sheet and bind nobody.
    proven
        The required checks that are proven.
    asks_last
        Whether the last question must still be answered, or answered again.
    sheets
        Sheets handed out before, oldest first.
    """

    held: HeldJob
    proof: Proof
    bind: tuple[Binding, ...]
    open: tuple[Check, ...]
    proven: tuple[Check, ...]
    asks_last: bool
    sheets: tuple[Sheet, ...]

    @property
    def unanswered(self) -> tuple[Binding, ...]:
        """What a lead has yet to answer for."""
        return tuple(one for one in self.bind if one.answered is None)

    @property
    def current(self) -> Sheet | None:
        """The sheet of the record as it is now; None where none was made, or the record has gone on since."""
        now = (self.held.row.entries, self.held.row.last_hash)
        fitting = [sheet for sheet in self.sheets if (sheet.entries, sheet.last_hash) == now]
        return fitting[-1] if fitting else None

    def may(self, actor: Actor) -> bool:
        """Whether somebody may hand this job over as it is."""
        return may(actor, "lead" if self.unanswered else "hand over")

    def as_json(self) -> dict[str, Any]:
        """Keys ``verdict``, ``bind``, ``open``, ``proven``, ``asks_last``, ``sheets``."""
        return {
            "verdict": self.proof.assessment.verdict.value,
            "bind": [one.check.id for one in self.bind],
            "unanswered": [one.check.id for one in self.unanswered],
            "open": [check.id for check in self.open],
            "proven": [check.id for check in self.proven],
            "asks_last": self.asks_last,
            "sheets": [sheet.id for sheet in self.sheets],
        }


def look_over(shop: Shop, job_id: int) -> HandOver:
    """What can be handed over of a job, and what binds.

    Raises
    ------
    NotFound
        There is no such job.
    """
    from twoturn.acts.shop.job_view import judged
    from twoturn.store.records import sheets

    held = held_job(shop, job_id)
    proof = judged(shop, held)
    found = proof.assessment
    bind = tuple(Binding(check, found.answered(check)) for check in found.required if binds(check))
    with shop.reading() as connection:
        kept = tuple(sheet for sheet in sheets.sheets(connection, job_id) if sheet.kind == SHEET)
    last = next((check for check in found.checks if check.id == QUESTION), None)
    return HandOver(
        held=held,
        proof=proof,
        bind=bind,
        open=tuple(c for c in found.required if c.verdict is Verdict.NOT_SHOWN and not binds(c)),
        proven=tuple(check for check in found.required if check.verdict is Verdict.PROVEN),
        asks_last=last is not None and last.verdict is Verdict.NOT_SHOWN,
        sheets=kept,
    )


def binds(check: Check) -> bool:
    """Whether a check may be handed over only in spite of it: not met, or a severe finding that is not cured."""
    uncured = check.id.startswith(CURES) and check.verdict is not Verdict.PROVEN
    return check.required and (check.verdict is Verdict.NOT_MET or uncured)


def answer_last(shop: Shop, actor: Actor, job_id: int, texts: Mapping[str, str], key: str) -> None:
    """Answer the last question: after the last turns, was anything moved, or the crankshaft turned back?

    Parameters
    ----------
    shop, actor, job_id
        The record, who answers, and of which job.
    texts
        ``moved``: "yes" or "no"; ``what`` was moved, where anything was.
    key
        Key of the sending.

    Raises
    ------
    FormRefused, NotAllowed
        Neither yes nor no; a viewer.
    """
    form = FormReader(texts)
    moved, what = form.text("moved", 10), form.text("what", LONGEST_REASON)
    if moved not in ("yes", "no"):
        form.refuse("moved", "say whether anything was moved: yes or no")
    form.settle()
    held = held_job(shop, job_id)
    row: dict[str, Any] = {"kind": "moved at end", "moved": moved == "yes", **_place(held)}
    add_entries(shop, actor, job_id, [row | ({"what": what} if what and moved == "yes" else {})], key)


def hand_over(shop: Shop, actor: Actor, job_id: int, texts: Mapping[str, str], key: str) -> Sheet:
    """Hand a job over: the lead's reasons and the signature are entered, the sheet is made and kept, the job is closed.

    Slow (it makes the sheet), so call it in a thread. Sent again with its key, it goes on where it was broken off.

    Parameters
    ----------
    shop, actor, job_id
        The record, who hands over, and which job.
    texts
        The lead's reasons by :attr:`Binding.field`.
    key
        Key of the sending.

    Returns
    -------
    Sheet
        The proof sheet as it was kept.

    Raises
    ------
    NotAllowed
        A trainee or viewer; anybody but a lead where something binds.
    FormRefused
        A reason is missing.
    OthersFirst
        Others made an entry while this was looked over: nothing is entered.
    TwoTurnError
        Others made an entry that binds right after the signature, before the sheet was made.
    """
    allow(actor, "hand over")
    if not _was_sent(shop, job_id, key):
        before = look_over(shop, job_id)
        known = before.held.row.entries
        add_entries(shop, actor, job_id, _closing(before, actor, texts), key, known, alone=True)
    seen = look_over(shop, job_id)
    if seen.current is not None:
        return seen.current
    if seen.unanswered:
        raise TwoTurnError(
            f"somebody made an entry right after the signature: {seen.unanswered[0].check.title}; no sheet was made",
            next_step="look at the page again, then hand over again",
        )
    return _keep_sheet(shop, actor, seen)


def _closing(seen: HandOver, actor: Actor, texts: Mapping[str, str]) -> list[dict[str, Any]]:
    """The entries with which a job is handed over."""
    if not seen.may(actor):
        first = seen.unanswered[0].check
        more = (
            "" if len(seen.unanswered) == 1 else f" (and {count_words(len(seen.unanswered) - 1, 'more')})".rstrip("s")
        )
        raise NotAllowed(
            f"{first.title} is {'not cured' if first.id.startswith(CURES) else 'not met'}{more}: "
            f"{actor.name} is here as {actor.role}",
            next_step="put it right, or ask a lead to hand over and to say why",
        )
    if not seen.held.entries:
        raise TwoTurnError("nothing was entered in this job", next_step="enter the work first")
    reasons = _reasons(seen, texts)
    place = _place(seen.held)
    rows: list[dict[str, Any]] = [
        {"kind": "override", "check": check_id, "reason": reason, **place} for check_id, reason in reasons.items()
    ]
    rows.append({"kind": "decided", "text": _decision(seen), **place})
    rows.append({"kind": "signed", "role": "lead" if actor.role == "lead" and seen.bind else "technician", **place})
    return rows


def _reasons(seen: HandOver, texts: Mapping[str, str]) -> dict[str, str]:
    form = FormReader(texts)
    for one in seen.unanswered:
        form.needed(one.field, f"say why it is handed over all the same: {one.check.title}")
    found = {one.check.id: form.text(one.field, LONGEST_REASON) for one in seen.unanswered}
    form.settle()
    return {check_id: reason for check_id, reason in found.items() if reason}


def _decision(seen: HandOver) -> str:
    spite = [one.check.title for one in seen.bind]
    open_ = [check.title for check in seen.open]
    said = "Handed over"
    if spite:
        said += f" in spite of: {'; '.join(spite)}"
    if open_:
        said += f"{', and' if spite else ''} with checks not shown: {'; '.join(open_)}"
    return said[:LONGEST_TEXT] + "."


def _place(held: HeldJob) -> dict[str, Any]:
    """Where in the work the entries of a hand-over belong: its step, in the round the job is in."""
    from twoturn.job.asked.rounds import Rounds
    from twoturn.job.steps import step_numbers

    numbers = step_numbers(held.drive)
    number = Rounds(Timeline(held.file.entries, numbers), numbers).at(STEP)
    return {"done": STEP, **({"pass": number} if number > 1 else {})}


def _was_sent(shop: Shop, job_id: int, key: str) -> bool:
    from twoturn.store.records import entries

    with shop.reading() as connection:
        before = entries.of_key(connection, job_id, key)
    if before and before[-1].content.get("kind") != "signed":
        raise KeyReused(
            "the key of this sending was used before for something else", next_step="send it with a new key"
        )
    return before is not None


def _keep_sheet(shop: Shop, actor: Actor, seen: HandOver) -> Sheet:
    """Make the sheet, keep it with its record number, note the distance with the vehicle, close the job."""
    from twoturn.store.files import keep_file
    from twoturn.store.records import evidence, jobs, sheets

    now, row = shop.now(), seen.held.row
    kept = keep_file(shop.place, io.BytesIO(_made(shop, seen)), MOST_BYTES)
    name = sheets.sheet_name(row.number, row.entries)
    with shop.writing() as connection:
        evidence.add(connection, evidence.Evidence(kept.sha256, kept.size, "application/pdf", name, actor.name, now))
        verdict = seen.proof.assessment.verdict.value
        sheet = sheets.add(
            connection, sheets.NewSheet(row.id, row.entries, verdict, SHEET, kept.sha256, actor.name, now)
        )
        _note_distance(connection, seen, actor, now.astimezone().date())
        jobs.close(connection, row.id, now, last_hash=row.last_hash)  # an entry made meanwhile leaves it open
    return sheet


def _made(shop: Shop, seen: HandOver) -> bytes:
    from twoturn.acts.proof_sheet import proof_sheet
    from twoturn.acts.shop.job_view import view_of
    from twoturn.acts.shop.settings import settings

    said = settings(shop)
    workshop = ", ".join(
        line.strip() for line in (said.shop_name, *said.address.splitlines(), said.telephone) if line.strip()
    )
    told = (("Workshop", workshop), ("Job", str(seen.held.row.number)))
    job, files = seen.held.lent(shop)
    with files:
        found = seen.proof
        plan = view_of(shop, seen.held).plan
        return proof_sheet(job, found.filled, found.assessment, found.checkpoint, shop.now(), told, plan=plan)


def _note_distance(connection: Any, seen: HandOver, actor: Actor, day: Any) -> None:
    """What the job's last odometer entry that stands says goes into the vehicle's history, once."""
    from twoturn.job.steps import step_numbers
    from twoturn.store.records import vehicles

    standing = Timeline(seen.held.file.entries, step_numbers(seen.held.drive)).acts
    read = [act.entry.km for act in standing if isinstance(act.entry, Odometer)]
    if read and all(round(read[-1]) != known.km for known in vehicles.odometers(connection, seen.held.row.vehicle_id)):
        new = vehicles.Odometer(seen.held.row.vehicle_id, round(read[-1]), day, actor.name)
        vehicles.add_odometer(connection, new)
