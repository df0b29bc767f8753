"""Errors as pages or as JSON, by what the asker accepts: one shape for the whole bench."""

from __future__ import annotations

import logging
from contextlib import suppress
from http import HTTPStatus

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Match

from twoturn.errors import FileFaults, TwoTurnError
from twoturn.web.refused import Refused, SignInNeeded, status_of
from twoturn.web.security.hosts import check_host
from twoturn.web.security.sessions import visit_of
from twoturn.web.show import show

LOG = logging.getLogger("twoturn.web")


def wants_json(request: Request) -> bool:
    """True where the asker takes JSON before HTML: the queue's ``fetch`` and the API."""
    accepted = request.headers.get("accept", "")
    return request.url.path.startswith("/api/") or (
        "application/json" in accepted and "text/html" not in accepted.split("application/json")[0]
    )


def error_json(error: TwoTurnError, status: int) -> dict[str, object]:
    """The one shape of an error in JSON."""
    return {
        "error": {
            "status": status,
            "sentence": error.sentence[0].upper() + error.sentence[1:],
            "message": error.message,
            "allowed": error.allowed,
            "next_step": error.next_step,
            "fields": _by_field(error),
        }
    }


def _by_field(error: TwoTurnError) -> dict[str, str]:
    """A sentence for each field or key at fault, where the error knows them."""
    if isinstance(error, FileFaults):
        return {fault.key: fault.sentence for fault in reversed(error.faults)}
    fields: dict[str, str] = getattr(error, "fields", {})
    return fields


async def told(request: Request, error: Exception) -> Response:
    """An error of the family, told to the person."""
    if not isinstance(error, TwoTurnError):
        return await told_slip(request, error)
    status = status_of(error)
    if isinstance(error, SignInNeeded):
        from twoturn.web.pages.sign_in import ask_again

        return await ask_again(request)
    if wants_json(request):
        return JSONResponse(error_json(error, status), status_code=status)
    return show(request, "error.html", status, error=error, number=status, title=HTTPStatus(status).phrase)


async def told_http(request: Request, error: Exception) -> Response:
    """What the router itself refuses: no such page, no such method, a form that cannot be read."""
    if not isinstance(error, HTTPException):
        return await told_slip(request, error)
    sentences = {
        404: f"there is no page {request.url.path[:80]!r} here",
        405: f"{request.url.path[:80]!r} cannot be asked by {request.method}",
    }
    message = sentences.get(error.status_code, str(error.detail))
    refused = Refused(error.status_code, message, next_step="look for it from the list of jobs, vehicles or drives")
    _know_visitor(request)
    response = await told(request, refused)
    if error.headers:
        response.headers.update(error.headers)
    if error.status_code == HTTPStatus.METHOD_NOT_ALLOWED:
        response.headers["allow"] = ", ".join(sorted(_methods(request)))
    return response


def _methods(request: Request) -> set[str]:
    """All methods by which the address can be asked: the router names those of the first page there alone."""
    routes = (one for one in request.app.routes if one.matches(request.scope)[0] is not Match.NONE)
    return {method for one in routes for method in one.methods or ()}


def _know_visitor(request: Request) -> None:
    """Look up who asks where no page did, so that the way on is shown; for the bench's own names alone."""
    bench = request.app.state.bench
    if not hasattr(request.state, "visit"):
        with suppress(TwoTurnError):
            check_host(request, bench.mode)
            request.state.visit = visit_of(request, bench.shop, bench.mode)


async def told_slip(request: Request, error: Exception) -> Response:
    """A slip of the program: logged whole, told without its inside."""
    LOG.error("slip at %s %s", request.method, request.url.path, exc_info=error)
    refused = Refused(
        500,
        "the bench made a mistake here; what was sent before is kept",
        next_step="try again; if it comes back, tell who looks after the bench",
    )
    return await told(request, refused)
