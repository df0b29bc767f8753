"""Sheets that were handed out, each with the checkpoint it prints."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection, insert

from twoturn.store.faults import NotFound
from twoturn.store.records.drives import drive_version
from twoturn.store.records.entries import hash_at
from twoturn.store.records.jobs import job
from twoturn.store.records.rows import all_of, columns_of, one_of, values_of
from twoturn.store.seals import sealed
from twoturn.store.tables import SHEET

_NAME = re.compile(r"proof-sheet-job-[0-9]+-[0-9]+\.pdf")


def sheet_name(number: int, entries: int) -> str:
    """Name of a sheet's file: by the running number of its job and the entries that it prints."""
    return f"proof-sheet-job-{number}-{entries}.pdf"


def is_sheet_name(name: str) -> bool:
    """Whether a file of that name was made as a sheet."""
    return _NAME.fullmatch(name) is not None


@dataclass(frozen=True)
class Sheet:
    """A sheet as it was handed out.

    Attributes
    ----------
    id
        Number in this record.
    job_id
        Of which job.
    entries, last_hash
        The checkpoint it prints: number of entries and hash of the last one.
    drive_sha256
        Of the drive file it was judged by.
    verdict
        As printed.
    kind
        What sort of sheet.
    sha256
        Of the PDF, an evidence file.
    by, at
        Who made it when.
    """

    id: int
    job_id: int
    entries: int
    last_hash: str
    drive_sha256: str
    verdict: str
    kind: str
    sha256: str
    by: str
    at: datetime


@dataclass(frozen=True)
class NewSheet:
    """A sheet about to be noted: job, entries it was made from, verdict, kind, SHA-256 of its PDF, who and when."""

    job_id: int
    entries: int
    verdict: str
    kind: str
    sha256: str
    by: str
    at: datetime


def add(connection: Connection, new: NewSheet) -> Sheet:
    """Note a sheet with the checkpoint that the record has at its number of entries.

    Raises
    ------
    NotFound
        The job has fewer entries.
    """
    last_hash = hash_at(connection, new.job_id, new.entries)
    if last_hash is None:
        raise NotFound(f"job number {new.job_id} has no {new.entries} entries")
    drive = drive_version(connection, job(connection, new.job_id).drive_version_id)
    values = values_of(new, SHEET) | {"last_hash": last_hash, "drive_sha256": drive.sha256}
    made = connection.execute(insert(SHEET).values(sealed(SHEET, values))).inserted_primary_key
    return sheet(connection, made[0] if made else 0)


def sheet(connection: Connection, sheet_id: int) -> Sheet:
    """The sheet of that number.

    Raises
    ------
    NotFound
        There is none.
    """
    return one_of(connection, Sheet, columns_of(Sheet, SHEET).where(SHEET.c.id == sheet_id), f"sheet number {sheet_id}")


def sheets(connection: Connection, job_id: int) -> tuple[Sheet, ...]:
    """Sheets of a job, oldest first."""
    return all_of(connection, Sheet, columns_of(Sheet, SHEET).where(SHEET.c.job_id == job_id).order_by(SHEET.c.id))
