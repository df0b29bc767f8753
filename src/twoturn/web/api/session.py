"""Who is here, by the API: asked, signed in, signed out."""

from __future__ import annotations

from typing import Annotated

from pydantic import AfterValidator, Field
from starlette.responses import JSONResponse, Response

from twoturn.acts.shop import people as acts
from twoturn.acts.shop.people import Actor, Role
from twoturn.web.api.bounds import Asked, Told
from twoturn.web.api.endpoint import Call, endpoint
from twoturn.web.page import ANYONE
from twoturn.web.security.csrf import token_of
from twoturn.web.security.sessions import cookie_name, set_cookie

NO_STORE = {"cache-control": "no-store"}


class SignIn(Asked):
    """Name and PIN."""

    name: Annotated[str, Field(max_length=80), AfterValidator(lambda text: text.replace("\x00", " "))]
    pin: Annotated[str, Field(max_length=80)]


class PersonHere(Told):
    """Who is signed in."""

    id: int
    name: str
    role: Role


class SessionTold(Told):
    """Who is here, and what changes have to carry."""

    person: PersonHere | None
    csrf: Annotated[str, Field(description="goes into the header x-csrf of everything that changes something")]
    lan: Annotated[bool, Field(description="whether people sign in here at all")]


@endpoint("GET", "/api/session", ANYONE, answer=SessionTold)
def show_session(call: Call) -> Response:
    """Who is signed in, and the token for the header x-csrf."""
    return _told(call, call.visit.actor, call.visit.csrf)


@endpoint("POST", "/api/session", ANYONE, answer=SessionTold, refuses=(429,))
def sign_in(call: Call, body: SignIn) -> Response:
    """Sign in by name and PIN; the answer sets the cookie and holds the token for it."""
    client = call.request.client
    session = acts.sign_in(call.shop, body.name, body.pin, client.host if client else "")
    response = _told(call, session.actor, token_of(session.token))
    set_cookie(response, call.visit.mode, session.token)
    return response


@endpoint("DELETE", "/api/session", ANYONE, status=204)
def sign_out(call: Call) -> Response:
    """Sign out on this device."""
    response = Response(status_code=204)
    if call.visit.mode.lan:
        acts.sign_out(call.shop, call.visit.secret)
        name = cookie_name(call.visit.mode)
        response.delete_cookie(name, path="/", secure=call.visit.mode.tls, httponly=True, samesite="strict")
    return response


def _told(call: Call, actor: Actor | None, csrf: str) -> JSONResponse:
    person = None if actor is None else PersonHere(id=actor.id, name=actor.name, role=actor.role)
    told = SessionTold(person=person, csrf=csrf, lan=call.visit.mode.lan)
    return JSONResponse(told.model_dump(), headers=NO_STORE)


ENDPOINTS = (show_session, sign_in, sign_out)
