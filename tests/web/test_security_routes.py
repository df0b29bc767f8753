"""Every route, of pages and of the API, as the table of routes has them: who is refused, and what.

A new route is tested here by itself.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import ExitStack
from pathlib import Path

import pytest
from sqlalchemy import MetaData, Table, inspect, select
from starlette.requests import Request
from starlette.responses import Response
from tests.web.bench import BenchClient, client_of
from tests.web.routes_asked import CHANGING, GUARDED, LOOKING, NAMED, ROUTES, Route, high_enough, too_low
from tests.web.stocked import Stocked, open_copy, signed_in

from twoturn.web import app as bench_app
from twoturn.web.page import ANYONE, Page
from twoturn.web.routes import all_pages
from twoturn.web.security.headers import HEADERS
from twoturn.web.security.roles import RANKS

FORM = {"content-type": "application/x-www-form-urlencoded"}
TRICKS = (
    "..",
    "%2e%2e",
    "..%2f..%2f..%2fsecret.txt",
    "%2e%2e%2f%2e%2e%2fsecret.txt",
    "..%5c..%5csecret.txt",
    "..%252f..%252fsecret.txt",
    "%2fetc%2fpasswd",
    "secret.txt%00.csv",
    "%00",
    "css/../../../secret.txt",
    "css%2f..%2f..%2f..%2fapp.py",
    "%ff%fe",
    "%ef%bc%8e%ef%bc%8e%ef%bc%8fsecret.txt",
    "a" * 3000,
)
MARK = "what nobody may read from outside"


@pytest.fixture(scope="module")
def shop_here(stocked_record: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Stocked]:
    """One shop for this module; a file lies beside and in its folder that no route may give away."""
    folder = tmp_path_factory.mktemp("routes")
    with open_copy(stocked_record, folder / "data") as found:
        for place in (folder, folder / "data"):
            (place / "secret.txt").write_text(MARK)
        yield found


@pytest.fixture(scope="module")
def clients(shop_here: Stocked) -> Iterator[dict[str | None, BenchClient]]:
    """Somebody of each role, signed in, and nobody."""
    with ExitStack() as stack:
        yield {role: stack.enter_context(signed_in(shop_here.shop, role)) for role in (None, *RANKS)}


def test_the_table_has_a_role_for_every_page_and_few_are_open() -> None:
    assert {page.role for page in all_pages()} <= {ANYONE, *RANKS}
    opened = {page.path for page in all_pages() if page.role == ANYONE}
    assert opened == {"/static/{digest:str}/{path:path}", "/here", "/set-up", "/sign-in", "/sign-out", "/api/session"}


@pytest.mark.parametrize("route", GUARDED, ids=str)
def test_nobody_and_a_role_too_low_are_refused(clients: dict[str | None, BenchClient], route: Route) -> None:
    for role in too_low(route):
        client = clients[role]
        answer = route.ask(client, headers={"x-csrf": client.token()})
        assert answer.status_code == 403, role
        assert "this needs a" in answer.text
    answer = route.ask(clients[None], headers={"x-csrf": clients[None].token()})
    assert answer.status_code == 401


@pytest.mark.parametrize("route", ROUTES, ids=str)
def test_the_least_role_that_may_is_let_in_and_nothing_slips(
    clients: dict[str | None, BenchClient], route: Route
) -> None:
    if route.page.path == "/sign-out" or route.method == "DELETE":
        return  # it would sign out who asks; test_security_sign_in looks at it
    client = clients[high_enough(route)]
    answer = route.ask(client, headers={"x-csrf": client.token()})
    assert answer.status_code not in {401, 403}, answer.text[:500]
    assert answer.status_code < 500, answer.text[:500]


@pytest.mark.parametrize("route", CHANGING, ids=str)
def test_a_change_needs_the_token_of_the_one_who_asks_and_no_foreign_page(
    clients: dict[str | None, BenchClient], route: Route
) -> None:
    client = clients[high_enough(route)]
    token, foreign = client.token(), clients[None].token()
    assert token != foreign
    for wrong in ({}, {"x-csrf": ""}, {"x-csrf": "0" * 64}, {"x-csrf": foreign}, {"x-csrf": token.upper() + "é"}):
        assert route.ask(client, headers={k: v.encode() for k, v in wrong.items()}).status_code == 403, wrong
    for origin in (
        "http://evil.example",
        "null",
        "http://192.168.1.20",
        "http://192.168.1.20:8643",
    ):
        assert route.ask(client, headers={"x-csrf": token, "origin": origin}).status_code == 403, origin
    assert route.ask(client, headers={"x-csrf": token, "sec-fetch-site": "cross-site"}).status_code == 403
    assert route.ask(client, headers={"x-csrf": token, "sec-fetch-site": "same-site"}).status_code == 403
    wrong_form = route.ask(client, content=b"csrf=" + foreign.encode(), headers=FORM)
    assert wrong_form.status_code == 403


@pytest.mark.parametrize("lan", [True, False])
@pytest.mark.parametrize(
    "path", ["/", "/nowhere", "/here", "/sign-in", "/static/x/css/base.css", "/api/jobs", "/api/x"]
)
def test_under_a_name_that_was_bent_to_this_machine_nothing_is_answered(
    shop_here: Stocked, clients: dict[str | None, BenchClient], path: str, lan: bool
) -> None:
    with client_of(shop_here.shop) as loopback:
        client = clients["lead"] if lan else loopback
        for host in (
            "evil.example",
            "evil.example:8642",
            "127.0.0.1.evil.example",
            "localhost.evil.example",
            "a b",
            "::",
            "",
        ):
            answer = client.get(path, headers={"host": host}, follow_redirects=False)
            assert answer.status_code == 421, host
            assert "lead one" not in answer.text
            assert "twoturn" not in answer.headers.get("set-cookie", "")


@pytest.mark.parametrize("route", CHANGING, ids=str)
def test_too_much_is_refused_when_announced_and_while_it_comes(
    clients: dict[str | None, BenchClient], route: Route
) -> None:
    client, limit = clients[high_enough(route)], route.page.limit_bytes
    headers = {"x-csrf": client.token()}
    announced = route.ask(client, content=b"", headers=headers | {"content-length": str(limit + 1)})
    assert announced.status_code == 413
    assert route.ask(client, content=b"", headers=headers | {"content-length": "-1"}).status_code in {400, 413}
    if limit > 3_000_000:
        return  # the same layer counts; a larger body would only take long

    def body() -> Iterator[bytes]:
        yield b"csrf="
        for _ in range(limit // 10_000 + 1):
            yield b"a" * 10_000

    assert route.ask(client, content=body(), headers=FORM).status_code == 413


@pytest.mark.parametrize("route", NAMED, ids=str)
def test_no_trick_in_a_path_leads_out_of_its_folder(clients: dict[str | None, BenchClient], route: Route) -> None:
    client = clients["lead"]
    for name in route.texts:
        for trick in TRICKS:
            answer = route.ask(client, route.path(**{name: trick}), headers={"x-csrf": client.token()})
            assert answer.status_code < 500, (name, trick, answer.text[:300])
            assert MARK.encode() not in answer.content
            assert b"root:" not in answer.content
            assert b"SQLite format" not in answer.content
            assert "location" not in answer.headers or answer.headers["location"].startswith("/jobs/")


@pytest.mark.parametrize("route", ROUTES, ids=str)
def test_numbers_that_no_row_can_have_are_not_there(clients: dict[str | None, BenchClient], route: Route) -> None:
    if ":int}" not in route.page.path:
        return
    client = clients["lead"]
    names = [part.strip("{}").partition(":")[0] for part in route.page.path.split("/") if part.endswith(":int}")]
    for number in ("9" * 30, str(2**31), str(2**63), "0"):
        answer = route.ask(client, route.path(**dict.fromkeys(names, number)), headers={"x-csrf": client.token()})
        assert answer.status_code in {404, 422, 400, 409, 415}, (number, answer.text[:300])


def _has_headers(answer: object) -> None:
    headers = answer.headers  # type: ignore[attr-defined]
    assert {name: headers.get(name) for name in HEADERS} == HEADERS
    assert "server" not in headers
    policy = headers["content-security-policy"]
    assert "unsafe" not in policy
    assert "http" not in policy
    assert "*" not in policy


@pytest.mark.parametrize("route", LOOKING, ids=str)
def test_every_answer_has_the_headers_that_let_nothing_in(clients: dict[str | None, BenchClient], route: Route) -> None:
    for role in (None, "lead"):
        answer = route.ask(clients[role])
        _has_headers(answer)
        if not route.page.bare:
            assert "no-cache" in answer.headers["cache-control"] or "no-store" in answer.headers["cache-control"]


def test_refusals_and_slips_have_them_too(shop_here: Stocked, monkeypatch: pytest.MonkeyPatch) -> None:
    async def slip(_: Request) -> Response:
        raise RuntimeError(MARK)

    more = (Page("/slip", slip, ANYONE), Page("/bare-slip", slip, ANYONE, bare=True))
    monkeypatch.setattr(bench_app, "all_pages", lambda: (*all_pages(), *more))
    with client_of(shop_here.shop) as client:
        token = {"x-csrf": client.token()}
        answers = {
            404: client.get("/nowhere"),
            405: client.delete("/"),
            403: client.post("/sign-out"),
            413: client.post("/sign-out", content=b"a" * 300_000, headers=token),
            421: client.get("/", headers={"host": "evil.example"}),
            415: client.post("/api/drives", content=b"x", headers=token),
            400: client.post("/sign-out", content=b"", headers=token | {"content-length": "x"}),
        }
        for status, answer in answers.items():
            assert answer.status_code == status
            _has_headers(answer)
        assert "GET" in answers[405].headers["allow"]
        for path in ("/slip", "/bare-slip"):
            answer = client.get(path)
            assert answer.status_code == 500
            assert MARK not in answer.text
            _has_headers(answer)


def test_nothing_that_is_only_looked_at_changes_the_record(
    shop_here: Stocked, clients: dict[str | None, BenchClient]
) -> None:
    def state() -> dict[str, list[tuple[object, ...]]]:
        with shop_here.shop.reading() as connection:
            tables = {
                name: Table(name, MetaData(), autoload_with=connection)
                for name in inspect(connection).get_table_names()
            }
            return {name: [tuple(row) for row in connection.execute(select(table))] for name, table in tables.items()}

    before = state()
    for route in LOOKING:
        route.ask(clients["lead"])
    assert state() == before
