"""Who works here now: on one machine by a tap, on a network by signing out; and the own PIN."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from twoturn.errors import TwoTurnError
from twoturn.web.forms.read import texts
from twoturn.web.page import Page
from twoturn.web.refused import Refused, status_of
from twoturn.web.security.sessions import set_cookie
from twoturn.web.show import show
from twoturn.web.workers import in_thread


async def who(request: Request) -> Response:
    """Who is here, and who else may be."""
    return _page(request)


async def who_else(request: Request) -> Response:
    """Somebody else works on this machine from now on."""
    from twoturn.acts.shop.people import work_alone

    visit, form = request.state.visit, await texts(request)
    if visit.mode.lan:
        raise Refused(409, "on a network everybody signs in with a PIN", next_step="sign out, and let them sign in")
    try:
        await in_thread(work_alone, visit.shop, form.get("other", "") or form.get("name", ""))
    except TwoTurnError as error:
        return _page(request, error)
    return RedirectResponse("/", 303)


async def own_pin(request: Request) -> Response:
    """A new PIN for who shows the old one."""
    from twoturn.acts.shop.people import new_pin

    visit, form = request.state.visit, await texts(request)
    address = request.client.host if request.client else ""
    try:
        if not visit.mode.lan:
            raise Refused(409, "on this machine nobody signs in", next_step="a lead sets PINs under People")
        if form.get("pin") != form.get("pin_again"):
            raise TwoTurnError("the two new PINs are not alike", next_step="type the same PIN twice")
        old, new = form.get("old", ""), form.get("pin", "")
        session = await in_thread(new_pin, visit.shop, visit.actor, old, new, address)
    except TwoTurnError as error:
        return _page(request, error)
    response = RedirectResponse("/who?said=pin", 303)
    set_cookie(response, visit.mode, session.token)
    return response


def _page(request: Request, error: TwoTurnError | None = None) -> Response:
    from twoturn.acts.shop.people import people

    known = [one for one in people(request.state.visit.shop) if one.active]
    return show(
        request, "who/who.html", status_of(error) if error else 200,
        people=known, error=error, changed=request.query_params.get("said") == "pin",
    )  # fmt: skip


PAGES = (
    Page("/who", who, "viewer"),
    Page("/who", who_else, "viewer", ("POST",)),
    Page("/who/pin", own_pin, "viewer", ("POST",)),
)
