"""The papers of a job that was handed over: label, customer's page, invoice text and calendar file, from its record."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from twoturn.acts.shop.hand_over import STEP, HandOver, look_over
from twoturn.acts.shop.people import Actor
from twoturn.acts.shop.settings import settings
from twoturn.acts.shop.shop import Shop
from twoturn.errors import TwoTurnError
from twoturn.store.faults import NotFound

if TYPE_CHECKING:
    from twoturn.acts.shop.job_view import JobView
    from twoturn.report.handed_over import HandedOver
    from twoturn.store.records.sheets import Sheet


NOT_FITTED = "no entry says that a belt was fitted"


@dataclass(frozen=True)
class Paper:
    """A paper as a file.

    Attributes
    ----------
    name, media_type
        Its name and media type.
    content
        Its bytes.
    """

    name: str
    media_type: str
    content: bytes


@dataclass(frozen=True)
class SheetFile:
    """A proof sheet as it was handed out: its file's name, and where it is."""

    name: str
    path: Path


@dataclass(frozen=True)
class HandOverView:
    """What the page of a hand-over shows to somebody.

    Attributes
    ----------
    seen
        What can be handed over, and what binds.
    may
        Whether this person may hand the job over as it is.
    due
        When the belt is due again, in words.
    has_day
        Whether that is a day for a calendar.
    fitted
        Whether an entry says that a belt was fitted; without one there are no papers but the proof sheet.
    invoice
        The invoice text; empty while the job is not handed over as it stands.
    record_number
        The record number as it is now.
    steps
        Id and title of the step at which a check is answered, by the check's id.
    no_entry
        Id and title of each step of the plan that no entry speaks of; handing over itself is not among them.
    shop_named
        Whether the papers have a workshop's name to print.
    """

    seen: HandOver
    may: bool
    due: str
    has_day: bool
    fitted: bool
    invoice: str
    record_number: str
    steps: Mapping[str, tuple[str, str]]
    no_entry: tuple[tuple[str, str], ...]
    shop_named: bool


class NotYet(TwoTurnError):  # noqa: N818 - it says what is the matter
    """A paper of a job that was not handed over, or of one whose record has gone on since."""


def paper(shop: Shop, job_id: int, kind: str) -> Paper:
    """A paper of a job that was handed over; the same record always gives the same bytes.

    Parameters
    ----------
    shop, job_id
        The record, and of which job.
    kind
        ``label``, ``customer``, ``invoice`` or ``calendar``.

    Raises
    ------
    NotFound
        There is no such job or paper.
    NotYet
        The job was not handed over, or entries came since, or no entry says that a belt was fitted.
    TwoTurnError
        There is no due date for a calendar file.
    """
    from twoturn.store.records.about import about

    if kind not in MADE:
        raise NotFound(f'there is no paper "{kind[:40]}"', allowed=", ".join(MADE))
    seen = look_over(shop, job_id)
    sheet = seen.current
    if sheet is None:
        raise NotYet("this job is not handed over as it stands now", next_step="hand it over, then fetch the papers")
    handed = _handed(shop, seen, sheet)
    if not handed.was_fitted:
        raise NotYet(
            "no entry of this job says that a belt was fitted, as this paper would",
            next_step="enter the belt that was fitted and hand over again; the proof sheet is there all the same",
        )
    name, media_type, make = MADE[kind]
    with shop.reading() as connection:
        seed = about(connection).shop_id
    return Paper(name.format(seen.held.row.number), media_type, make(handed, sheet.at, seed))


def hand_over_view(shop: Shop, actor: Actor, job_id: int) -> HandOverView:
    """What the page of a hand-over shows to somebody.

    Raises
    ------
    NotFound
        There is no such job.
    """
    from twoturn.acts.shop.job_view import view_of
    from twoturn.report.invoice import invoice_text

    seen = look_over(shop, job_id)
    handed, view = _handed(shop, seen, seen.current), view_of(shop, seen.held)
    return HandOverView(
        seen=seen,
        may=seen.may(actor),
        due=handed.due_words if handed.was_fitted else NOT_FITTED,
        has_day=handed.was_fitted and handed.due is not None and handed.due.on is not None,
        fitted=handed.was_fitted,
        invoice="" if seen.current is None or not handed.was_fitted else invoice_text(handed),
        record_number=seen.proof.checkpoint.short,
        steps=_steps(view),
        no_entry=_no_entry(view, handed),
        shop_named=bool(handed.facts.shop.strip()),
    )


def _no_entry(view: JobView, handed: HandedOver) -> tuple[tuple[str, str], ...]:
    from twoturn.job.asked.no_entry import steps_with_no_entry

    steps = steps_with_no_entry(handed.drive, view.plan, handed.entries, view.asked)
    return tuple((step.id, step.title) for step in steps if step.id != STEP)


def _steps(view: JobView) -> dict[str, tuple[str, str]]:
    """The last step whose questions answer a check: where it counts in the end."""
    found: dict[str, tuple[str, str]] = {}
    for step in view.plan.steps:
        for question in view.asked.get(step.id, ()):
            for check_id in question.checks:
                found[check_id] = (step.id, step.title)
    return found


def sheet_file(shop: Shop, job_id: int, sheet_id: int) -> SheetFile:
    """A proof sheet of a job as it was handed out.

    Raises
    ------
    NotFound
        The job has no such sheet, or its file is gone from the disk.
    """
    from twoturn.store.files import path_of
    from twoturn.store.records import jobs, sheets

    with shop.reading() as connection:
        sheet = sheets.sheet(connection, sheet_id)
        number = jobs.job(connection, job_id).number
    path = path_of(shop.place, sheet.sha256)
    if sheet.job_id != job_id:
        raise NotFound(f"job {number} has no sheet number {sheet_id}")
    if not path.is_file():
        raise NotFound(
            f"sheet number {sheet_id} is in the record but not on the disk any more",
            next_step="bring it back from a backup; twoturn verify lists what is missing",
        )
    return SheetFile(sheets.sheet_name(number, sheet.entries), path)


def _handed(shop: Shop, seen: HandOver, sheet: Sheet | None) -> HandedOver:
    from twoturn.report.handed_over import Facts, HandedOver

    held, mine = seen.held, settings(shop)
    at = shop.now() if sheet is None else sheet.at
    facts = Facts(
        number=held.row.number,
        registration=held.vehicle.registration,
        model=held.vehicle.model or "",
        shop=mine.shop_name,
        address="\n".join(filter(None, [mine.address, mine.telephone])),
        by="" if sheet is None else sheet.by,
        on=at.astimezone().date(),
        miles=mine.units == "imperial",
    )
    return HandedOver(held.drive, seen.proof.assessment, seen.proof.checkpoint, seen.proof.filled.entries, facts)


def _label(handed: HandedOver, moment: datetime, _seed: str) -> bytes:
    from twoturn.report.label import label_pdf

    return label_pdf(handed, moment)


def _customer(handed: HandedOver, moment: datetime, _seed: str) -> bytes:
    from twoturn.report.customer_page import customer_pdf

    return customer_pdf(handed, moment)


def _invoice(handed: HandedOver, _moment: datetime, _seed: str) -> bytes:
    from twoturn.report.invoice import invoice_text

    return invoice_text(handed).encode()


def _calendar(handed: HandedOver, moment: datetime, seed: str) -> bytes:
    from twoturn.report.due_calendar import due_calendar

    return due_calendar(handed, moment, seed)


Make = Callable[["HandedOver", datetime, str], bytes]
MADE: dict[str, tuple[str, str, Make]] = {
    "label": ("label-job-{}.pdf", "application/pdf", _label),
    "customer": ("customer-job-{}.pdf", "application/pdf", _customer),
    "invoice": ("invoice-job-{}.txt", "text/plain; charset=utf-8", _invoice),
    "calendar": ("due-job-{}.ics", "text/calendar; charset=utf-8", _calendar),
}
"""Name, media type and making of each paper."""
