"""Jobs of the record: begun, understood, closed and opened again."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from twoturn.acts.job_files import KeptFiles
from twoturn.acts.job_folder import Job
from twoturn.acts.shop.drives import drive_of
from twoturn.acts.shop.people import Actor, allow
from twoturn.acts.shop.shop import Shop
from twoturn.drive.parts import Drive
from twoturn.job.file import JobFile
from twoturn.job.rows import job_of_rows
from twoturn.store.files import path_of
from twoturn.store.records import entries as sent
from twoturn.store.records import evidence, vehicles
from twoturn.store.records import jobs as kept

if TYPE_CHECKING:
    from sqlalchemy import Connection

LONGEST_NOTE = 2000


@dataclass(frozen=True)
class HeldJob:
    """A job of the record as it stood when it was read.

    Attributes
    ----------
    row
        Its row: numbers, vehicle, version of the drive, when and by whom it was begun, checkpoint.
    vehicle
        Its vehicle as known now.
    drive_name, drive_id
        Name and number of its drive in the library.
    drive
        The drive, in the version the job was begun with.
    file
        Its entries, understood; ``raw`` is what hashes are made of.
    entries
        Its entries as the record keeps them.
    sha256
        SHA-256 of its files, by the names that entries give them.
    """

    row: kept.Job
    vehicle: vehicles.Vehicle
    drive_name: str
    drive_id: int
    drive: Drive
    file: JobFile
    entries: tuple[sent.Entry, ...]
    sha256: Mapping[str, str]

    def lent(self, shop: Shop) -> tuple[Job, KeptFiles]:
        """The job with its files, for reading and judging; the files are lent until they are given back (``with``)."""
        files = KeptFiles(self.sha256, lambda digest: path_of(shop.place, digest))
        return Job(files, self.file, self.drive), files


def start_job(shop: Shop, actor: Actor, vehicle_id: int, version_id: int, note: str | None = None) -> kept.Job:
    """Begin a job on a vehicle by a version of a drive; the job keeps that version, however the drive goes on.

    Raises
    ------
    NotAllowed
        A viewer begins no job.
    NotFound
        There is no such vehicle or version.
    """
    allow(actor, "enter")
    drive_of(shop, version_id)
    with shop.writing() as connection:
        vehicles.vehicle(connection, vehicle_id)
        return kept.add(connection, vehicle_id, version_id, shop.now(), actor.name, _note(note))


def close_job(shop: Shop, actor: Actor, job_id: int) -> kept.Job:
    """The job is done; whatever is entered later opens it again."""
    allow(actor, "hand over")
    with shop.writing() as connection:
        kept.close(connection, job_id, shop.now())
        return kept.job(connection, job_id)


def reopen_job(shop: Shop, actor: Actor, job_id: int) -> kept.Job:
    """The job goes on after all."""
    allow(actor, "enter")
    with shop.writing() as connection:
        kept.reopen(connection, job_id)
        return kept.job(connection, job_id)


def note_job(shop: Shop, actor: Actor, job_id: int, note: str | None) -> kept.Job:
    """Anything worth saying of the job in the list of jobs; no part of its record."""
    allow(actor, "enter")
    with shop.writing() as connection:
        kept.set_note(connection, job_id, _note(note))
        return kept.job(connection, job_id)


def held_job(shop: Shop, job_id: int) -> HeldJob:
    """A job as it stands in the record now; only what was added since it was last asked for is read and understood.

    Raises
    ------
    NotFound
        There is no such job.
    FileFaults
        Its entries or its drive were changed behind the record's back so that they cannot be understood.
    """
    with shop.reading() as connection:
        row = kept.job(connection, job_id)
        found = _known(shop, connection, row)
        held = HeldJob(
            row=row,
            vehicle=vehicles.vehicle(connection, row.vehicle_id),
            drive_name=found.drive_name,
            drive_id=found.drive_id,
            drive=found.drive,
            file=found.file,
            entries=found.entries,
            sha256={file.name: file.sha256 for file in evidence.of_job(connection, job_id)},
        )
    shop.jobs.put(job_id, held)
    return held


def job_words(row: kept.Job) -> str:
    """What faults are said to be of."""
    return f"job {row.number}"


def _known(shop: Shop, connection: Connection, row: kept.Job) -> HeldJob:
    """The job with all its entries understood; its other parts may be those of an earlier reading."""
    before: HeldJob | None = shop.jobs.get(row.id)
    if before is not None and before.row.drive_version_id != row.drive_version_id:
        before = None
    if before is not None and before.row.entries == row.entries and before.row.last_hash == row.last_hash:
        return before
    if before is not None and (before.row.entries > row.entries or not _goes_on(connection, before)):
        before = None
    loaded = drive_of(shop, row.drive_version_id)
    start = 0 if before is None else before.row.entries
    new = sent.entries(connection, row.id, start=start + 1, end=row.entries)
    file = job_of_rows(
        [entry.content for entry in new],
        job_words(row),
        loaded.drive.name,
        before=None if before is None else before.file,
    )
    entries = (*(() if before is None else before.entries), *new)
    vehicle = vehicles.vehicle(connection, row.vehicle_id)
    return HeldJob(row, vehicle, loaded.drive.name, loaded.version.drive_id, loaded.drive, file, entries, {})


def _goes_on(connection: Connection, before: HeldJob) -> bool:
    """Whether the record still holds, as its last known entry, the one that was read."""
    return sent.hash_at(connection, before.row.id, before.row.entries) == before.row.last_hash


def _note(note: str | None) -> str | None:
    plain = (note or "").strip()
    return plain[:LONGEST_NOTE] or None
