"""Signing in: guessing is held back, the cookie is out of reach, and nobody is sent to another site."""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import select
from tests.web.bench import BenchClient, client_of
from tests.web.stocked import LAN_ADDRESS, PINS, Stocked, signed_in

from twoturn.acts.shop.people import ADDRESS_FAILURES, set_up
from twoturn.acts.shop.shop import Shop, open_shop
from twoturn.store.records.people import add_attempt
from twoturn.store.tables import ATTEMPT
from twoturn.web.mode import Mode
from twoturn.web.security.setup_code import TRIES, SetUpCode

LAN = Mode(lan=True)
TLS = Mode(lan=True, tls=True)


def attempt(client: BenchClient, name: str, pin: str, **more: Any) -> Any:
    """Sign in by the page's form."""
    return client.form("/sign-in", {"name": name, "pin": pin}, **more)


def test_guessing_is_held_back_for_the_right_pin_too_and_after_a_restart(stocked: Stocked) -> None:
    with client_of(stocked.shop, LAN, LAN_ADDRESS) as client:
        statuses = [attempt(client, "lead one", f"90{at:02d}").status_code for at in range(8)]
        assert statuses == [422] * 5 + [429] * 3
        assert attempt(client, "LEAD one", PINS["lead"]).status_code == 429
        answer = client.post(
            "/api/session", json={"name": " lead one", "pin": PINS["lead"]}, headers={"x-csrf": client.token()}
        )
        assert answer.status_code == 429
        assert "wait" in answer.json()["error"]["next_step"]
        assert attempt(client, "viewer one", PINS["viewer"]).status_code == 303
    with open_shop(stocked.shop.place.folder) as again, client_of(again, LAN, LAN_ADDRESS) as client:
        assert attempt(client, "lead one", PINS["lead"]).status_code == 429


def test_the_wait_ends_and_the_right_pin_ends_the_count(stocked: Stocked) -> None:
    now = [datetime.now(UTC)]
    with (
        open_shop(stocked.shop.place.folder, clock=lambda: now[0]) as shop,
        client_of(shop, LAN, LAN_ADDRESS) as client,
    ):
        for _ in range(5):
            attempt(client, "lead one", "9000")
        assert attempt(client, "lead one", PINS["lead"]).status_code == 429
        now[0] += timedelta(seconds=31)
        assert attempt(client, "lead one", PINS["lead"]).status_code == 303
        assert attempt(client, "lead one", "9000").status_code == 422


def test_one_address_cannot_go_through_all_names(stocked: Stocked) -> None:
    with client_of(stocked.shop, LAN, LAN_ADDRESS) as client:
        assert attempt(client, "nobody", "9000").status_code == 422
        with stocked.shop.writing() as connection:
            address = connection.scalar(select(ATTEMPT.c.address).where(ATTEMPT.c.name == "nobody"))
            for at in range(ADDRESS_FAILURES):
                add_attempt(connection, f"nobody {at}", address, False, stocked.shop.now())
        assert attempt(client, "lead one", PINS["lead"]).status_code == 429


def test_a_wrong_name_and_a_wrong_pin_are_told_alike(stocked: Stocked) -> None:
    with client_of(stocked.shop, LAN, LAN_ADDRESS) as client:
        token = {"x-csrf": client.token()}
        told = [
            client.post("/api/session", json={"name": name, "pin": "9000"}, headers=token).json()
            for name in ("lead one", "nobody at all")
        ]
        assert told[0] == told[1]


@pytest.mark.parametrize(("mode", "address"), [(LAN, LAN_ADDRESS), (TLS, LAN_ADDRESS.replace("http:", "https:"))])
def test_the_cookie_is_out_of_reach_of_scripts_and_other_sites(stocked: Stocked, mode: Mode, address: str) -> None:
    with client_of(stocked.shop, mode, address) as client:
        first = client.get("/here").headers["set-cookie"]
        signed = attempt(client, "lead one", PINS["lead"]).headers["set-cookie"]
        for cookie in (first, signed):
            parts = {part.strip().lower() for part in cookie.split(";")[1:]}
            assert {"httponly", "samesite=strict", "path=/"} <= parts
            assert ("secure" in parts) == mode.tls
            assert cookie.startswith("__Host-twoturn=" if mode.tls else "twoturn=")
            assert not any(part.startswith("domain") for part in parts)
        assert first.split(";")[0] != signed.split(";")[0]


def test_a_sign_in_ends_with_signing_out_a_new_pin_and_leaving(stocked: Stocked) -> None:
    for path, change in (("/sign-out", {}), ("pin", {"pin": "482913"}), ("active", {"active": False})):
        with signed_in(stocked.shop, "viewer") as client, signed_in(stocked.shop, "lead") as lead:
            assert client.get("/api/jobs").status_code == 200
            held = dict(client.cookies)
            if path == "/sign-out":
                client.form("/sign-out")
            else:
                token = {"x-csrf": lead.token()}
                who = next(one for one in lead.get("/api/people").json() if one["name"] == "viewer one")
                assert lead.put(f"/api/people/{who['id']}", json=change, headers=token).status_code == 200
            client.cookies.clear()
            client.cookies.update(held)
            assert client.get("/api/jobs").status_code == 401
        if path == "pin":
            _put_pin_back(stocked)


def _put_pin_back(stocked: Stocked) -> None:
    with signed_in(stocked.shop, "lead") as lead:
        who = next(one for one in lead.get("/api/people").json() if one["name"] == "viewer one")
        answer = lead.put(f"/api/people/{who['id']}", json={"pin": PINS["viewer"]}, headers={"x-csrf": lead.token()})
        assert answer.status_code == 200


def test_a_cookie_that_somebody_made_up_is_nobody(stocked: Stocked) -> None:
    with client_of(stocked.shop, LAN, LAN_ADDRESS) as client:
        for value in ("a" * 43, "../../x" * 10, "1", "%00" * 20):
            client.cookies.clear()
            client.cookies.set("twoturn", value)
            assert client.get("/api/jobs").status_code == 401


@pytest.mark.parametrize(
    "path",
    [
        "http://evil.example/",
        "//evil.example/",
        "/\\evil.example",
        "/\t/evil.example",
        "\\\\evil.example",
        "https:evil.example",
        "javascript:alert(1)",
        "/jobs\r\nset-cookie: a=b",
        " //evil.example",
        "",
    ],
)
def test_signing_in_leads_to_no_other_site(stocked: Stocked, path: str) -> None:
    kept = json.dumps({"path": path, "fields": None, "lost_files": []})
    with client_of(stocked.shop, LAN, LAN_ADDRESS) as client:
        answer = attempt(client, "lead one", PINS["lead"])
        assert answer.status_code == 303
        answer = client.form("/sign-in", {"name": "lead one", "pin": PINS["lead"], "kept": kept})
        assert answer.status_code == 303
        assert answer.headers["location"] == "/"
        assert len(answer.headers.get_list("set-cookie")) == 1
        kept_form = json.dumps({"path": path, "fields": [["a", "b"]], "lost_files": []})
        answer = client.form("/sign-in", {"name": "lead one", "pin": PINS["lead"], "kept": kept_form})
        assert "evil.example" not in answer.text


def test_what_was_typed_before_the_sign_in_was_lost_is_escaped(stocked: Stocked) -> None:
    typed = '"><script>alert(1)</script>'
    with client_of(stocked.shop, LAN, LAN_ADDRESS) as client:
        asked = client.form("/vehicles/new", {"registration": typed})
        assert asked.status_code == 401
        assert "<script>" not in asked.text
        kept = json.dumps({"path": "/vehicles/new", "fields": [["registration", typed]], "lost_files": [typed]})
        answer = client.form("/sign-in", {"name": "lead one", "pin": PINS["lead"], "kept": kept})
        assert answer.status_code == 200
        assert "<script>" not in answer.text
        assert "&lt;script&gt;" in answer.text


def test_the_first_start_on_a_network_asks_for_the_code_and_few_guesses_are_left(shop: Shop) -> None:
    code = SetUpCode("12345678")
    fields = {"name": "Ada Field", "pin": "583214", "pin_again": "583214"}
    with client_of(shop, Mode(lan=True, setup_code=code), LAN_ADDRESS) as client:
        assert client.get("/api/jobs").status_code == 401
        for at in range(TRIES):
            assert client.form("/set-up", {**fields, "code": f"{at:08d}"}).status_code == 422
        answer = client.form("/set-up", {**fields, "code": "12345678"})
        assert answer.status_code == 422
        assert "void" in answer.text
    with client_of(shop, LAN, LAN_ADDRESS) as client:
        assert client.form("/set-up", {**fields, "code": ""}).status_code == 403


def test_a_bench_that_is_set_up_is_not_set_up_again(shop: Shop, tmp_path: Path) -> None:
    set_up(shop, "Ada Field", "583214")
    with client_of(shop, Mode(lan=True, setup_code=SetUpCode("12345678")), LAN_ADDRESS) as client:
        answer = client.form("/set-up", {"name": "Eve", "pin": "994411", "pin_again": "994411", "code": "12345678"})
        assert answer.headers["location"] == "/sign-in"
        assert attempt(client, "Eve", "994411").status_code == 422
