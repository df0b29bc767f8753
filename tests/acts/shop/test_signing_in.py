"""Signing in: what counts as guessing, and what ends being held back."""

from __future__ import annotations

import pytest
from tests.acts.shop.conftest import Clock

from twoturn.acts.shop.people import ADDRESS_FAILURES, Actor, LockedOut, PersonChange, WrongPin, change_person, sign_in
from twoturn.acts.shop.pins import FREE_FAILURES
from twoturn.acts.shop.shop import Shop
from twoturn.store.records import people

TABLET = "192.0.2.7"


def test_signing_in_rightly_all_day_on_one_tablet_is_no_guessing(workshop: Shop, trainee: Actor) -> None:
    with workshop.writing() as connection:
        for _ in range(ADDRESS_FAILURES):  # as sign_in notes them, without its slow hash
            people.add_attempt(connection, trainee.name, TABLET, False, workshop.now())
            people.add_attempt(connection, trainee.name, TABLET, True, workshop.now())
    assert sign_in(workshop, trainee.name, "583214", TABLET).actor == trainee


def test_guessing_from_one_tablet_is_held_back_whatever_the_names(workshop: Shop, trainee: Actor) -> None:
    with workshop.writing() as connection:
        for number in range(ADDRESS_FAILURES):
            people.add_attempt(connection, f"somebody {number}", TABLET, False, workshop.now())
    with pytest.raises(LockedOut):
        sign_in(workshop, trainee.name, "583214", TABLET)


def test_a_new_pin_from_a_lead_ends_the_lock_out(workshop: Shop, ida: Actor, trainee: Actor, clock: Clock) -> None:
    for _ in range(FREE_FAILURES + 1):
        with pytest.raises(WrongPin):
            sign_in(workshop, trainee.name, "111112", TABLET)
    with pytest.raises(LockedOut):
        sign_in(workshop, trainee.name, "583214", TABLET)
    change_person(workshop, ida, trainee.id, PersonChange(pin="740192"))
    with pytest.raises(WrongPin):
        sign_in(workshop, trainee.name, "583214", TABLET)
    assert sign_in(workshop, trainee.name, "740192", TABLET).actor.id == trainee.id
