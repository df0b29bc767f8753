"""People: who may do what. Only a lead sees and changes them."""

from __future__ import annotations

from collections.abc import Mapping

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from twoturn.errors import TwoTurnError
from twoturn.web.forms.once import new_key, once
from twoturn.web.forms.read import optional, texts
from twoturn.web.page import Page
from twoturn.web.refused import Refused, status_of
from twoturn.web.show import show
from twoturn.web.workers import in_thread


async def people(request: Request) -> Response:
    """Everybody, and the form of somebody new."""
    return _everybody(request)


async def person_add(request: Request) -> Response:
    """Somebody new."""
    from twoturn.acts.shop.people import add_person

    visit, form = request.state.visit, await texts(request)
    name, role, pin = form.get("name", ""), form.get("role", ""), optional(form.get("pin"))
    try:
        await once(request, form, lambda: add_person(visit.shop, visit.actor, name, role, pin))
    except TwoTurnError as error:
        return _everybody(request, form, error)
    return RedirectResponse("/people", 303)


async def person(request: Request) -> Response:
    """One person, to be changed."""
    return _person(request)


async def person_save(request: Request) -> Response:
    """Keep a person as changed."""
    from twoturn.acts.shop.people import PersonChange, change_person

    visit, form = request.state.visit, await texts(request)
    here = {"yes": True, "no": False}.get(form.get("here", ""))
    change = PersonChange(optional(form.get("name")), optional(form.get("role")), optional(form.get("pin")), here)
    try:
        await in_thread(change_person, visit.shop, visit.actor, request.path_params["person"], change)
    except TwoTurnError as error:
        return _person(request, form, error)
    return RedirectResponse("/people", 303)


def _everybody(request: Request, typed: Mapping[str, str] | None = None, error: TwoTurnError | None = None) -> Response:
    from twoturn.acts.shop.people import ROLES
    from twoturn.acts.shop.people import people as everybody

    return show(
        request, "people/people.html", status_of(error) if error else 200,
        people=everybody(request.state.visit.shop), roles=ROLES, typed=typed or {}, error=error, key=new_key(),
    )  # fmt: skip


def _person(request: Request, typed: Mapping[str, str] | None = None, error: TwoTurnError | None = None) -> Response:
    from twoturn.acts.shop.people import ROLES
    from twoturn.acts.shop.people import people as everybody

    number = request.path_params["person"]
    found = next((one for one in everybody(request.state.visit.shop) if one.id == number), None)
    if found is None:
        raise Refused(404, f"there is no person number {number}", next_step="choose one from the list of people")
    usual = {"name": found.name, "role": found.role, "here": "yes" if found.active else "no"}
    return show(
        request, "people/person.html", status_of(error) if error else 200,
        one=found, roles=ROLES, typed=typed or usual, error=error,
    )  # fmt: skip


PAGES = (
    Page("/people", people, "lead"),
    Page("/people", person_add, "lead", ("POST",)),
    Page("/people/{person:int}", person, "lead"),
    Page("/people/{person:int}", person_save, "lead", ("POST",)),
)
