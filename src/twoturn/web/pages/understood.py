"""A typed number told back while it is typed."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from twoturn.web.page import Page

_LONGEST = 80


async def understood(request: Request) -> Response:
    """What the bench understands of ``text`` in ``unit``, between ``low`` and ``high`` where they are given."""
    from twoturn.acts.understood import understood as act

    asked = request.query_params
    found = act(
        asked.get("text", "")[:_LONGEST],
        asked.get("unit", "-")[:20],
        _bound(asked.get("low")),
        _bound(asked.get("high")),
    )
    return JSONResponse({"ok": found.ok, "words": found.words}, headers={"cache-control": "no-store"})


def _bound(text: str | None) -> float | None:
    try:
        return float(text) if text else None
    except ValueError:
        return None


PAGES = (Page("/understood", understood, "viewer"),)
