"""A page: its path, who may open it, and how much may be sent to it."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from dataclasses import dataclass

from starlette.requests import Request
from starlette.responses import Response

Handler = Callable[[Request], Awaitable[Response]]

ANYONE = "anyone"
"""Least role of the few pages that need no sign-in."""
KILOBYTE = 1000
MEGABYTE = 1000 * KILOBYTE


@dataclass(frozen=True)
class Page:
    """One route of the bench.

    Attributes
    ----------
    path
        Path, with parameters as in Starlette: ``/jobs/{job:int}``.
    handler
        ``async def`` that takes the request and gives the response; ``request.state.visit`` says who asks.
    role
        Least role: ``anyone``, ``viewer``, ``trainee``, ``technician`` or ``lead``.
    methods
        HTTP methods.
    limit_bytes
        Most that may be sent to it [bytes].
    max_files
        Most files in one form.
    bare
        True for files of the package: who asks does not matter, and is not looked up.
    """

    path: str
    handler: Handler
    role: str
    methods: tuple[str, ...] = ("GET",)
    limit_bytes: int = 200 * KILOBYTE
    max_files: int = 0
    bare: bool = False

    @property
    def name(self) -> str:
        """Name of the route, from its handler."""
        return self.handler.__name__
