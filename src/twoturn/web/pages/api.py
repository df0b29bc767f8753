"""The API's pages: every question it answers, its document, and a list of them to read."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from twoturn.web.api.openapi import document, every_endpoint
from twoturn.web.page import Page
from twoturn.web.show import show


async def api_document(_: Request) -> Response:
    """The document, OpenAPI 3.1."""
    return JSONResponse(document())


async def api_page(request: Request) -> Response:
    """Every question that the API answers, to read."""
    return show(request, "api/api.html", endpoints=every_endpoint(), document=document())


PAGES = (
    Page("/api", api_page, "viewer"),
    Page("/api/openapi.json", api_document, "viewer"),
    *(asked.page() for asked in every_endpoint()),
)
