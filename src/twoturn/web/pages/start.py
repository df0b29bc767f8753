"""The first page: the jobs, by what each waits for."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from twoturn.web.page import Page
from twoturn.web.show import show


async def start(request: Request) -> Response:
    """The jobs, and what each waits for."""
    return show(request, "start/start.html")


PAGES = (Page("/", start, "viewer"),)
