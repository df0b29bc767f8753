"""Entries: only ever added, hash-chained, each sending written exactly once."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import Connection, func, insert, select, update

from twoturn.job.canonical import canonical_json
from twoturn.job.chain import START, entry_hash
from twoturn.store.faults import KeyInFlight, KeyReused, StoreError
from twoturn.store.records.jobs import Job, job
from twoturn.store.records.rows import columns_of
from twoturn.store.seals import entry_seal, sealed
from twoturn.store.tables import ENTRY, JOB, SENT

CLOCK_SLACK = timedelta(seconds=30)
"""By how much a later entry may seem earlier before its clock counts as set back: two servers never quite agree."""


@dataclass(frozen=True)
class Entry:
    """One entry of a job.

    Attributes
    ----------
    job_id, number
        Of which job, and its place there from 1.
    content
        The raw entry, as in a job file.
    previous_hash, hash
        Hash of the entry before (zeros before the first) and of this one.
    by
        Who was signed in when it was sent; whom the entry itself names is in ``content``.
    received
        When the record got it.
    clock_back
        The clock stood earlier than at the entry before: its times are not to be trusted.
    """

    job_id: int
    number: int
    content: dict[str, Any]
    previous_hash: str
    hash: str
    by: str
    received: datetime
    clock_back: bool

    @property
    def entered(self) -> datetime | None:
        """When it was typed, as the entry itself says; None where it does not."""
        said = self.content.get("entered")
        return None if said is None else datetime.fromisoformat(said)


@dataclass(frozen=True)
class Appended:
    """What became of a sending.

    Attributes
    ----------
    first
        Number of its first entry.
    entries
        Its entries as they stand in the record.
    repeated
        It had been written before: this is the answer of then.
    others
        Entries that came between the last one the page knew and the first of these.
    """

    first: int
    entries: tuple[Entry, ...]
    repeated: bool
    others: tuple[Entry, ...]


def append(
    connection: Connection,
    job_id: int,
    contents: Sequence[Mapping[str, Any]],
    key: str,
    by: str,
    received: datetime,
    *,
    after: int | None = None,
) -> Appended:
    """Add entries to a job, all of them or none, once for each key.

    Parameters
    ----------
    connection
        Of :func:`twoturn.store.engine.writing`.
    job_id
        Of which job.
    contents
        Raw entries, in order; they are kept as canonical JSON.
    key
        Idempotency key of the sending.
    by
        Who is signed in.
    received
        The moment.
    after
        Number of the last entry that the page knew; others that came meanwhile are told, never a reason to refuse.

    Raises
    ------
    KeyReused
        The key was used for something else.
    KeyInFlight
        A sending with this key is being written at this moment.
    NotFound
        There is no such job.
    CanonicalError
        A content holds what JSON cannot.
    """
    if not key or not contents:
        raise StoreError("a sending needs a key and at least one entry")
    texts = [canonical_json(dict(content)) for content in contents]
    digest = digest_of(job_id, texts, by)
    _claim(connection, key)
    held = _locked(connection, job_id)
    sent = connection.execute(select(SENT).where(SENT.c.key == key)).first()
    if sent is not None:
        if sent.digest != digest:
            raise KeyReused(
                "the key of this sending was used before for something else", next_step="send it with a new key"
            )
        return _answer(connection, job_id, sent._mapping["first"], sent._mapping["count"], repeated=True, after=after)
    first = held.entries + 1
    _write(connection, held, texts, {"key": key, "digest": digest}, by, received)
    return _answer(connection, job_id, first, len(texts), repeated=False, after=after)


def digest_of(job_id: int, texts: Sequence[str], by: str) -> str:
    """SHA-256 by which a sending that comes again is known to be the same."""
    return hashlib.sha256(canonical_json([job_id, list(texts), by]).encode()).hexdigest()


def _claim(connection: Connection, key: str) -> None:
    """On PostgreSQL two sendings of one key may run at once; on SQLite the second waits and finds the first done."""
    if connection.dialect.name == "postgresql":
        free = connection.exec_driver_sql(
            "SELECT pg_try_advisory_xact_lock(hashtextextended(%s, 0))", (f"sent {key}",)
        ).scalar()
        if not free:
            raise KeyInFlight("this sending is being written at this moment", next_step="ask again in a second")


def _locked(connection: Connection, job_id: int) -> Job:
    connection.execute(select(JOB.c.id).where(JOB.c.id == job_id).with_for_update())
    return job(connection, job_id)


def _write(
    connection: Connection, held: Job, texts: Sequence[str], sending: dict[str, str], by: str, received: datetime
) -> None:
    back = _clock_back(connection, held.id, received)
    values: dict[str, Any] = {"job_id": held.id, "first": held.entries + 1, "count": len(texts), "received": received}
    made = connection.execute(insert(SENT).values(sealed(SENT, sending | values))).inserted_primary_key
    sent_id = made[0] if made else 0
    previous, rows = held.last_hash, []
    for index, text in enumerate(texts):
        found = entry_hash(json.loads(text), previous)
        row = {"job_id": held.id, "number": held.entries + 1 + index, "content": text, "previous_hash": previous}
        row |= {"hash": found, "by": by, "received": received, "clock_back": back and index == 0, "sent_id": sent_id}
        rows.append(row | {"seal": entry_seal(row)})
        previous = found
    connection.execute(insert(ENTRY), rows)
    connection.execute(
        update(JOB).where(JOB.c.id == held.id).values(entries=held.entries + len(texts), last_hash=previous)
    )


def _clock_back(connection: Connection, job_id: int, received: datetime) -> bool:
    newest = select(func.max(SENT.c.id)).scalar_subquery()
    of_record = connection.scalar(select(SENT.c.received).where(SENT.c.id == newest))
    own = select(func.max(SENT.c.id)).where(SENT.c.job_id == job_id).scalar_subquery()
    of_job = connection.scalar(select(SENT.c.received).where(SENT.c.id == own))
    return any(received < before - CLOCK_SLACK for before in (of_record, of_job) if before is not None)


def _answer(
    connection: Connection, job_id: int, first: int, count: int, *, repeated: bool, after: int | None
) -> Appended:
    start = first if after is None else min(first, after + 1)
    found = entries(connection, job_id, start=start, end=first + count - 1)
    own = tuple(entry for entry in found if entry.number >= first)
    return Appended(first, own, repeated, tuple(entry for entry in found if entry.number < first))


def entries(connection: Connection, job_id: int, *, start: int = 1, end: int | None = None) -> tuple[Entry, ...]:
    """Entries of a job in order, from number ``start`` to ``end`` (both with)."""
    query = columns_of(Entry, ENTRY).where(ENTRY.c.job_id == job_id, ENTRY.c.number >= start)
    if end is not None:
        query = query.where(ENTRY.c.number <= end)
    return tuple(_entry(row) for row in connection.execute(query.order_by(ENTRY.c.number)))


def of_key(connection: Connection, job_id: int, key: str) -> tuple[Entry, ...] | None:
    """The entries that a sending with this key wrote to a job; None where there was none."""
    query = select(SENT.c.first, SENT.c.count).where(SENT.c.key == key, SENT.c.job_id == job_id)
    row = connection.execute(query).first()
    if row is None:
        return None
    first, count = int(row[0]), int(row[1])
    return entries(connection, job_id, start=first, end=first + count - 1)


def _entry(row: Any) -> Entry:
    return Entry(**(dict(row._mapping) | {"content": json.loads(row.content)}))


def last(connection: Connection, job_id: int) -> Entry | None:
    """The last entry of a job."""
    query = columns_of(Entry, ENTRY).where(ENTRY.c.job_id == job_id).order_by(ENTRY.c.number.desc()).limit(1)
    row = connection.execute(query).first()
    return None if row is None else _entry(row)


def hash_at(connection: Connection, job_id: int, number: int) -> str | None:
    """Hash of the entry of that number, the start's zeros for 0, None where there is none."""
    if number == 0:
        return START
    return connection.scalar(select(ENTRY.c.hash).where(ENTRY.c.job_id == job_id, ENTRY.c.number == number))
