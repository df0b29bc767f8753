"""The frame of the bench: first start, names it is asked by, forged forms, sizes, files of the package, errors."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import Page
from tests.web.bench import NAME, BenchClient, client_of

from twoturn.acts.shop.running import running_shop
from twoturn.acts.shop.shop import Shop
from twoturn.errors import TwoTurnError


def test_the_first_start_asks_for_a_name_and_nothing_else(shop: Shop) -> None:
    client = client_of(shop)
    asked = client.get("/")
    assert asked.url.path == "/set-up"
    assert "Your name?" in asked.text
    assert 'name="pin"' not in asked.text
    assert client.form("/set-up", {"name": "  "}).status_code == 422
    assert client.form("/set-up", {"name": " Ada   Field "}).headers["location"] == "/"
    assert NAME in client.get("/").text
    assert client.get("/set-up").url.path == "/"


@pytest.mark.parametrize("host", ["evil.example", "127.0.0.1.evil.example", "", "192.168.1.20", "[::2]"])
def test_on_loopback_only_loopback_names_are_answered(client: BenchClient, host: str) -> None:
    answer = client.get("/", headers={"host": host})
    assert answer.status_code == 421
    assert NAME not in answer.text


@pytest.mark.parametrize("host", ["127.0.0.1:8642", "localhost", "LOCALHOST:1", "[::1]:8642"])
def test_loopback_names_are_answered(client: BenchClient, host: str) -> None:
    assert client.get("/", headers={"host": host}).status_code == 200


def test_a_form_without_token_or_from_elsewhere_is_refused(client: BenchClient) -> None:
    assert client.post("/sign-out").status_code == 403
    assert client.post("/sign-out", data={"csrf": "0" * 64}).status_code == 403
    assert client.form("/sign-out", headers={"origin": "http://evil.example"}).status_code == 403
    assert client.form("/sign-out", headers={"origin": "null"}).status_code == 403
    assert client.form("/sign-out", headers={"sec-fetch-site": "cross-site"}).status_code == 403
    assert client.form("/sign-out", headers={"origin": "http://127.0.0.1:8642"}).status_code == 303


def test_too_much_is_refused(client: BenchClient) -> None:
    answer = client.form("/sign-out", {"x": "a" * 300_000})
    assert answer.status_code == 413
    assert "at most 200 kB" in answer.text


def test_what_is_not_there_is_said_as_page_and_as_json(client: BenchClient) -> None:
    page = client.get("/nowhere", headers={"accept": "text/html"})
    assert page.status_code == 404
    assert "There is no page" in page.text
    assert 'href="/vehicles"' in page.text
    assert NAME not in client.get("/nowhere", headers={"host": "evil.example"}).text
    answer = client.get("/nowhere", headers={"accept": "application/json"})
    assert answer.status_code == 404
    assert answer.json()["error"]["sentence"].startswith("There is no page")
    assert client.get("/static/x/../../app.py").status_code == 404
    assert client.get("/static/x/css/none.css").status_code == 404


def test_headers_let_nothing_in_from_outside(client: BenchClient) -> None:
    for path in ("/", "/nowhere", "/here"):
        headers = client.get(path).headers
        assert "default-src 'self'" in headers["content-security-policy"]
        assert "unsafe" not in headers["content-security-policy"]
        assert headers["x-content-type-options"] == "nosniff"
        assert headers["x-frame-options"] == "DENY"


def test_no_page_holds_a_script_or_style_of_its_own(client: BenchClient) -> None:
    text = client.get("/").text
    assert " style=" not in text
    assert "<style" not in text
    assert "<script>" not in text


@pytest.mark.parametrize("size", ["tablet", "phone"])
def test_the_first_page_in_a_browser(browser_page: Callable[..., Page], size: str) -> None:
    page = browser_page(size)
    page.goto("/")
    assert page.title() == "Jobs · twoturn"
    assert page.get_by_text(f"Here as {NAME}").is_visible()
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")


def test_a_start_takes_away_what_half_sent_files_have_left(tmp_path: Path) -> None:
    with running_shop(tmp_path / "data", "") as shop:
        old, new = shop.place.incoming / "old", shop.place.incoming / "new"
        for path in (old, new):
            path.write_bytes(b"half")
    os.utime(old, (0, 0))
    with running_shop(tmp_path / "data", ""):
        assert not old.exists()
        assert new.exists()


def test_one_bench_a_folder(tmp_path: Path) -> None:
    with (
        running_shop(tmp_path / "data", "http://127.0.0.1:1"),
        pytest.raises(TwoTurnError, match=r"a bench runs on .*127\.0\.0\.1:1"),
        running_shop(tmp_path / "data", ""),
    ):
        pass
    with running_shop(tmp_path / "data", ""):
        pass
