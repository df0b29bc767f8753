"""Settings, people and what the bench says about itself."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect
from tests.web.bench import NAME, BenchClient

from twoturn.acts.shop.about import about_page
from twoturn.acts.shop.people import people
from twoturn.acts.shop.record import backup
from twoturn.acts.shop.settings import settings
from twoturn.acts.shop.shop import Shop


def test_the_shops_name_is_kept(client: BenchClient, shop: Shop) -> None:
    typed = {"shop_name": "Invented & Sons", "address": "1 No Street\nNowhere", "telephone": "0", "units": "imperial"}
    assert client.form("/settings/shop", typed).status_code == 303
    assert (settings(shop).shop_name, settings(shop).units) == ("Invented & Sons", "imperial")
    assert "Invented &amp; Sons" in client.get("/settings").text
    wrong = client.form("/settings/shop", typed | {"shop_name": "x" * 100, "units": "cubits"})
    assert wrong.status_code == 422
    assert "x" * 100 in wrong.text
    assert settings(shop).shop_name == "Invented & Sons"


def test_light_and_dark_are_kept_on_the_device(client: BenchClient) -> None:
    assert 'data-theme="system"' in client.get("/settings").text
    client.form("/settings/device", {"theme": "dark", "units": "imperial"})
    assert 'data-theme="dark"' in client.get("/settings").text
    client.form("/settings/device", {"theme": "../x", "units": ""})
    assert 'data-theme="system"' in client.get("/settings").text


def test_dark_is_dark_in_a_browser(browser_page: Callable[..., Page]) -> None:
    page = browser_page("phone", color_scheme="light")
    page.goto("/settings")
    light = page.evaluate("getComputedStyle(document.body).backgroundColor")
    page.get_by_label("Dark").check()
    page.get_by_role("button", name="Keep for this device").click()
    expect(page.get_by_role("status")).to_have_text("Kept.")
    assert page.evaluate("getComputedStyle(document.body).backgroundColor") != light


def test_people_are_let_in_changed_and_leave(client: BenchClient, shop: Shop) -> None:
    assert client.form("/people", {"name": "Oona Fell", "role": "trainee"}).status_code == 303
    oona = next(one for one in people(shop) if one.name == "Oona Fell")
    change = {"name": "Oona Fell", "role": "technician", "pin": "90817", "here": "yes"}
    assert client.form(f"/people/{oona.id}", change).status_code == 303
    assert client.form(f"/people/{oona.id}", change | {"pin": "1111"}).status_code == 422
    oona = next(one for one in people(shop) if one.id == oona.id)
    assert (oona.role, oona.has_pin, oona.active) == ("technician", True, True)
    client.form(f"/people/{oona.id}", {"here": "no"})
    assert not next(one for one in people(shop) if one.id == oona.id).active
    assert client.get("/people/99").status_code == 404


def test_the_last_lead_stays(client: BenchClient, shop: Shop) -> None:
    me = people(shop)[0]
    answer = client.form(f"/people/{me.id}", {"name": NAME, "role": "viewer", "here": "yes"})
    assert answer.status_code == 422
    assert "no lead would be left" in answer.text.lower()


def test_somebody_else_goes_on(client: BenchClient) -> None:
    assert client.form("/who", {"other": "Per Holm"}).status_code == 303
    assert "Here as <strong>Per Holm</strong>" in client.get("/more").text
    client.form("/who", {"name": NAME, "other": ""})
    assert f"Here as <strong>{NAME}</strong>" in client.get("/more").text


def test_a_missing_or_old_backup_is_told(client: BenchClient, shop: Shop, tmp_path: Path) -> None:
    assert "No backup was ever made" in client.get("/about").text
    backup(shop, tmp_path / "kept.twoturn")
    text = client.get("/about").text
    assert "No backup" not in text
    assert "kept.twoturn" in text
    assert about_page(shop).backup_days == 0
    held, start = shop.clock, shop.now()
    object.__setattr__(shop, "clock", lambda: start + timedelta(days=8))
    assert about_page(shop).backup_due
    object.__setattr__(shop, "clock", held)


@pytest.mark.parametrize(
    ("asked", "words", "ok"),
    [
        ({"text": "12,5", "unit": "mm"}, "12.5 mm", True),
        ({"text": "118.400", "unit": "km", "whole": "yes"}, "118400 km", True),
        ({"text": "18 ft-lb", "unit": "N·m"}, "18 lbf·ft = 24.4047 N·m", True),
        ({"text": "1.234", "unit": "mm"}, "1.234", False),
        ({"text": "12 mm", "unit": "N·m"}, "length", False),
        ({"text": "9", "unit": "-", "low": "1", "high": "5"}, "cannot be right", False),
    ],
)
def test_a_number_is_told_back(client: BenchClient, asked: dict[str, str], words: str, ok: bool) -> None:
    answer = client.get("/understood", params=asked).json()
    assert answer["ok"] is ok
    assert words in answer["words"]


def test_an_unknown_unit_is_a_slip_of_the_page(client: BenchClient) -> None:
    assert client.get("/understood", params={"text": "1", "unit": "cubits"}).status_code == 400
