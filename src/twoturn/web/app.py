"""The bench as an application: routes behind their guards, layers around them, what is shared by all requests."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.routing import Route

from twoturn.acts.shop.held import Held
from twoturn.errors import TwoTurnError
from twoturn.web.analyses import Analyses
from twoturn.web.answers import told, told_http
from twoturn.web.guard import Guarded, OnlyOurNames
from twoturn.web.mode import Mode
from twoturn.web.routes import all_pages
from twoturn.web.security.headers import SecurityHeaders
from twoturn.web.workers import Workers

if TYPE_CHECKING:
    from twoturn.acts.shop.shop import Shop


@dataclass(frozen=True)
class Bench:
    """What all requests share: ``request.app.state.bench``.

    Attributes
    ----------
    shop
        The shop's record.
    mode
        How the bench is served.
    workers
        The worker process for recordings.
    added
        What forms added, by their keys, so that one sent twice adds once.
    """

    shop: Shop
    mode: Mode
    workers: Workers = field(default_factory=Workers)
    added: Held = field(default_factory=lambda: Held(2000))


def make_app(shop: Shop, mode: Mode | None = None) -> Starlette:
    """The bench over one shop's record; without a mode as safe as it gets: loopback, one person."""
    bench = Bench(shop, mode or Mode())
    analyses = Analyses(bench.workers)

    @asynccontextmanager
    async def lifespan(_: Starlette) -> AsyncIterator[None]:
        yield
        analyses.close()
        bench.workers.close()

    app = Starlette(
        routes=[Route(page.path, Guarded(page), methods=list(page.methods), name=page.name) for page in all_pages()],
        middleware=[Middleware(SecurityHeaders), Middleware(OnlyOurNames)],
        exception_handlers={TwoTurnError: told, HTTPException: told_http},
        lifespan=lifespan,
    )
    app.state.bench, app.state.analyses = bench, analyses
    return app
