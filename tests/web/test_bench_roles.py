"""Every route of the bench refuses who may not: nobody signed in, and each role below the one it needs."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest
from tests.web.bench import BenchClient, client_of

from twoturn.acts.shop.people import PersonChange, add_person, change_person, people, set_up
from twoturn.acts.shop.shop import Shop, open_shop
from twoturn.web.mode import Mode
from twoturn.web.page import ANYONE, Page
from twoturn.web.routes import all_pages
from twoturn.web.security.roles import RANKS

ADDRESS = "http://192.168.7.5:8642"
OPEN = {"/api/session", "/here", "/set-up", "/sign-in", "/sign-out"}
"""The only pages that need no sign-in."""
PINS = {"viewer": "40917", "trainee": "40918", "technician": "40919", "lead": "40920"}
ENDS_THE_SIGN_IN = {"/sign-out", "/who/pin"}


@pytest.fixture(scope="module")
def people_shop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Shop]:
    """A shop with one person in each role."""
    with open_shop(tmp_path_factory.mktemp("roles") / "data") as shop:
        lead = set_up(shop, "lead", PINS["lead"])
        for role in ("viewer", "trainee", "technician"):
            add_person(shop, lead, role, role, PINS[role])
        yield shop


@pytest.fixture(scope="module")
def clients(people_shop: Shop) -> Iterator[dict[str, BenchClient]]:
    """A client for each role, signed in, and one for nobody."""
    made = {role: client_of(people_shop, Mode(lan=True), ADDRESS) for role in (*RANKS, "")}
    for role, client in made.items():
        if role:
            assert client.form("/sign-in", {"name": role, "pin": PINS[role]}).status_code == 303
    yield made
    for client in made.values():
        client.close()


def _routes() -> list[Page]:
    return [page for page in all_pages() if not page.bare]


def _path(page: Page) -> str:
    return re.sub(r"{(\w+)(?::\w+)?}", "1", page.path)


def _ask(client: BenchClient, page: Page) -> int:
    method = page.methods[0]
    headers = {"x-csrf": client.token(), "accept": "application/json"}
    return int(client.request(method, _path(page), headers=headers, follow_redirects=False).status_code)


def test_only_these_pages_are_open() -> None:
    assert {page.path for page in _routes() if page.role == ANYONE} == OPEN


@pytest.mark.parametrize("page", _routes(), ids=lambda page: f"{page.methods[0]} {page.path}")
def test_a_route_refuses_who_may_not(clients: dict[str, BenchClient], page: Page) -> None:
    if page.role == ANYONE:
        return
    assert _ask(clients[""], page) == 401
    for role, rank in RANKS.items():
        if rank < RANKS[page.role]:
            assert _ask(clients[role], page) == 403, role
    if page.path not in ENDS_THE_SIGN_IN:
        assert _ask(clients["lead"], page) not in {401, 403}


@pytest.mark.parametrize("page", _routes(), ids=lambda page: f"{page.methods[0]} {page.path}")
def test_what_changes_something_needs_the_token(clients: dict[str, BenchClient], page: Page) -> None:
    if page.methods[0] == "GET":
        return
    answer = clients["lead"].request(page.methods[0], _path(page), headers={"accept": "application/json"})
    assert answer.status_code == 403


def test_a_role_is_looked_up_at_every_request(people_shop: Shop) -> None:
    lead = next(one for one in people(people_shop) if one.role == "lead")
    other = add_person(people_shop, lead, "Mo Ash", "lead", "83620")
    with client_of(people_shop, Mode(lan=True), ADDRESS) as client:
        client.form("/sign-in", {"name": "Mo Ash", "pin": "83620"})
        assert client.get("/people").status_code == 200
        change_person(people_shop, lead, other.id, PersonChange(role="viewer"))
        assert client.get("/people").status_code == 403
        change_person(people_shop, lead, other.id, PersonChange(active=False))
        assert client.get("/more").status_code == 401
