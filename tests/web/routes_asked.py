"""Every route of the bench as a request: its parameters filled in, so that a new route is tested by itself."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from tests.web.bench import BenchClient

from twoturn.web.page import ANYONE, Page
from twoturn.web.routes import all_pages
from twoturn.web.security.roles import RANKS

PARAMETER = re.compile(r"\{(\w+):(\w+)\}")
FILLED = {
    "kind": "label",
    "size": "small",
    "name": "none.csv",
    "sha256": "0" * 64,
    "digest": "0",
    "path": "css/base.css",
}
SAFE = {"GET", "HEAD"}


@dataclass(frozen=True)
class Route:
    """One way to ask a page."""

    page: Page
    method: str

    def path(self, **given: str) -> str:
        """Its path with numbers 1 and the names of ``FILLED``, or what is given."""

        def fill(found: re.Match[str]) -> str:
            name, kind = found.groups()
            return given.get(name) or FILLED.get(name) or ("1" if kind == "int" else "x")

        return PARAMETER.sub(fill, self.page.path)

    @property
    def texts(self) -> tuple[str, ...]:
        """Its parameters that are texts, such as the name of a file."""
        return tuple(name for name, kind in PARAMETER.findall(self.page.path) if kind != "int")

    @property
    def changes(self) -> bool:
        """Whether it changes something."""
        return self.method not in SAFE

    def ask(self, client: BenchClient, path: str | None = None, **more: Any) -> Any:
        """Ask it; redirects are not followed."""
        return client.request(self.method, path or self.path(), follow_redirects=False, **more)

    def __str__(self) -> str:
        return f"{self.method} {self.page.path}"


ROUTES = tuple(Route(page, method) for page in all_pages() for method in page.methods)
CHANGING = tuple(route for route in ROUTES if route.changes)
LOOKING = tuple(route for route in ROUTES if route.method == "GET")
GUARDED = tuple(route for route in ROUTES if route.page.role != ANYONE)
NAMED = tuple(route for route in ROUTES if route.texts)


def too_low(route: Route) -> Iterator[str]:
    """Roles that may not ask a route."""
    yield from (role for role, rank in RANKS.items() if rank < RANKS[route.page.role])


def high_enough(route: Route) -> str:
    """The least role that may ask a route."""
    return "viewer" if route.page.role == ANYONE else route.page.role
