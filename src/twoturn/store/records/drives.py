"""The library of drives: every version that was ever kept."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection, func, insert, select, update

from twoturn.store.records.rows import all_of, columns_of, lock_name, maybe_one, one_of
from twoturn.store.seals import sealed
from twoturn.store.tables import DRIVE, DRIVE_VERSION


@dataclass(frozen=True)
class Drive:
    """A drive of the library.

    Attributes
    ----------
    id
        Number in this record.
    slug
        Short name, the drive file's.
    name
        As shown.
    active
        False for one that is not offered any more.
    """

    id: int
    slug: str
    name: str
    active: bool


@dataclass(frozen=True)
class DriveVersion:
    """A drive file as it once was.

    Attributes
    ----------
    id
        Number in this record; a job keeps it.
    drive_id
        Of which drive.
    number
        1, 2, 3 ... within the drive.
    text
        The drive file.
    sha256
        Of the text in UTF-8.
    by, at
        Who kept it when.
    """

    id: int
    drive_id: int
    number: int
    text: str
    sha256: str
    by: str
    at: datetime


def text_hash(text: str) -> str:
    """SHA-256 of a drive file's text."""
    return hashlib.sha256(text.encode()).hexdigest()


def keep(connection: Connection, slug: str, name: str, text: str, by: str, at: datetime) -> DriveVersion:
    """Keep a drive file: the newest version where its text is the same, else one more."""
    lock_name(connection, f"drive {slug}")
    drive = by_slug(connection, slug)
    if drive is None:
        connection.execute(insert(DRIVE).values(slug=slug, name=name, active=True))
        drive = one_of(connection, Drive, columns_of(Drive, DRIVE).where(DRIVE.c.slug == slug), f'drive "{slug}"')
    elif (drive.name, drive.active) != (name, True):
        connection.execute(update(DRIVE).where(DRIVE.c.id == drive.id).values(name=name, active=True))
    last = latest(connection, drive.id)
    digest = text_hash(text)
    if last is not None and last.sha256 == digest:
        return last
    number = 1 + (0 if last is None else last.number)
    values = {"drive_id": drive.id, "number": number, "text": text, "sha256": digest, "by": by, "at": at}
    made = connection.execute(insert(DRIVE_VERSION).values(sealed(DRIVE_VERSION, values))).inserted_primary_key
    return drive_version(connection, made[0] if made else 0)


def library(connection: Connection) -> tuple[Drive, ...]:
    """Every drive, by name."""
    found = all_of(connection, Drive, columns_of(Drive, DRIVE))
    return tuple(sorted(found, key=lambda drive: (drive.name.casefold(), drive.id)))


def by_slug(connection: Connection, slug: str) -> Drive | None:
    """The drive of that short name."""
    return maybe_one(connection, Drive, columns_of(Drive, DRIVE).where(DRIVE.c.slug == slug))


def set_active(connection: Connection, drive_id: int, active: bool) -> None:
    """Offer a drive, or no longer."""
    connection.execute(update(DRIVE).where(DRIVE.c.id == drive_id).values(active=active))


def versions(connection: Connection, drive_id: int) -> tuple[DriveVersion, ...]:
    """Every version of a drive, oldest first."""
    query = columns_of(DriveVersion, DRIVE_VERSION).where(DRIVE_VERSION.c.drive_id == drive_id)
    return all_of(connection, DriveVersion, query.order_by(DRIVE_VERSION.c.number))


def version_of_text(connection: Connection, sha256: str) -> DriveVersion | None:
    """The newest version, of any drive, whose text has that SHA-256; None where there is none."""
    query = columns_of(DriveVersion, DRIVE_VERSION).where(DRIVE_VERSION.c.sha256 == sha256)
    return maybe_one(connection, DriveVersion, query.order_by(DRIVE_VERSION.c.id.desc()).limit(1))


def latest(connection: Connection, drive_id: int) -> DriveVersion | None:
    """The newest version of a drive."""
    query = columns_of(DriveVersion, DRIVE_VERSION).where(DRIVE_VERSION.c.drive_id == drive_id)
    return maybe_one(connection, DriveVersion, query.order_by(DRIVE_VERSION.c.number.desc()).limit(1))


def latest_ids(connection: Connection) -> dict[int, int]:
    """Number of the newest version by number of its drive."""
    newest = (
        select(DRIVE_VERSION.c.drive_id, func.max(DRIVE_VERSION.c.number).label("number"))
        .group_by(DRIVE_VERSION.c.drive_id)
        .subquery()
    )
    query = select(DRIVE_VERSION.c.drive_id, DRIVE_VERSION.c.id).join(
        newest, (newest.c.drive_id == DRIVE_VERSION.c.drive_id) & (newest.c.number == DRIVE_VERSION.c.number)
    )
    return {row.drive_id: row.id for row in connection.execute(query)}


def drive_version(connection: Connection, version_id: int) -> DriveVersion:
    """The version of that number.

    Raises
    ------
    NotFound
        There is none.
    """
    query = columns_of(DriveVersion, DRIVE_VERSION).where(DRIVE_VERSION.c.id == version_id)
    return one_of(connection, DriveVersion, query, f"drive version number {version_id}")


def drive(connection: Connection, drive_id: int) -> Drive:
    """The drive of that number.

    Raises
    ------
    NotFound
        There is none.
    """
    return one_of(connection, Drive, columns_of(Drive, DRIVE).where(DRIVE.c.id == drive_id), f"drive number {drive_id}")
