"""A typed number told back while it is typed."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from twoturn.errors import QuantityError
from twoturn.quantity.units import find_unit
from twoturn.web.page import Page
from twoturn.web.refused import Refused

_LONGEST = 80


async def understood(request: Request) -> Response:
    """What the bench understands of ``text`` in ``unit``, between ``low`` and ``high``, ``whole``, as ``stages``."""
    from twoturn.acts.understood import Wanted
    from twoturn.acts.understood import understood as act

    asked = request.query_params
    low, high, whole = _bound(asked.get("low")), _bound(asked.get("high")), "whole" in asked
    try:
        find_unit(unit := asked.get("unit", "-"))
    except QuantityError as error:
        raise Refused(400, error.message, allowed=error.allowed) from None
    wanted = Wanted(unit, low, high, whole, stages="stages" in asked)
    found = act(asked.get("text", "")[:_LONGEST], wanted)
    return JSONResponse({"ok": found.ok, "words": found.words}, headers={"cache-control": "no-store"})


def _bound(text: str | None) -> float | None:
    try:
        return float(text) if text else None
    except ValueError:
        return None


PAGES = (Page("/understood", understood, "viewer"),)
