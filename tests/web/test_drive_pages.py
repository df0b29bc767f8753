"""Drives on the bench: the library, one drive turned by hand, the editor, in Chromium at tablet and phone size."""

from __future__ import annotations

import json
import re
from collections.abc import Callable

import pytest
from playwright.sync_api import Browser, Locator, Page, expect
from tests.web.bench import BenchClient, RunningBench
from tests.web.looks import look_over

from twoturn.acts.drive_files import shipped_drives
from twoturn.acts.shop import drives
from twoturn.drive.rename import renamed

SIZES = ("tablet", "phone")
ALDER = shipped_drives()["alder-one-cam"]
OWN = renamed(ALDER, "Quill 8")
Opened = Callable[..., Page]
SELECTED = (
    "() => { const t = document.querySelector('#text'); return t.value.slice(t.selectionStart, t.selectionEnd); }"
)


@pytest.fixture
def own(bench: RunningBench) -> int:
    """Number of a drive of the shop's own."""
    return drives.add_drive(bench.shop, bench.actor, OWN).drive_id


def _crank(page: Page) -> float:
    found = page.get_by_role("slider", name="Crankshaft").get_attribute("aria-valuetext") or ""
    turned = re.search(r"([\d.]+)° past", found)
    return float(turned[1]) if turned else 0.0


def _drag_round(page: Page, handle: Locator, quarter_turns: int, touch: bool) -> None:
    """Take a round handle at its top edge and go round its middle, clockwise."""
    handle.scroll_into_view_if_needed()
    box = handle.bounding_box()
    assert box is not None
    middle, reach = (box["x"] + box["width"] / 2, box["y"] + box["height"] / 2), box["width"] * 0.4
    ways = [(0, -1), (1, 0), (0, 1), (-1, 0)]
    points = [
        (middle[0] + ways[at % 4][0] * reach, middle[1] + ways[at % 4][1] * reach) for at in range(quarter_turns + 1)
    ]
    if touch:
        session = page.context.new_cdp_session(page)
        for at, (x, y) in enumerate(points):
            kind = "touchStart" if at == 0 else "touchMove"
            session.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": [{"x": x, "y": y}]})
        session.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
        return
    page.mouse.move(*points[0])
    page.mouse.down()
    for point in points[1:]:
        page.mouse.move(*point)
    page.mouse.up()


@pytest.mark.parametrize("size", SIZES)
def test_the_crankshaft_is_dragged_on_the_ring_and_on_the_drawing(browser_page: Opened, own: int, size: str) -> None:
    touch = size == "phone"
    page = browser_page(size, has_touch=touch)
    page.goto(f"/drives/{own}")
    _drag_round(page, page.get_by_role("slider", name="Crankshaft"), 1, touch)
    assert _crank(page) == pytest.approx(90, abs=2)
    _drag_round(page, page.locator(".grip"), 1, touch)
    assert _crank(page) == pytest.approx(180, abs=4)
    expect(page.locator(".live-sum")).to_have_text("Not all marks are back.")
    expect(page.locator(".live-marks")).to_contain_text(re.compile(r"camshaft: (8[5-9]|9[0-5])[\d.]*° past its mark"))


@pytest.mark.parametrize("size", SIZES)
def test_keys_turn_it_and_turning_back_is_told(browser_page: Opened, own: int, size: str) -> None:
    page = browser_page(size)
    page.goto(f"/drives/{own}")
    ring = page.get_by_role("slider", name="Crankshaft")
    ring.focus()
    for key, angle in (("ArrowRight", 1), ("Shift+ArrowUp", 11), ("PageUp", 11)):
        page.keyboard.press(key)
        assert _crank(page) == pytest.approx(angle, abs=0.05)
    page.keyboard.press("Shift+ArrowLeft")
    expect(page.get_by_role("alert")).to_contain_text("Turned back 10° with the belt on. Never turn against")
    page.keyboard.press("Home")
    expect(page.get_by_role("alert")).to_be_hidden()
    expect(page.locator(".live-sum")).to_have_text("All marks are back.")


def test_two_turns_are_played_and_the_lines_are_apart(browser_page: Opened, own: int) -> None:
    page = browser_page("tablet", reduced_motion="reduce")
    page.goto(f"/drives/{own}")
    page.get_by_role("button", name="Turn two turns").click()
    expect(page.locator(".ring-count")).to_have_text("2.00", timeout=15_000)
    expect(page.locator(".live-sum")).to_have_text("All marks are back.")
    # Alder: 20 teeth on the crankshaft, 109 on the belt, marks back after two turns, so 40 k = 109 n: 218 turns.
    expect(page.locator(".live-lines")).to_contain_text("meet again only after 218 turns")
    page.get_by_role("button", name="To where the lines meet (218 turns)").click()
    expect(page.locator(".live-lines")).to_contain_text("Painted lines and marks meet here.")


@pytest.mark.parametrize("size", SIZES)
def test_the_adjuster_moves_pointer_and_tension(browser_page: Opened, bench: RunningBench, size: str) -> None:
    drives.ensure_shipped(bench.shop)
    (birch,) = drives.library(bench.shop, "birch")
    page = browser_page(size)
    page.goto(f"/drives/{birch.drive_id}")
    said = page.locator(".adjuster .tension")
    before = said.inner_text()
    page.get_by_role("button", name="Tighter").click()
    assert said.inner_text() != before
    page.get_by_label("Turn the setting eccentric").press("ArrowLeft")
    page.get_by_role("button", name="As set").click()
    assert said.inner_text() == before
    assert "on the notch" in before or "in the notch" in before


def test_a_tap_on_a_wheel_says_what_it_is_and_leads_to_its_lines(browser_page: Opened, own: int) -> None:
    page = browser_page("tablet")
    page.goto(f"/drives/{own}")
    _tap_wheel(page, "camshaft")
    told = page.locator(".live-tapped")
    expect(told).to_contain_text("camshaft: 40 teeth, the belt lies round")
    told.get_by_role("link", name="Change it").click()
    expect(page.locator("[data-part=state]")).to_have_text("No fault found.")
    shown = page.get_by_role("group", name="The wheel that was tapped")
    expect(shown.get_by_label("Teeth")).to_have_value("40")
    selected = page.evaluate(SELECTED)
    assert selected.startswith("[[pulley]]\n")
    assert 'id = "camshaft"' in selected
    assert selected.count("[[") == 1
    shown.get_by_role("button", name="Go to its lines").click()
    expect(page.get_by_label("Text of the drive")).to_be_focused()


@pytest.mark.parametrize("size", SIZES)
def test_a_tapped_wheel_is_changed_by_its_fields(browser_page: Opened, own: int, size: str) -> None:
    page = browser_page(size)
    page.goto(f"/drives/{own}/edit")
    page.locator(".drive-picture .wheel").nth(2).click()
    shown = page.get_by_role("group", name="The wheel that was tapped")
    shown.get_by_label("Mark, clockwise from twelve").fill("12,5")
    text = page.get_by_label("Text of the drive")
    expect(text).to_have_value(OWN.replace("mark_deg = -3.7", "mark_deg = 12.5"))
    shown.get_by_label("Teeth").fill("3")
    expect(page.locator(".fault-line")).to_contain_text("found 3")
    expect(shown.get_by_label("Teeth")).to_be_focused()
    shown.get_by_label("Teeth").fill("40")
    expect(page.locator("[data-part=state]")).to_have_text("No fault found.")
    shown.get_by_label("Side of the belt on it").select_option("back")
    expect(page.locator(".fault-line").first).to_be_visible()


def _tap_wheel(page: Page, name: str) -> None:
    data = json.loads(page.locator("[data-live-drive]").get_attribute("data-live-drive") or "")
    at = next(at for at, pulley in enumerate(data["belts"][0]["pulleys"]) if pulley["id"] == name)
    page.locator(".drive-picture .wheel").nth(at).click()


@pytest.mark.parametrize("size", SIZES)
def test_every_fault_is_told_as_it_is_typed_and_a_tap_goes_to_it(browser_page: Opened, own: int, size: str) -> None:
    page = browser_page(size)
    page.goto(f"/drives/{own}/edit")
    state, text = page.locator("[data-part=state]"), page.get_by_label("Text of the drive")
    expect(state).to_have_text("No fault found.")
    text.fill(OWN.replace("teeth = 109", "teeth = -3").replace('crank_turns = "clockwise"', 'crank_turns = "left"'))
    expect(state).to_have_text("2 faults:")
    faults = page.locator(".fault-line")
    line = 1 + OWN[: OWN.index("teeth = 109")].count("\n")
    fault = faults.filter(has_text=f"Line {line}:")
    expect(fault).to_contain_text("belt[1].teeth: found -3")
    expect(page.locator("[data-part=live].old")).to_have_count(1)
    fault.click()
    selected = page.evaluate(SELECTED)
    assert selected == "teeth = -3"
    text.fill(OWN.replace("teeth = 40", "teeth = 44"))
    expect(state).to_contain_text("fault", timeout=5000)
    text.fill(OWN)
    expect(state).to_have_text("No fault found.")
    expect(page.locator("[data-part=live].old")).to_have_count(0)


def test_what_was_typed_is_kept_in_the_browser_until_it_is_saved(browser_page: Opened, own: int) -> None:
    page = browser_page("tablet")
    page.goto(f"/drives/{own}/edit")
    changed = OWN.replace("width_mm = 19.0", "width_mm = 19.5")
    page.get_by_label("Text of the drive").fill(changed)
    expect(page.locator("[data-part=kept]")).to_have_text("Not saved yet; kept in this browser.")
    for _ in range(2):  # an offer that nobody answered is made again
        page.reload()
        expect(page.locator("[data-part=offer-words]")).to_contain_text("Text that was never saved is kept here since")
    page.get_by_role("button", name="Go on with that text").click()
    expect(page.get_by_label("Text of the drive")).to_have_value(changed)
    page.get_by_role("button", name="Keep as a new version").click()
    expect(page.get_by_text("Version 2, kept by")).to_be_visible()
    page.goto(f"/drives/{own}/edit")
    expect(page.get_by_label("Text of the drive")).to_have_value(changed)
    expect(page.locator("[data-part=offer]")).to_be_hidden()


def test_without_a_connection_the_text_stays(browser_page: Opened, own: int) -> None:
    page = browser_page("tablet")
    page.goto(f"/drives/{own}/edit")
    changed = OWN.replace("width_mm = 19.0", "width_mm = 19.5")
    expect(page.locator("[data-part=state]")).to_have_text("No fault found.")
    page.context.set_offline(True)
    page.get_by_role("button", name="Keep as a new version").click()
    expect(page.locator("[data-part=state]")).to_contain_text("No connection to the bench.")
    page.context.set_offline(False)
    page.get_by_label("Text of the drive").fill(changed)
    page.get_by_role("button", name="Keep as a new version").click()
    expect(page.get_by_text("Version 2, kept by")).to_be_visible()


def test_what_the_bench_refused_is_offered_again_later(bench: RunningBench, chromium: Browser, own: int) -> None:
    context = chromium.new_context(base_url=bench.url)  # Chromium writes the refusal to its console
    page = context.new_page()
    page.goto(f"/drives/{own}/edit")
    page.get_by_label("Text of the drive").fill(OWN.replace("teeth = 109", "teeth = -3"))
    with page.expect_navigation():
        page.get_by_role("button", name="Keep as a new version").click()
    expect(page.locator(".fault-line")).to_have_count(1)
    page.goto(f"/drives/{own}/edit")
    expect(page.get_by_role("button", name="Go on with that text")).to_be_visible()
    context.close()


def test_a_faulty_text_that_is_sent_comes_back_whole(client: BenchClient) -> None:
    broken = OWN.replace("teeth = 109", "teeth = -3")
    answer = client.form("/drives/new", {"text": broken.replace("\n", "\r\n")})
    assert answer.status_code == 422
    assert "teeth = -3" in answer.text
    good = client.form("/drives/new", {"text": OWN.replace("\n", "\r\n")})
    assert good.status_code == 303
    again = client.form("/drives/new", {"text": OWN.replace("\n", "\r\n")})
    assert again.headers["location"] == good.headers["location"]
    other = client.form("/drives/new", {"text": OWN.replace("width_mm = 19.0", "width_mm = 18.0")})
    assert other.status_code == 422
    assert "There is a drive named &#34;Quill 8&#34;" in other.text
    assert "width_mm = 18.0" in other.text


def test_somebody_elses_newer_version_is_told_and_nothing_is_lost(client: BenchClient) -> None:
    place = client.form("/drives/new", {"text": OWN}).headers["location"]
    one, other = (OWN.replace("width_mm = 19.0", f"width_mm = {width}") for width in ("18.0", "18.5"))
    assert client.form(f"{place}/edit", {"text": one, "after": "1"}).status_code == 303
    answer = client.form(f"{place}/edit", {"text": other, "after": "1"})
    assert answer.status_code == 422
    assert "kept version 2 of this drive meanwhile" in answer.text
    assert "width_mm = 18.5" in answer.text
    assert "width_mm = 18.0" in client.get(f"{place}?version=2").text
    assert client.get(f"{place}?version=7").status_code == 404


def test_a_file_is_read_in_and_a_faulty_one_opens_in_the_editor(client: BenchClient) -> None:
    sent = client.form("/drives/file", files={"file": ("own.toml", OWN.encode(), "application/toml")})
    assert sent.status_code == 303
    faulty = client.form("/drives/file", files={"file": ("own.toml", b"[drive]\nname = 3\n", "application/toml")})
    assert faulty.status_code == 422
    assert "name = 3" in faulty.text
    no_text = client.form("/drives/file", files={"file": ("own.toml", b"\xff\xfe\x00", "application/toml")})
    assert no_text.status_code == 422
    assert "which is not UTF-8" in no_text.text
    assert client.form("/drives/file", {"file": "none"}).status_code == 422


def test_a_drive_is_copied_withdrawn_and_its_text_fetched(client: BenchClient) -> None:
    place = client.form("/drives/new", {"text": OWN}).headers["location"]
    page = client.get(place).text
    version = re.search(r"/drives/versions/(\d+)/text", page)
    assert version is not None
    fetched = client.get(version[0])
    assert fetched.text == OWN
    assert fetched.headers["content-disposition"].startswith("attachment")
    copied = client.form(f"{place}/copy", {"version_id": version[1], "name": "Quill 9"})
    assert copied.headers["location"].endswith("/edit")
    assert "Quill 9" in client.get("/drives?words=quill+9").text
    clash = client.form(f"{place}/copy", {"version_id": version[1], "name": " Quill 8"})
    assert clash.status_code == 422
    assert 'value="Quill 8"' in clash.text
    assert "needs a name of its own" in clash.text
    assert client.form(f"{place}/offer", {"offered": "no"}).status_code == 303
    assert "Quill 8" not in client.get("/drives").text
    assert "Quill 8" in client.get("/drives?every=1").text


def test_a_question_that_is_none_is_refused_as_json(client: BenchClient) -> None:
    head = {"x-csrf": client.token(), "accept": "application/json"}
    for path in ("/drives/look", "/drives/look/taps"):
        for body in (b"", b"[]", b"{", b"[" * 100_000):
            answer = client.post(path, content=body, headers=head)
            assert answer.status_code == 422
            assert answer.json()["error"]["next_step"] == "load the page anew"
    looked = client.post("/drives/look", json={"text": OWN}, headers=head).json()
    assert looked["good"]
    assert [part["id"] for part in looked["parts"]] == ["crankshaft", "roller", "camshaft", "coolant pump"]


@pytest.mark.parametrize(("size", "theme"), [("tablet", "dark"), ("phone", "light")])
def test_every_page_is_for_gloved_hands_and_for_everybody(
    browser_page: Opened, bench: RunningBench, own: int, size: str, theme: str
) -> None:
    drives.ensure_shipped(bench.shop)
    page = browser_page(size, color_scheme=theme, reduced_motion="reduce")
    for path, name in (("/drives", "drives"), (f"/drives/{own}", "drive"), ("/drives/new/taps", "drive-by-taps")):
        page.goto(path)
        look_over(page, f"{name}-{theme}")
    page.goto(f"/drives/{own}/edit")
    page.get_by_label("Text of the drive").fill(OWN.replace("teeth = 109", "teeth = -3"))
    expect(page.locator(".fault-line")).to_have_count(1)
    look_over(page, f"drive-editor-{theme}")
