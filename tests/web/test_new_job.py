"""A new job in few taps, and the list of the open ones by what each waits for."""

from __future__ import annotations

import re
from html import unescape
from typing import Any

from tests.web.bench import BenchClient
from tests.web.test_job_page import begin

from twoturn.acts.shop.drives import ensure_shipped, library
from twoturn.acts.shop.job_view import job_view
from twoturn.acts.shop.jobs import held_job
from twoturn.acts.shop.people import Actor
from twoturn.acts.shop.shop import Shop


def _version(shop: Shop, name: str) -> int:
    return next(line.version_id for line in library(shop) if line.name.startswith(name))


def test_a_new_vehicle_is_made_with_its_job(client: BenchClient, shop: Shop) -> None:
    ensure_shipped(shop)
    page = client.get("/jobs/new", params={"registration": "qx 31-demo"})
    assert "This vehicle is new here." in page.text
    assert 'value="QX 31-DEMO"' in page.text
    fields = {"registration": "QX 31-DEMO", "drive": _version(shop, "Birch 16"), "model": "Birch 16, invented"}
    answer = client.form("/jobs/new", fields)
    assert answer.status_code == 303
    view = job_view(shop, int(answer.headers["location"].removeprefix("/jobs/")))
    assert (view.head.registration, view.head.model) == ("QX 31-DEMO", "Birch 16, invented")
    assert view.head.drive_name.startswith("Birch 16")


def test_a_known_vehicle_has_the_drive_of_last_time_chosen(client: BenchClient, shop: Shop, person: Actor) -> None:
    begin(shop, person, "Cedar D", "QX 31 DEMO")
    page = client.get("/jobs/new", params={"registration": "qx31demo"}).text
    assert re.search(rf'value="{_version(shop, "Cedar D")}" required checked', page)
    assert len(re.findall(r'name="drive"[^>]* checked', page)) == 1
    assert "Job 1 on this vehicle is open." in page


def test_a_second_tap_begins_no_second_job(client: BenchClient, shop: Shop) -> None:
    ensure_shipped(shop)
    fields = {"registration": "QX 31 DEMO", "drive": _version(shop, "Birch 16")}
    first = client.form("/jobs/new", fields).headers["location"]
    assert client.form("/jobs/new", fields).headers["location"] == first


def test_what_is_missing_is_said_and_what_was_typed_stays(client: BenchClient, shop: Shop) -> None:
    ensure_shipped(shop)
    answer = client.form("/jobs/new", {"registration": "QX 31 DEMO", "model": "Birch & sons"})
    assert answer.status_code == 422
    assert "Choose the belt drive." in answer.text
    assert 'value="Birch &amp; sons"' in answer.text
    refused = client.get("/jobs/new", params={"registration": "!!!"})
    assert refused.status_code == 422
    assert 'value="!!!"' in refused.text
    assert client.get("/jobs/new", follow_redirects=False).headers["location"] == "/"


def test_open_jobs_stand_by_what_they_wait_for(client: BenchClient, shop: Shop, person: Actor) -> None:
    assert "No job is open." in client.get("/").text
    begin(shop, person, "Birch 16", "QX 31 DEMO")
    begin(shop, person, "Cedar D", "QX 32 DEMO")
    page = client.get("/").text
    for number in (1, 2):
        assert f'href="/jobs/{number}"' in page
        assert job_view(shop, number).now.title in unescape(page)


def _begun(client: BenchClient, shop: Shop, fields: dict[str, object]) -> tuple[int, dict[str, Any]]:
    """Number of the vehicle of a job begun by the form, and the job's first entry."""
    place = client.form("/jobs/new", fields).headers["location"]
    held = held_job(shop, int(place.removeprefix("/jobs/")))
    return held.vehicle.id, held.file.raw[0]


def test_fuel_and_hybrid_are_asked_where_unknown_and_entered_only_where_said(client: BenchClient, shop: Shop) -> None:
    ensure_shipped(shop)
    fields: dict[str, object] = {"registration": "QX 14 DEMO", "drive": _version(shop, "Cedar")}
    car, entered = _begun(client, shop, fields)
    assert not {"fuel", "hybrid"} & set(entered)
    page = client.get("/jobs/new", params={"registration": "QX 14 DEMO"}).text
    assert 'name="fuel"' in page
    assert 'name="hybrid"' in page
    said = {"vehicle": car, "drive": _version(shop, "Birch 16"), "fuel": "petrol", "hybrid": "no"}
    _, entered = _begun(client, shop, said)
    assert (entered["fuel"], entered["hybrid"]) == ("petrol", False)
    page = client.get("/jobs/new", params={"registration": "QX 14 DEMO"}).text
    assert 'name="fuel"' not in page
    assert 'name="hybrid"' not in page
