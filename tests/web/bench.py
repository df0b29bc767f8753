"""A bench for tests: a shop in a folder of its own, its pages asked directly or through Chromium."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page
from starlette.testclient import TestClient

from twoturn.acts.shop.certificate import Certificate
from twoturn.acts.shop.people import Actor, work_alone
from twoturn.acts.shop.shop import Shop, open_shop
from twoturn.web.app import make_app
from twoturn.web.mode import Mode
from twoturn.web.serve import server_of, taken

SIZES = {"tablet": {"width": 1024, "height": 768}, "phone": {"width": 360, "height": 800}}
NAME = "Ada Field"
ADDRESS = "http://127.0.0.1:8642"


class BenchClient(TestClient):
    """Asks the bench without a network; :meth:`form` sends a form as a page of the bench would."""

    def token(self) -> str:
        """The token for forms."""
        return str(self.get("/here").json()["csrf"])

    def form(self, path: str, fields: dict[str, Any] | None = None, **more: Any) -> Any:
        """Send a form with its token; redirects are not followed."""
        return self.post(path, data={"csrf": self.token(), **(fields or {})}, follow_redirects=False, **more)


def client_of(shop: Shop, mode: Mode | None = None, address: str = ADDRESS) -> BenchClient:
    """A client of a bench over ``shop``."""
    return BenchClient(make_app(shop, mode), base_url=address, raise_server_exceptions=False)


@dataclass(frozen=True)
class RunningBench:
    """A bench that answers on a port of this machine.

    Attributes
    ----------
    url
        Its address, without a slash at the end.
    shop
        Its record.
    actor
        The one person who works there.
    """

    url: str
    shop: Shop
    actor: Actor


@contextmanager
def running(
    shop: Shop, mode: Mode | None = None, certificate: Certificate | None = None, port: int = 0
) -> Iterator[str]:
    """Address of a bench over ``shop``, served from a thread while the block runs; on any free port where it is 0."""
    with taken("127.0.0.1", port) as listening:
        server = server_of(make_app(shop, mode), certificate)
        thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]}, daemon=True)
        thread.start()
        until = time.monotonic() + 20
        while not server.started:
            assert thread.is_alive(), "the bench has not started"
            assert time.monotonic() < until, "the bench has not started in 20 s"
            time.sleep(0.01)
        yield f"{'https' if certificate else 'http'}://127.0.0.1:{listening.getsockname()[1]}"
        server.should_exit = True
        thread.join(20)
        assert not thread.is_alive(), "the bench has not stopped"


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[Shop]:
    """An empty shop's record in a folder of its own."""
    with open_shop(tmp_path / "data") as opened:
        yield opened


@pytest.fixture
def person(shop: Shop) -> Actor:
    """The one person who works alone in that shop."""
    return work_alone(shop, NAME)


@pytest.fixture
def client(shop: Shop, person: Actor) -> Iterator[BenchClient]:
    """A client of the bench of one person."""
    with client_of(shop) as asking:
        yield asking


@pytest.fixture
def bench(shop: Shop, person: Actor) -> Iterator[RunningBench]:
    """A bench of one person, running."""
    with running(shop) as url:
        yield RunningBench(url, shop, person)


@pytest.fixture
def slips() -> list[str]:
    """What scripts and browser complained of in the console; whoever expects a complaint takes it out again."""
    return []


@pytest.fixture
def browser_page(bench: RunningBench, chromium: Browser, slips: list[str]) -> Iterator[Callable[..., Page]]:
    """``browser_page("tablet")`` or ``("phone")``: a page at the bench; a slip of a script fails the test."""
    contexts = []

    def made(size: str = "tablet", **options: Any) -> Page:
        context = chromium.new_context(viewport=SIZES[size], base_url=bench.url, **options)  # type: ignore[arg-type]
        context.set_default_timeout(30_000)
        contexts.append(context)
        page = context.new_page()
        page.on("pageerror", lambda error: slips.append(str(error)))
        page.on("console", lambda said: slips.append(said.text) if said.type == "error" else None)
        return page

    yield made
    for context in contexts:
        context.close()
    assert not slips
