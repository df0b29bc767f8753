"""What is known of the evidence files, and by which names jobs know them."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime
from pathlib import PurePosixPath

from sqlalchemy import Connection, insert

from twoturn.store.records.rows import all_of, chosen, columns_of, lock_name, maybe_one, values_of
from twoturn.store.seals import sealed
from twoturn.store.tables import EVIDENCE, JOB_EVIDENCE


@dataclass(frozen=True)
class Evidence:
    """A file that was kept.

    Attributes
    ----------
    sha256
        Of its content; its name in the folder.
    size
        Its size [bytes].
    media_type
        Such as ``image/jpeg``.
    first_name
        Its name when it came first.
    by, at
        Who sent it when.
    original_sha256
        Of the file it was made from (a photo whose location was taken out), None where it is as it came.
    """

    sha256: str
    size: int
    media_type: str
    first_name: str
    by: str
    at: datetime
    original_sha256: str | None = None


@dataclass(frozen=True)
class JobEvidence:
    """A file under the name by which entries of a job point at it."""

    job_id: int
    name: str
    sha256: str


def add(connection: Connection, new: Evidence) -> Evidence:
    """Note a file that was kept; the first note of the same content stays."""
    lock_name(connection, f"evidence {new.sha256}")
    found = evidence(connection, new.sha256)
    if found is None:
        connection.execute(insert(EVIDENCE).values(sealed(EVIDENCE, values_of(new, EVIDENCE))))
    return found or new


def evidence(connection: Connection, sha256: str) -> Evidence | None:
    """What is known of the file of that SHA-256."""
    return maybe_one(connection, Evidence, columns_of(Evidence, EVIDENCE).where(EVIDENCE.c.sha256 == sha256))


def name_for_job(connection: Connection, job_id: int, name: str, sha256: str) -> JobEvidence:
    """Give a file a name within a job: ``name``, or ``name-2`` and so on where that names another file."""
    lock_name(connection, f"evidence of job {job_id}")
    taken = {found.name.casefold(): found for found in of_job(connection, job_id)}
    path = PurePosixPath(name)
    wanted, number = name, 1
    while (found := taken.get(wanted.casefold())) is not None:
        if found.sha256 == sha256:
            return found
        number += 1
        wanted = f"{path.stem}-{number}{path.suffix}"
    values = {"job_id": job_id, "name": wanted, "sha256": sha256}
    connection.execute(insert(JOB_EVIDENCE).values(sealed(JOB_EVIDENCE, values)))
    return JobEvidence(job_id, wanted, sha256)


def of_job(connection: Connection, job_id: int) -> tuple[JobEvidence, ...]:
    """Files of a job, by name."""
    found = all_of(connection, JobEvidence, chosen(JobEvidence, JOB_EVIDENCE, "job_id"), job_id=job_id)
    return tuple(sorted(found, key=lambda file: file.name))


def of_jobs(connection: Connection, job_ids: Collection[int]) -> dict[int, tuple[JobEvidence, ...]]:
    """Files of some jobs by number of the job, by name."""
    query = columns_of(JobEvidence, JOB_EVIDENCE).where(JOB_EVIDENCE.c.job_id.in_(sorted(job_ids)))
    found: dict[int, tuple[JobEvidence, ...]] = {}
    for file in sorted(all_of(connection, JobEvidence, query), key=lambda file: file.name):
        found[file.job_id] = (*found.get(file.job_id, ()), file)
    return found


def by_name(connection: Connection, job_id: int, name: str) -> JobEvidence | None:
    """The file that a job knows by that name."""
    query = columns_of(JobEvidence, JOB_EVIDENCE)
    return maybe_one(connection, JobEvidence, query.where(JOB_EVIDENCE.c.job_id == job_id, JOB_EVIDENCE.c.name == name))
