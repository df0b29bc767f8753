"""What the bench is: cautions, versions, where the record is, the last backup."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from twoturn.web.page import Page
from twoturn.web.show import show
from twoturn.web.workers import in_thread


async def about(request: Request) -> Response:
    """Cautions, versions, the record and its last backup."""
    from twoturn.acts.shop.about import about_page
    from twoturn.words.cautions import CAUTIONS

    seen = await in_thread(about_page, request.state.visit.shop)
    return show(request, "about/about.html", seen=seen, cautions=[one.text for one in CAUTIONS.values()])


PAGES = (Page("/about", about, "viewer"),)
