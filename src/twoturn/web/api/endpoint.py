"""One question that the API answers: address, least role, what is sent, what comes back, and the act that is called."""

from __future__ import annotations

import inspect
import re
from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from typing import Any, get_type_hints

from pydantic import BaseModel, TypeAdapter
from starlette.requests import Request
from starlette.responses import Response

from twoturn.acts.shop.people import Actor
from twoturn.acts.shop.shop import Shop
from twoturn.web.api.read import Upload, body_of, query_of, upload_of
from twoturn.web.page import KILOBYTE, Handler, Page
from twoturn.web.refused import SignInNeeded
from twoturn.web.security.sessions import Visit
from twoturn.web.workers import in_thread

JSON = "application/json"
CHANGES = {"POST", "PUT", "DELETE"}
PARAMETER = re.compile(r"\{(\w+):(\w+)\}")
"""A parameter of a path, as Starlette writes it."""


@dataclass(frozen=True)
class Call:
    """Who asks what: given to every act of the API.

    Attributes
    ----------
    request
        The request; its body was read already.
    visit
        Who asks.
    """

    request: Request
    visit: Visit

    @property
    def shop(self) -> Shop:
        """The shop's record."""
        return self.visit.shop

    @property
    def actor(self) -> Actor:
        """The person who asks."""
        if self.visit.actor is None:
            raise SignInNeeded
        return self.visit.actor

    def number(self, name: str) -> int:
        """A number of the address."""
        return int(self.request.path_params[name])


@dataclass(frozen=True)
class Endpoint:
    """One question that the API answers.

    Attributes
    ----------
    method, path
        HTTP method; the path with its parameters as Starlette writes them.
    role
        Least role, as for a page.
    act
        ``def act(call, body=..., query=..., upload=...)``, run in a thread; its docstring's first line is the summary.
    status
        Status of a good answer.
    answer
        Type of a good answer, for the document; what the act says it gives where this is None.
    media
        Media types of a good answer.
    refuses
        Statuses of refusals beyond those that every question can have.
    limit_bytes
        Most that may be sent [bytes].
    kinds
        Of a file that is sent: what it may be; empty where that is settled.
    key
        Whether the header ``Idempotency-Key`` is needed.
    """

    method: str
    path: str
    role: str
    act: Callable[..., Any]
    status: int = 200
    answer: Any = None
    media: tuple[str, ...] = (JSON,)
    refuses: tuple[int, ...] = ()
    limit_bytes: int = 200 * KILOBYTE
    kinds: tuple[str, ...] = ("photo", "sound", "capture", "paper")
    key: bool = False

    @property
    def summary(self) -> str:
        """What it does, in one line."""
        return (inspect.getdoc(self.act) or "").split("\n")[0].rstrip(".")

    @property
    def plain_path(self) -> str:
        """The path as the document writes it."""
        return PARAMETER.sub(r"{\1}", self.path)

    @property
    def changes(self) -> bool:
        """Whether it changes something, and so needs the token of the header ``x-csrf``."""
        return self.method in CHANGES

    @cached_property
    def hints(self) -> dict[str, Any]:
        """Types of the act's parameters and of its answer."""
        return get_type_hints(self.act)

    @property
    def body(self) -> type[BaseModel] | None:
        """What is sent as JSON; None for nothing."""
        return self.hints.get("body")

    @property
    def query(self) -> type[BaseModel] | None:
        """What may stand behind the question mark; None for nothing."""
        return self.hints.get("query")

    @property
    def takes_file(self) -> bool:
        """Whether a file is sent, as a form."""
        return "upload" in self.hints

    @cached_property
    def adapter(self) -> TypeAdapter[Any]:
        """Writes what the act gives as JSON."""
        return TypeAdapter(self.hints["return"])

    def page(self) -> Page:
        """The page that answers it, behind the guard of all pages."""
        return Page(
            self.path,
            handler_of(self),
            self.role,
            (self.method,),
            limit_bytes=self.limit_bytes,
            max_files=1 if self.takes_file else 0,
        )


def endpoint(method: str, path: str, role: str, **more: Any) -> Callable[[Callable[..., Any]], Endpoint]:
    """Make an act of the API a question that it answers; further keywords are attributes of :class:`Endpoint`."""

    def made(act: Callable[..., Any]) -> Endpoint:
        return Endpoint(method, path, role, act, **more)

    return made


def handler_of(asked: Endpoint) -> Handler:
    """The page's handler: read what is sent, call the act, write its answer."""

    async def handle(request: Request) -> Response:
        given: dict[str, Any] = {}
        if asked.query is not None:
            given["query"] = query_of(request, asked.query)
        if asked.body is not None:
            given["body"] = await body_of(request, asked.body)
        if asked.takes_file:
            given["upload"] = await upload_of(request)
        return await in_thread(_answered, asked, Call(request, request.state.visit), given)

    handle.__name__ = f"api_{asked.act.__name__}"
    return handle


def _answered(asked: Endpoint, call: Call, given: dict[str, Any]) -> Response:
    try:
        found = asked.act(call, **given)
    finally:
        held = given.get("upload")
        if isinstance(held, Upload):
            held.stream.close()
    if isinstance(found, Response):
        return found
    if asked.status == 204:
        return Response(status_code=204)
    return Response(asked.adapter.dump_json(found), asked.status, media_type=JSON)
