"""Who is here: asked by the queue before it sends, so that a stale page still sends with a token that is in force."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from twoturn.web.page import ANYONE, Page


async def here(request: Request) -> Response:
    """Who is signed in, the token for forms, and whether people sign in here at all."""
    visit = request.state.visit
    return JSONResponse(
        {
            "person": None if visit.actor is None else {"id": visit.actor.id, "name": visit.actor.name},
            "csrf": visit.csrf,
            "lan": visit.mode.lan,
        },
        headers={"cache-control": "no-store"},
    )


PAGES = (Page("/here", here, ANYONE),)
