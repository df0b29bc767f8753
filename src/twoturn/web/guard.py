"""What stands before every page: the name asked, the size of what is sent, who asks, and whether the form is ours."""

from __future__ import annotations

from typing import TYPE_CHECKING

from starlette.exceptions import HTTPException
from starlette.requests import HTTPConnection, Request
from starlette.responses import Response
from starlette.types import ASGIApp, Receive, Scope, Send

from twoturn.errors import TwoTurnError
from twoturn.web.answers import told, told_http, told_slip
from twoturn.web.page import Page
from twoturn.web.security.body import limited
from twoturn.web.security.csrf import check_token
from twoturn.web.security.hosts import check_host, check_origin
from twoturn.web.security.numbers import check_numbers
from twoturn.web.security.roles import check_role
from twoturn.web.security.sessions import Visit, set_cookie, visit_of

if TYPE_CHECKING:
    from twoturn.web.app import Bench

SAFE = {"GET", "HEAD", "OPTIONS"}


class Guarded:
    """A page behind its guard; an ASGI application."""

    def __init__(self, page: Page) -> None:
        self.page = page

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Check, in this order: size, origin, role, token (the name was checked before); then let the page answer."""
        bench: Bench = scope["app"].state.bench
        request = Request(scope, limited(scope, receive, self.page.limit_bytes))
        try:
            response = await self._seen(request, bench)
            await response(scope, receive, send)
        finally:
            await request.close()

    async def _seen(self, request: Request, bench: Bench) -> Response:
        """The answer once it is known who asks."""
        try:
            if self.page.bare:
                return await self.page.handler(request)
            request.state.visit = visit = visit_of(request, bench.shop, bench.mode)
            response = await self._answer(request, visit)
        except TwoTurnError as error:
            response = await told(request, error)
        except HTTPException as error:
            response = await told_http(request, error)
        except Exception as error:  # the last net: a person is never shown the inside of a slip
            response = await told_slip(request, error)
        held: Visit | None = getattr(request.state, "visit", None)
        return response if held is None else _with_cookie(response, held)

    async def _answer(self, request: Request, visit: Visit) -> Response:
        changes = request.method not in SAFE
        check_numbers(request)
        if changes:
            check_origin(request, visit.mode)
        check_role(visit, self.page.role)
        if changes:
            await check_token(request, visit.secret, self.page.max_files)
        return await self.page.handler(request)


class OnlyOurNames:
    """ASGI layer that answers nothing asked under a name that is not this bench's, be there such a page or not."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Check the name, and pass the request on."""
        if scope["type"] == "http":
            try:
                check_host(HTTPConnection(scope), scope["app"].state.bench.mode)
            except TwoTurnError as error:
                response = await told(Request(scope, receive), error)
                await response(scope, receive, send)
                return
        await self.app(scope, receive, send)


def _with_cookie(response: Response, visit: Visit) -> Response:
    if visit.new and not any(name == b"set-cookie" for name, _ in response.raw_headers):
        set_cookie(response, visit.mode, visit.secret)
    return response
