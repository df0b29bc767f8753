"""Jobs: a vehicle, the version of the drive it is done by, and how many entries it has."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from functools import lru_cache
from typing import Any

from sqlalchemy import Connection, Select, bindparam, func, insert, select, update

from twoturn.job.chain import START
from twoturn.store.records.rows import all_of, chosen, columns_of, lock_name, maybe_one, one_of
from twoturn.store.seals import job_seal
from twoturn.store.tables import DRIVE_VERSION, JOB


@dataclass(frozen=True)
class Job:
    """A job.

    Attributes
    ----------
    id
        Number of its row, for addresses.
    number
        Running number, for people.
    vehicle_id, drive_version_id
        What it is about; the version stays, however the drive goes on.
    opened_at, opened_by
        When and by whom it was begun.
    closed_at
        None while it is open.
    note
        Anything worth saying, None without.
    entries, last_hash
        Number of entries and the hash of the last one: its checkpoint.
    """

    id: int
    number: int
    vehicle_id: int
    drive_version_id: int
    opened_at: datetime
    opened_by: str
    closed_at: datetime | None
    note: str | None
    entries: int
    last_hash: str


def add(
    connection: Connection, vehicle_id: int, drive_version_id: int, at: datetime, by: str, note: str | None = None
) -> Job:
    """A new, open job with the next running number."""
    lock_name(connection, "job number")
    number = 1 + (connection.scalar(select(func.max(JOB.c.number))) or 0)
    values: dict[str, Any] = {
        "number": number,
        "vehicle_id": vehicle_id,
        "drive_version_id": drive_version_id,
        "note": note,
    }
    values |= {"opened_at": at, "opened_by": by, "closed_at": None, "entries": 0, "last_hash": START}
    made = connection.execute(insert(JOB).values(values)).inserted_primary_key
    values["id"] = made[0] if made else 0
    drive = connection.scalar(select(DRIVE_VERSION.c.sha256).where(DRIVE_VERSION.c.id == drive_version_id))
    seal = job_seal(values, str(drive))
    connection.execute(update(JOB).where(JOB.c.id == values["id"]).values(seal=seal))
    return job(connection, values["id"])


def job(connection: Connection, job_id: int) -> Job:
    """The job of that number.

    Raises
    ------
    NotFound
        There is none.
    """
    return one_of(connection, Job, chosen(Job, JOB, "id"), f"job number {job_id}", id=job_id)


def by_number(connection: Connection, number: int) -> Job:
    """The job of that running number.

    Raises
    ------
    NotFound
        There is none.
    """
    return one_of(connection, Job, columns_of(Job, JOB).where(JOB.c.number == number), f"job {number}")


def alike(connection: Connection, entries: int, last_hash: str) -> Job | None:
    """The first job with that checkpoint; None where there is none."""
    query = columns_of(Job, JOB).where(JOB.c.entries == entries, JOB.c.last_hash == last_hash).order_by(JOB.c.id)
    return maybe_one(connection, Job, query)


def open_jobs(connection: Connection) -> tuple[Job, ...]:
    """Jobs that are not closed, oldest first."""
    return all_of(connection, Job, columns_of(Job, JOB).where(JOB.c.closed_at.is_(None)).order_by(JOB.c.number))


def closed_jobs(connection: Connection, limit: int = 100) -> tuple[Job, ...]:
    """Closed jobs, those closed last first."""
    query = columns_of(Job, JOB).where(JOB.c.closed_at.is_not(None)).order_by(JOB.c.closed_at.desc(), JOB.c.id.desc())
    return all_of(connection, Job, query.limit(limit))


def closed_in_all(connection: Connection) -> tuple[Any, ...]:
    """What changes when a job is closed, opened again, or grows while it is closed: counts, and the last one."""
    query = select(func.count(), func.sum(JOB.c.entries), func.sum(JOB.c.id), func.max(JOB.c.closed_at))
    return tuple(connection.execute(query.where(JOB.c.closed_at.is_not(None))).one())


def jobs_of_vehicle(connection: Connection, vehicle_id: int) -> tuple[Job, ...]:
    """Jobs on a vehicle, newest first."""
    query = columns_of(Job, JOB).where(JOB.c.vehicle_id == vehicle_id).order_by(JOB.c.number.desc())
    return all_of(connection, Job, query)


def jobs_of_drive(connection: Connection, drive_id: int, limit: int = 100) -> tuple[Job, ...]:
    """Jobs done by any version of a drive, newest first."""
    return all_of(connection, Job, _of_drive(), drive=drive_id, most=limit)


@lru_cache(maxsize=1)
def _of_drive() -> Select[Any]:
    query = columns_of(Job, JOB).join(DRIVE_VERSION, DRIVE_VERSION.c.id == JOB.c.drive_version_id)
    query = query.where(DRIVE_VERSION.c.drive_id == bindparam("drive"))
    return query.order_by(JOB.c.number.desc()).limit(bindparam("most"))


def jobs_by_drive(connection: Connection) -> dict[int, int]:
    """How many jobs were done by any version of a drive [-], by number of the drive."""
    query = select(DRIVE_VERSION.c.drive_id, func.count().label("jobs"))
    query = query.join(JOB, JOB.c.drive_version_id == DRIVE_VERSION.c.id).group_by(DRIVE_VERSION.c.drive_id)
    return {row.drive_id: row.jobs for row in connection.execute(query)}


def close(connection: Connection, job_id: int, at: datetime, *, last_hash: str | None = None) -> None:
    """The job is done; with ``last_hash`` only where its last entry is that one still."""
    job(connection, job_id)
    query = update(JOB).where(JOB.c.id == job_id).values(closed_at=at)
    connection.execute(query if last_hash is None else query.where(JOB.c.last_hash == last_hash))


def reopen(connection: Connection, job_id: int) -> None:
    """It goes on after all."""
    job(connection, job_id)
    connection.execute(update(JOB).where(JOB.c.id == job_id).values(closed_at=None))


def set_note(connection: Connection, job_id: int, note: str | None) -> None:
    """Anything worth saying of a job."""
    job(connection, job_id)
    connection.execute(update(JOB).where(JOB.c.id == job_id).values(note=note))
