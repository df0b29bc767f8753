"""People: who may do what, and signing in."""

from __future__ import annotations

import hashlib
import re
import secrets
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Literal

from twoturn.acts.shop.pins import REMEMBERED, check_pin, hash_pin, held_back_until, pin_fits
from twoturn.acts.shop.shop import Shop
from twoturn.errors import TwoTurnError
from twoturn.store.records import people as kept
from twoturn.store.records import settings
from twoturn.words.numbers import count_words

if TYPE_CHECKING:
    from sqlalchemy import Connection

Role = Literal["viewer", "trainee", "technician", "lead"]
ROLES: tuple[Role, ...] = ("viewer", "trainee", "technician", "lead")
"""From the least to the one who may do everything."""
LEAST: dict[str, Role] = {
    "read": "viewer",
    "enter": "trainee",
    "hand over": "technician",
    "tools": "technician",
    "lead": "lead",
}
"""The least role for each sort of act; ``lead`` is people, settings, and handing over what is not met."""
WORKING_DAY = timedelta(hours=16)
LONGEST_NAME = 80
ADDRESS_FAILURES = 100
"""Failures from one address in a day after which it must wait, whatever the names [-]."""
ONE_PERSON = "one_person"


class NotAllowed(TwoTurnError):  # noqa: N818 - it says what is the matter
    """Somebody's role is too low for what was asked."""


class WrongPin(TwoTurnError):  # noqa: N818 - it says what is the matter
    """Name and PIN do not belong together."""


class LockedOut(TwoTurnError):  # noqa: N818 - it says what is the matter
    """Too many wrong PINs: signing in has to wait.

    Attributes
    ----------
    until
        Until when.
    """

    def __init__(self, until: datetime, now: datetime) -> None:
        self.until = until
        minutes = max(1, -(-int((until - now).total_seconds()) // 60))
        super().__init__(
            "too many wrong PINs",
            next_step=f"wait {count_words(minutes, 'minute')} and try again, or ask a lead for a new PIN",
        )


@dataclass(frozen=True)
class Actor:
    """Somebody who does something: who, and in which role.

    Attributes
    ----------
    id, name, role
        Number in the record, name as signed, role.
    active
        False for somebody who has left.
    has_pin
        Whether a PIN was set, without which nobody signs in on a network.
    """

    id: int
    name: str
    role: Role
    active: bool = True
    has_pin: bool = False


@dataclass(frozen=True)
class Session:
    """Somebody signed in: the token that the device keeps, and until when it holds."""

    token: str
    actor: Actor
    ends: datetime


def may(actor: Actor, act: str) -> bool:
    """Whether somebody may do an act of ``LEAST``."""
    return actor.active and ROLES.index(actor.role) >= ROLES.index(LEAST[act])


def allow(actor: Actor, act: str) -> None:
    """Refuse an act to somebody whose role is too low.

    Raises
    ------
    NotAllowed
        With the role that is needed.
    """
    if not may(actor, act):
        least = LEAST[act]
        raise NotAllowed(
            f"{actor.name} is here as {actor.role}; this needs a {least}", next_step=f"ask a {least} to do it"
        )


def people(shop: Shop) -> tuple[Actor, ...]:
    """Everybody, by name, also who has left."""
    with shop.reading() as connection:
        return tuple(_actor(person) for person in kept.people(connection))


def add_person(shop: Shop, actor: Actor, name: str, role: str, pin: str | None = None) -> Actor:
    """Somebody new.

    Raises
    ------
    NotAllowed
        Only a lead adds people.
    TwoTurnError
        The name is taken or is none, the role or the PIN cannot be.
    """
    allow(actor, "lead")
    name, role = _name(name), _role(role)
    hashed = None if pin is None else hash_pin(pin)
    with shop.writing() as connection:
        _check_free(connection, name)
        return _actor(kept.add_person(connection, name, role, hashed))


@dataclass(frozen=True)
class PersonChange:
    """What becomes of a person; None leaves it as it is."""

    name: str | None = None
    role: str | None = None
    pin: str | None = None
    active: bool | None = None


def change_person(shop: Shop, actor: Actor, person_id: int, change: PersonChange) -> Actor:
    """Change somebody's name, role or PIN, or let them leave or come back; who is anybody may change the own PIN.

    Whoever gets a new PIN or leaves is signed out everywhere; a PIN from a lead ends a lock-out. Nobody is
    taken out of the record.

    Raises
    ------
    NotAllowed
        Only a lead changes people.
    TwoTurnError
        The name is taken, the role or PIN cannot be, or no lead would be left.
    """
    own_pin = actor.id == person_id and change == PersonChange(pin=change.pin)
    if not own_pin:
        allow(actor, "lead")
    hashed = None if change.pin is None else hash_pin(change.pin)
    with shop.writing() as connection:
        before = kept.person(connection, person_id)
        name = before.name if change.name is None else _name(change.name)
        if name.casefold() != before.name.casefold():
            _check_free(connection, name)
        after = replace(
            before,
            name=name,
            role=before.role if change.role is None else _role(change.role),
            pin_hash=hashed or before.pin_hash,
            active=before.active if change.active is None else change.active,
        )
        kept.change_person(connection, after)
        _keep_a_lead(connection)
        if hashed and not own_pin:
            kept.add_attempt(connection, after.name, "", True, shop.now())  # a new PIN ends the lock-out of the old one
        if hashed or not after.active:
            kept.end_sessions_of(connection, person_id)
        return _actor(after)


def needs_set_up(shop: Shop) -> bool:
    """Whether nobody can sign in yet as lead, so that the first start on a network asks for one."""
    return not any(actor.active and actor.role == "lead" and actor.has_pin for actor in people(shop))


def set_up(shop: Shop, name: str, pin: str) -> Actor:
    """The first lead who signs in with a PIN; somebody of that name becomes it.

    Raises
    ------
    NotAllowed
        There is such a lead already.
    TwoTurnError
        The name or the PIN cannot be.
    """
    name, hashed = _name(name), hash_pin(pin)
    with shop.writing() as connection:
        everybody = kept.people(connection)
        if any(one.active and one.role == "lead" and one.pin_hash for one in everybody):
            raise NotAllowed("this bench is set up already", next_step="sign in, or ask a lead")
        found = kept.person_by_name(connection, name)
        if found is None:
            return _actor(kept.add_person(connection, name, "lead", hashed))
        after = replace(found, role="lead", pin_hash=hashed, active=True)
        kept.change_person(connection, after)
        return _actor(after)


def the_one_person(shop: Shop) -> Actor | None:
    """Who works alone on this machine, as lead; None where nobody has said a name yet."""
    with shop.reading() as connection:
        chosen = settings.settings(connection).get(ONE_PERSON)
        everybody = [one for one in kept.people(connection) if one.active]
    found = next((one for one in everybody if one.id == chosen), None)
    leads = sorted((one for one in everybody if one.role == "lead"), key=lambda one: one.id)
    found = found or next(iter(leads), None)
    return None if found is None else replace(_actor(found), role="lead")


def work_alone(shop: Shop, name: str) -> Actor:
    """Say who works alone on this machine: somebody known, or somebody new, as lead."""
    name = _name(name)
    with shop.writing() as connection:
        found = kept.person_by_name(connection, name) or kept.add_person(connection, name, "lead", None)
        if not found.active:
            found = replace(found, active=True)
            kept.change_person(connection, found)
        settings.put(connection, {ONE_PERSON: found.id})
    return replace(_actor(found), role="lead")


def sign_in(shop: Shop, name: str, pin: str, address: str = "") -> Session:
    """Sign in; slow on purpose (the PIN's hash), so call it in a thread.

    The failure is noted before the PIN is looked at, so that guessing many at once does not help.

    Raises
    ------
    LockedOut
        Too many failures for this name, or from this address.
    WrongPin
        Name and PIN do not belong together.
    """
    person, now = _tried(shop, name, address)
    fits = pin_fits(pin, person.pin_hash if person is not None and person.active else None)
    if not fits or person is None:
        raise WrongPin("this name and this PIN do not belong together", next_step="try again, or ask a lead")
    token = secrets.token_urlsafe(32)
    with shop.writing() as connection:
        kept.add_attempt(connection, name, address, True, now)
        kept.end_old_sessions(connection, now)
        kept.forget_attempts(connection, now - 2 * REMEMBERED)
        session = kept.Session(_digest(token), person.id, now, now, now + WORKING_DAY)
        kept.add_session(connection, session)
    return Session(token, _actor(person), session.ends)


def new_pin(shop: Shop, actor: Actor, old: str, new: str, address: str = "") -> Session:
    """Change the own PIN by showing the old one; the person is signed in with the new one on this device alone.

    Raises
    ------
    WrongPin, LockedOut
        The old PIN does not fit, or was wrong too often.
    PinRefused
        The new one cannot be.
    """
    check_pin(new)
    sign_in(shop, actor.name, old, address)
    change_person(shop, actor, actor.id, PersonChange(pin=new))
    return sign_in(shop, actor.name, new, address)


def _tried(shop: Shop, name: str, address: str) -> tuple[kept.Person | None, datetime]:
    now = shop.now()
    with shop.writing() as connection:
        until = held_back_until(kept.failures(connection, name, now - REMEMBERED), now)
        if until is None and address and kept.failures_from(connection, address, now - REMEMBERED) >= ADDRESS_FAILURES:
            until = now + timedelta(minutes=10)
        if until is not None:
            raise LockedOut(until, now)
        kept.add_attempt(connection, name[:LONGEST_NAME], address, False, now)
        return kept.person_by_name(connection, name), now


def actor_of(shop: Shop, token: str) -> Actor | None:
    """Who holds a token that still is in force; None where nobody does."""
    with shop.reading() as connection:
        session = kept.session(connection, _digest(token))
        if session is None or session.ends <= shop.now():
            return None
        person = kept.person(connection, session.person_id)
    return _actor(person) if person.active else None


def sign_out(shop: Shop, token: str) -> None:
    """The token is in force no longer."""
    with shop.writing() as connection:
        kept.end_session(connection, _digest(token))


def _actor(person: kept.Person) -> Actor:
    return Actor(person.id, person.name, _role(person.role), person.active, person.pin_hash is not None)


def _digest(token: str) -> str:
    return hashlib.sha256(token.encode()).hexdigest()


def _role(role: str) -> Role:
    found = next((known for known in ROLES if known == role), None)
    if found is None:
        raise TwoTurnError(f'"{role[:40]}" is no role', allowed=", ".join(ROLES))
    return found


def _name(name: str) -> str:
    plain = " ".join(name.split())
    if not plain or len(plain) > LONGEST_NAME or re.search(r"[\x00-\x1f]", plain):
        raise TwoTurnError(
            "this cannot be a name" if plain else "no name was given", allowed=f"1 to {LONGEST_NAME} letters"
        )
    return plain


def _check_free(connection: Connection, name: str) -> None:
    found = kept.person_by_name(connection, name)
    if found is not None:
        left = "" if found.active else " who has left"
        raise TwoTurnError(
            f'there is somebody{left} of the name "{found.name}"',
            next_step="add a letter that tells the two apart, or let the one who left come back",
        )


def _keep_a_lead(connection: Connection) -> None:
    if not any(one.active and one.role == "lead" for one in kept.people(connection)):
        raise TwoTurnError("no lead would be left", next_step="make somebody else lead first")
