"""People by the API: for leads alone."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from twoturn.acts.shop import people as acts
from twoturn.acts.shop.people import Actor, PersonChange, Role
from twoturn.web.api.bounds import Asked, Name
from twoturn.web.api.endpoint import Call, endpoint

Pin = Annotated[str, Field(min_length=4, max_length=80, description="4 to 32 digits")]


class NewPerson(Asked):
    """Somebody new; without a PIN nobody signs in on a network."""

    name: Name
    role: Role
    pin: Pin | None = None


class ChangedPerson(Asked):
    """What becomes of a person; what is left out stays as it is."""

    name: Name | None = None
    role: Role | None = None
    pin: Pin | None = None
    active: bool | None = None


@endpoint("GET", "/api/people", "lead")
def list_people(call: Call) -> tuple[Actor, ...]:
    """Everybody, also who has left."""
    return acts.people(call.shop)


@endpoint("POST", "/api/people", "lead", status=201)
def add_person(call: Call, body: NewPerson) -> Actor:
    """Add somebody."""
    return acts.add_person(call.shop, call.actor, body.name, body.role, body.pin)


@endpoint("PUT", "/api/people/{person:int}", "lead")
def change_person(call: Call, body: ChangedPerson) -> Actor:
    """Change somebody's name, role or PIN, or let them leave or come back."""
    change = PersonChange(body.name, body.role, body.pin, body.active)
    return acts.change_person(call.shop, call.actor, call.number("person"), change)


ENDPOINTS = (list_people, add_person, change_person)
