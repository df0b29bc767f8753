"""Invented jobs as handed over, for the tests of the papers."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import UTC, date, datetime
from functools import cache
from typing import Any

from twoturn.acts.drive_files import shipped_drives
from twoturn.demo.jobs_shipped import JOBS, job_text
from twoturn.drive.load import read_drive
from twoturn.drive.parts import Drive
from twoturn.job.assess import assess
from twoturn.job.chain import checkpoint
from twoturn.job.file import read_job
from twoturn.job.rows import job_of_rows
from twoturn.report.handed_over import Facts, HandedOver

WHEN = datetime(2026, 3, 9, 8, 30, tzinfo=UTC)
FACTS = Facts(
    number=7,
    registration="QX 10 DEMO",
    model="Invented Hatch 1.4",
    shop="Yard of Examples (invented)",
    address="1 Example Row\nNowhere",
    by="Ida Brook (invented)",
    on=date(2026, 3, 9),
)
SIGNED = {"by": "Ida Brook", "entered": "2026-03-02T12:00:00"}
SHIPPED = tuple(job.id for job in JOBS)


@cache
def drive(name: str) -> Drive:
    """A shipped drive."""
    return read_drive(shipped_drives()[name], name)


@cache
def shipped(job_id: str) -> HandedOver:
    """A shipped job; recordings that were not read yet stay unread."""
    job = read_job(job_text(next(job for job in JOBS if job.id == job_id)), job_id)
    return _handed(drive(job.drive), job.raw, job.entries, FACTS)


def of_rows(name: str, rows: Iterable[Mapping[str, Any]], facts: Facts = FACTS) -> HandedOver:
    """A job of these entries on a shipped drive."""
    first, *others = (dict(row) for row in rows)
    file = job_of_rows([SIGNED | first, *others], "test", name)
    return _handed(drive(name), file.raw, file.entries, facts)


def _handed(drive: Drive, raw: Any, entries: Any, facts: Facts) -> HandedOver:
    return HandedOver(drive, assess(drive, entries), checkpoint(raw), tuple(entries), facts)
