"""A form that adds something counts once, however often its button is tapped."""

from __future__ import annotations

import secrets
from collections.abc import Callable, Mapping
from typing import TypeVar

from starlette.requests import Request

from twoturn.web.workers import in_thread

T = TypeVar("T")
FIELD = "key"


def new_key() -> str:
    """A key for a form that is about to be shown."""
    return secrets.token_urlsafe(16)


async def once(request: Request, form: Mapping[str, str], add: Callable[[], T]) -> T:
    """What ``add()`` gives, worked out in a thread; for a form sent again, what it gave the first time."""
    key = form.get(FIELD, "")
    if not key:
        return await in_thread(add)
    held = request.app.state.bench.added
    return await in_thread(held.once, (request.url.path, request.state.visit.secret, key), add)
