"""People with their roles, signed-in sessions, and attempts to sign in."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection, delete, func, insert, select, update

from twoturn.store.records.rows import all_of, columns_of, maybe_one, one_of, values_of
from twoturn.store.tables import ATTEMPT, PERSON, SESSION


@dataclass(frozen=True)
class Person:
    """Somebody who may sign entries.

    Attributes
    ----------
    id
        Number in this record.
    name
        As signed.
    role
        What the person may do; the store does not judge it.
    pin_hash
        The PIN as argon2id hash; None for somebody who cannot sign in.
    active
        False for who has left: the name stays, the entries stay.
    """

    id: int
    name: str
    role: str
    pin_hash: str | None
    active: bool


@dataclass(frozen=True)
class Session:
    """Somebody signed in on a device.

    Attributes
    ----------
    token_hash
        SHA-256 of the token that the device holds.
    person_id
        Who.
    begun, seen, ends
        When it began, was last used, and ends at the latest.
    """

    token_hash: str
    person_id: int
    begun: datetime
    seen: datetime
    ends: datetime


def add_person(connection: Connection, name: str, role: str, pin_hash: str | None) -> Person:
    """Somebody new.

    Raises
    ------
    Conflict
        The name is taken (at the latest when the transaction ends).
    """
    values = {"name": name, "role": role, "pin_hash": pin_hash, "active": True}
    number = connection.execute(insert(PERSON).values(values)).inserted_primary_key
    return person(connection, number[0] if number else 0)


def people(connection: Connection) -> tuple[Person, ...]:
    """Everybody, by name."""
    return tuple(
        sorted(
            all_of(connection, Person, columns_of(Person, PERSON)), key=lambda found: (found.name.casefold(), found.id)
        )
    )


def person(connection: Connection, person_id: int) -> Person:
    """The person of that number.

    Raises
    ------
    NotFound
        There is none.
    """
    query = columns_of(Person, PERSON).where(PERSON.c.id == person_id)
    return one_of(connection, Person, query, f"person number {person_id}")


def person_by_name(connection: Connection, name: str) -> Person | None:
    """The person of that name, small and capital letters alike."""
    wanted = name.strip().casefold()
    return next((found for found in people(connection) if found.name.casefold() == wanted), None)


def change_person(connection: Connection, changed: Person) -> None:
    """Keep ``changed`` in place of the person of its number."""
    person(connection, changed.id)
    connection.execute(update(PERSON).where(PERSON.c.id == changed.id).values(values_of(changed, PERSON)))


def add_session(connection: Connection, session: Session) -> None:
    """Somebody has signed in."""
    connection.execute(insert(SESSION).values(values_of(session, SESSION)))


def session(connection: Connection, token_hash: str) -> Session | None:
    """The session of that token's hash; whether it still holds is not judged here."""
    return maybe_one(connection, Session, columns_of(Session, SESSION).where(SESSION.c.token_hash == token_hash))


def end_session(connection: Connection, token_hash: str) -> None:
    """Signed out."""
    connection.execute(delete(SESSION).where(SESSION.c.token_hash == token_hash))


def end_sessions_of(connection: Connection, person_id: int) -> None:
    """Signed out on every device."""
    connection.execute(delete(SESSION).where(SESSION.c.person_id == person_id))


def end_old_sessions(connection: Connection, before: datetime) -> None:
    """Take away sessions that ended before that moment."""
    connection.execute(delete(SESSION).where(SESSION.c.ends < before))


def add_attempt(connection: Connection, name: str, address: str, good: bool, at: datetime) -> None:
    """Somebody tried to sign in as ``name``, from ``address``."""
    values = {"name": name.strip().casefold(), "address": address, "good": good, "at": at}
    connection.execute(insert(ATTEMPT).values(values))


def failures(connection: Connection, name: str, since: datetime) -> tuple[datetime, ...]:
    """When signing in as ``name`` failed, after the last time it went well and after ``since``; oldest first."""
    who = ATTEMPT.c.name == name.strip().casefold()
    last_good = connection.scalar(select(func.max(ATTEMPT.c.id)).where(who, ATTEMPT.c.good == True))  # noqa: E712
    query = select(ATTEMPT.c.at).where(who, ATTEMPT.c.id > (last_good or 0), ATTEMPT.c.at >= since)
    return tuple(connection.scalars(query.order_by(ATTEMPT.c.id)))


def failures_from(connection: Connection, address: str, since: datetime) -> int:
    """How often signing in failed from ``address`` after ``since``, whatever the name.

    Every try is noted as failed before the PIN is looked at, and once more as good where it was.
    """
    query = select(ATTEMPT.c.good, func.count()).where(ATTEMPT.c.address == address, ATTEMPT.c.at >= since)
    tries: dict[bool, int] = {bool(good): number for good, number in connection.execute(query.group_by(ATTEMPT.c.good))}
    return max(0, tries.get(False, 0) - tries.get(True, 0))


def forget_attempts(connection: Connection, before: datetime) -> None:
    """Take away attempts from before that moment."""
    connection.execute(delete(ATTEMPT).where(ATTEMPT.c.at < before))
