"""Signing in by name and PIN, and signing out. What was typed before a lost sign-in is carried along."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response

from twoturn.errors import TwoTurnError
from twoturn.web.answers import error_json, wants_json
from twoturn.web.forms.kept import Kept, kept_of_form, kept_of_request
from twoturn.web.forms.read import texts
from twoturn.web.page import ANYONE, Page
from twoturn.web.refused import SignInNeeded, status_of
from twoturn.web.security.csrf import token_of
from twoturn.web.security.sessions import cookie_name, set_cookie
from twoturn.web.show import show
from twoturn.web.workers import in_thread

if TYPE_CHECKING:
    from twoturn.acts.shop.people import Actor


async def sign_in_page(request: Request) -> Response:
    """The page with everybody's name and the keys for the PIN."""
    return ask(request, 200, None)


async def sign_in(request: Request) -> Response:
    """Sign in, and go on where it was asked for."""
    from twoturn.acts.shop.people import sign_in as sign

    visit, form = request.state.visit, await texts(request)
    kept = kept_of_form(form)
    address = request.client.host if request.client else ""
    try:
        session = await in_thread(sign, visit.shop, form.get("name", ""), form.get("pin", ""), address)
    except TwoTurnError as error:
        if wants_json(request):
            raise
        return ask(request, status_of(error), kept, error, form.get("name", ""))
    if wants_json(request):
        response: Response = JSONResponse({"csrf": token_of(session.token)})
    elif kept is not None and kept.fields is not None:
        response = show(request, "sign_in/kept.html", kept=kept, csrf=token_of(session.token))
    else:
        response = RedirectResponse(kept.path if kept else "/", 303)
    set_cookie(response, visit.mode, session.token)
    return response


async def sign_out(request: Request) -> Response:
    """Sign out on this device."""
    from twoturn.acts.shop.people import sign_out as leave

    visit = request.state.visit
    response = RedirectResponse("/", 303)
    if visit.mode.lan:
        await in_thread(leave, visit.shop, visit.secret)
        name = cookie_name(visit.mode)
        response.delete_cookie(name, path="/", secure=visit.mode.tls, httponly=True, samesite="strict")
    return response


async def ask_again(request: Request) -> Response:
    """What somebody gets whose sign-in is missing or has ended: 401, the names to tap, and what was typed."""
    error = SignInNeeded()
    if wants_json(request):
        return JSONResponse(error_json(error, 401), status_code=401)
    return ask(request, 401, await kept_of_request(request))


def ask(
    request: Request, status: int, kept: Kept | None, error: TwoTurnError | None = None, name: str = ""
) -> Response:
    """The page that asks for name and PIN; the first start's page while there is nobody."""
    from twoturn.acts.shop.people import needs_set_up

    visit = request.state.visit
    if not visit.mode.lan or needs_set_up(visit.shop):
        return RedirectResponse("/set-up", 303)
    found = _names(request)
    return show(request, "sign_in/sign_in.html", status, people=found, kept=kept, error=error, name=name)


def _names(request: Request) -> Sequence[Actor]:
    from twoturn.acts.shop.people import people

    return [person for person in people(request.state.visit.shop) if person.active and person.has_pin]


PAGES = (
    Page("/sign-in", sign_in_page, ANYONE),
    Page("/sign-in", sign_in, ANYONE, ("POST",)),
    Page("/sign-out", sign_out, ANYONE, ("POST",)),
)
