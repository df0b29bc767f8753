"""The first start: who works here. On a network the code from the terminal is asked, so that no stranger is first."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from twoturn.errors import TwoTurnError
from twoturn.web.forms.read import texts
from twoturn.web.page import ANYONE, Page
from twoturn.web.refused import Refused, status_of
from twoturn.web.security.sessions import Visit, set_cookie
from twoturn.web.show import show
from twoturn.web.workers import in_thread


async def set_up_page(request: Request) -> Response:
    """The page of the first start; past it, the way in."""
    return _elsewhere(request.state.visit) or _page(request)


async def set_up(request: Request) -> Response:
    """Begin: on this machine with a name, on a network with the code, a name and a PIN."""
    visit, form = request.state.visit, await texts(request)
    elsewhere = _elsewhere(visit)
    if elsewhere is not None:
        return elsewhere
    address = request.client.host if request.client else ""
    try:
        if visit.mode.lan:
            return await in_thread(_first_lead, visit, form, address)
        await in_thread(_alone, visit, form)
    except TwoTurnError as error:
        return _page(request, status_of(error), error, form.get("name", ""))
    return RedirectResponse("/", 303)


def _elsewhere(visit: Visit) -> Response | None:
    """Where to go when nothing is to be set up; None when it is."""
    from twoturn.acts.shop.people import needs_set_up, the_one_person

    if visit.mode.lan:
        return None if needs_set_up(visit.shop) else RedirectResponse("/sign-in", 303)
    return None if the_one_person(visit.shop) is None else RedirectResponse("/", 303)


def _page(request: Request, status: int = 200, error: TwoTurnError | None = None, name: str = "") -> Response:
    return show(request, "set_up/set_up.html", status, error=error, name=name)


def _alone(visit: Visit, form: dict[str, str]) -> None:
    from twoturn.acts.shop.people import work_alone

    work_alone(visit.shop, form.get("name", ""))


def _first_lead(visit: Visit, form: dict[str, str], address: str) -> Response:
    from twoturn.acts.shop import people

    if visit.mode.setup_code is None:
        raise Refused(
            403, "this start has no set-up code", next_step="stop the bench and start it again: it prints one"
        )
    visit.mode.setup_code.check(form.get("code", ""))
    if form.get("pin") != form.get("pin_again"):
        raise TwoTurnError("the two PINs are not alike", next_step="type the same PIN twice")
    lead = people.set_up(visit.shop, form.get("name", ""), form.get("pin", ""))
    session = people.sign_in(visit.shop, lead.name, form.get("pin", ""), address)
    response = RedirectResponse("/", 303)
    set_cookie(response, visit.mode, session.token)
    return response


PAGES = (
    Page("/set-up", set_up_page, ANYONE),
    Page("/set-up", set_up, ANYONE, ("POST",)),
)
