"""The tensioner's travel on the page against the rest position that the mechanics find for a file set that way."""

from __future__ import annotations

import math
import random
from typing import Any

import numpy as np
import pytest
from playwright.sync_api import Page

from twoturn.acts.drive_files import shipped_drives
from twoturn.acts.live_drive import live_drive, live_json
from twoturn.drive.load import read_drive
from twoturn.mechanics.answers.band import friction_band_n
from twoturn.mechanics.belt import belt_at_rest
from twoturn.mechanics.spread.at_pointer import tension_u_n
from twoturn.mechanics.spread.montecarlo import spread_of_rest


def _travel(text: str, belt: str | None = None, temperature_c: float | None = None) -> dict[str, Any]:
    belts = live_json(live_drive(read_drive(text, "x"), temperature_c))["belts"]
    row = next(row for row in belts if belt in (None, row["id"]))
    found: dict[str, Any] = row["tensioners"][0]["travel"]
    return found


def _with_key(text: str, after: str, line: str) -> str:
    assert text.count(after) == 1
    return text.replace(after, f"{after}\n{line}")


@pytest.mark.parametrize("warmer_k", [0.0, 60.0])
def test_a_turned_setting_eccentric_stands_where_a_file_that_says_so_rests(warmer_k: float) -> None:
    text = shipped_drives()["birch-two-cams"]
    reference = 20.0
    travel = _travel(text, temperature_c=reference + warmer_k)
    for row in random.Random(5).sample(range(len(travel["setting"])), 12):
        told = _with_key(text, "adjuster_mm = 4.5", f"adjuster_deg = {travel['setting'][row]:.9f}")
        drive = read_drive(told, "x")
        rest = belt_at_rest(drive, drive.belts[0], warmer_k).tensioners[0]
        assert travel["pointer"][row] == pytest.approx(rest.rest.pointer, abs=1e-6)
        assert travel["tension_n"][row] == pytest.approx(rest.rest.tension_n, abs=1e-5)


def test_a_roller_turned_by_hand_pulls_what_a_file_that_says_so_pulls() -> None:
    text = shipped_drives()["alder-one-cam"]
    travel = _travel(text)
    for row in random.Random(5).sample(range(len(travel["setting"])), 12):
        told = _with_key(text, "notch_deg = 40.0", f"set_deg = {travel['setting'][row]:.9f}")
        drive = read_drive(told, "x")
        assert travel["tension_n"][row] == pytest.approx(belt_at_rest(drive, drive.belts[0]).tension_n, abs=1e-5)


@pytest.mark.parametrize("name", sorted(set(shipped_drives()) - {"damson-rotary-pump"}))
def test_the_place_of_rest_is_the_one_of_the_mechanics(name: str) -> None:
    drive = read_drive(shipped_drives()[name], name)
    for belt in drive.belts:
        travel, rest = _travel(shipped_drives()[name], belt.id), belt_at_rest(drive, belt)
        at = travel["rest"]
        assert travel["pointer"][at] == pytest.approx(rest.tensioners[0].rest.pointer, abs=1e-6)
        assert travel["tension_n"][at] == pytest.approx(rest.tension_n, rel=1e-7)
        assert rest.shape is not None
        centre = rest.shape.centres[[pulley.id for pulley in belt.pulleys].index(belt.tensioners[0].pulley)]
        assert complex(travel["x"][at], travel["y"][at]) == pytest.approx(complex(centre), abs=1e-6)


def test_a_longer_belt_moves_a_sprung_arm_as_its_travel_says() -> None:
    """Another length of belt rests at another pointer: there the travel gives the tension that the mechanics give."""
    text = shipped_drives()["cedar-common-rail"]
    travel = _travel(text)
    for error in (-0.6, -0.2, 0.3, 0.7):
        drive = read_drive(_with_key(text, "stiffness_n = 420e3", f"length_error_mm = {error}"), "x")
        rest = belt_at_rest(drive, drive.belts[0]).tensioners[0].rest
        order = np.argsort(travel["pointer"])
        told = np.interp(rest.pointer, np.array(travel["pointer"])[order], np.array(travel["tension_n"])[order])
        assert told == pytest.approx(rest.tension_n, rel=1e-4)


def test_the_uncertainty_is_that_of_draws_and_of_friction() -> None:
    """At the notch of an automatic roller: draws of every tolerance, and the friction's rectangle beside them."""
    drive = read_drive(shipped_drives()["birch-two-cams"], "x")
    drawn = spread_of_rest(drive, drive.belts[0], np.random.default_rng(3), draws=40_000)
    resting = belt_at_rest(drive, drive.belts[0]).tensioners[0]
    low, high = friction_band_n(resting.stand, resting.rest, 0.0)
    assert low is not None
    assert high is not None
    friction = (high - low) / 2 / math.sqrt(3)
    here = np.array([0.0]), np.array([resting.rest.adjuster_deg])
    u = float(tension_u_n(resting.stand, *here, 0.0)[0])
    assert math.sqrt(u**2 - friction**2) == pytest.approx(drawn.tension_u_n, rel=0.12)
    travel = _travel(shipped_drives()["birch-two-cams"])
    assert travel["u95_n"][travel["rest"]] == pytest.approx(1.96 * u, rel=1e-6)


def test_what_is_said_at_each_place() -> None:
    travel = _travel(shipped_drives()["birch-two-cams"])
    assert travel["said"][travel["rest"]] == "299 ± 34 N, in the notch"
    assert travel["said"][0].endswith("past the notch, outside what is allowed")
    assert travel["said"][-1].endswith("short of the notch, outside what is allowed")
    assert any(said.endswith("past the notch, allowed") for said in travel["said"])
    narrow = shipped_drives()["birch-two-cams"].replace("stops_deg = [-35.0, 35.0]", "stops_deg = [-12.0, 12.0]")
    stopped = _travel(narrow)
    assert stopped["said"][0].startswith("On its high stop: ")
    assert stopped["said"][-1].startswith("On its low stop: the belt pulls ")
    assert stopped["u95_n"][0] is None
    assert (stopped["stop"][0], stopped["stop"][-1]) == (1, -1)
    ram = _travel(shipped_drives()["fir-vee-six"])
    assert ram["said"][ram["rest"]].endswith("the ram stands out 9 mm")
    roller = _travel(shipped_drives()["alder-one-cam"])
    assert roller["said"][0] == "The belt is slack, turned 30° looser than it is set"


def test_the_slider_moves_pulley_belt_and_words(drive_page: Page) -> None:
    travel = _travel(shipped_drives()["birch-two-cams"])
    drive_page.goto("/birch-two-cams")
    slider = drive_page.get_by_role("slider", name="Turn the setting eccentric")
    assert slider.get_attribute("aria-valuetext") == f"{travel['said'][travel['rest']]}."
    before = drive_page.locator(".drive-picture .belt").nth(2).get_attribute("d")
    slider.focus()
    for _ in range(3):
        drive_page.keyboard.press("ArrowRight")
    row = travel["rest"] + 3
    assert drive_page.inner_text(".tension") == f"{travel['said'][row]}."
    assert drive_page.locator(".drive-picture .belt").nth(2).get_attribute("d") != before
    centre = drive_page.evaluate(
        "(() => { const d = document.querySelector('[data-live-drive]').liveDrive.drawings[0];"
        "return d.laid.centres[d.belt.pulleys.findIndex(p => p.tensioner)]; })()"
    )
    assert centre == [travel["x"][row], travel["y"][row]]
    drive_page.get_by_role("button", name="As set").click()
    assert drive_page.inner_text(".tension") == "299 ± 34 N, in the notch."
