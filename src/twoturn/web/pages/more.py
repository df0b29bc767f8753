"""The way to everything that is not needed every day."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from twoturn.web.page import Page
from twoturn.web.show import show


async def more(request: Request) -> Response:
    """People, settings, other devices, about."""
    return show(request, "more/more.html")


PAGES = (Page("/more", more, "viewer"),)
