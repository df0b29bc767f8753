"""The drive as it moves in the browser is the drive of the mechanics: marks, painted lines, teeth, pointer, tension."""

from __future__ import annotations

import random
from typing import Any

import numpy as np
import pytest
from playwright.sync_api import Page

from twoturn.acts.drive_files import shipped_drives
from twoturn.acts.live_drive import laid_for_page, live_drive, live_json, tooth_at_mark
from twoturn.drive.laid import LaidBelt, lay, places
from twoturn.drive.load import read_drive
from twoturn.drive.parts import Belt, Drive
from twoturn.drive.turning import line_places, mark_angles_deg, travel_teeth
from twoturn.mechanics.belt import belt_at_rest

DRIVES = sorted(shipped_drives())
READ = """async ([cranks, rows]) => {
  const t = await import('/js/drive/turning.js');
  const drive = JSON.parse(document.querySelector('[data-live-drive]').dataset.liveDrive);
  return cranks.map((crank, n) => drive.belts.map(belt => {
    const moved = rows[n];
    const laid = t.laidOut(belt, moved);
    const marked = belt.pulleys.map((p, at) => [p, at]).filter(([p]) => p.mark_deg !== null);
    return {
      marks: Object.fromEntries(marked.map(([p]) => [p.id, t.markAngle(drive, p, crank)])),
      lines: belt.to_scale ? belt.lines.map(n => t.lineAt(laid, n, crank).point) : [],
      teeth: Object.fromEntries(marked.map(([p, at]) => [p.id, t.toothAtMark(laid, at, crank)])),
      length: laid.length,
    };
  }));
}"""


def _drive(name: str) -> Drive:
    return read_drive(shipped_drives()[name], name)


def _cranks(name: str) -> list[float]:
    chance = random.Random(name)
    return [0.0, 720.0, *(chance.uniform(-800, 90_000) for _ in range(30))]


def _moved(drive: Drive, chance: random.Random) -> dict[str, int]:
    """A row of the travel of every tensioner that has one."""
    found = {}
    for belt in live_json(live_drive(drive))["belts"]:
        for one in belt["tensioners"]:
            if one["travel"]:
                known = [row for row, x in enumerate(one["travel"]["x"]) if x is not None]
                found[one["pulley"]] = chance.choice(known)
    return found


def _laid(drive: Drive, belt: Belt, moved: dict[str, int]) -> tuple[LaidBelt, bool]:
    """The belt in Python, its tensioners where the rows of the travel put them."""
    laid, to_scale = laid_for_page(belt_at_rest(drive, belt))
    assert laid is not None
    answer = next(row for row in live_json(live_drive(drive))["belts"] if row["id"] == belt.id)
    centres = laid.centres.copy()
    for one in answer["tensioners"]:
        if one["travel"] and one["pulley"] in moved:
            at = [pulley.id for pulley in belt.pulleys].index(one["pulley"])
            row = moved[one["pulley"]]
            centres[at] = complex(one["travel"]["x"][row], one["travel"]["y"][row])
    return (lay(belt, centres) if to_scale else laid), to_scale


def _apart_deg(one: float, other: float) -> float:
    return abs((one - other + 180) % 360 - 180)


@pytest.mark.parametrize("name", DRIVES)
def test_marks_lines_and_teeth_move_as_the_mechanics_say(drive_page: Page, name: str) -> None:
    drive = _drive(name)
    cranks, chance = _cranks(name), random.Random(7)
    rows = [{} if number < 16 else _moved(drive, chance) for number in range(len(cranks))]
    drive_page.goto(f"/{name}")
    seen = drive_page.evaluate(READ, [cranks, rows])
    for crank, moved, belts in zip(cranks, rows, seen, strict=True):
        for belt, row in zip(drive.belts, belts, strict=True):
            _compare(drive, belt, crank, moved, row)


def _compare(drive: Drive, belt: Belt, crank: float, moved: dict[str, int], row: dict[str, Any]) -> None:
    laid, to_scale = _laid(drive, belt, moved)
    angles = mark_angles_deg(drive, belt, crank)
    assert set(row["marks"]) == set(angles)
    for pulley, angle in angles.items():
        assert _apart_deg(row["marks"][pulley], float(angle)) < 1e-6
    if not to_scale:
        return
    assert row["length"] == pytest.approx(laid.length_mm, rel=1e-12)
    if belt.table.marks:
        points = line_places(drive, laid, crank).point[0]
        here = np.array([complex(x, y) for x, y in row["lines"]])
        assert np.max(np.abs(points - here)) < 1e-6
    gone = float(travel_teeth(drive, belt, crank))
    for pulley in belt.marked:
        at = belt.pulleys.index(pulley)
        number = tooth_at_mark(laid, at, float(pulley.table.mark_deg or 0.0)) - gone
        off = (row["teeth"][pulley.id] - number + belt.table.teeth / 2) % belt.table.teeth - belt.table.teeth / 2
        assert abs(off) < 1e-6


@pytest.mark.parametrize("name", [name for name in DRIVES if name != "damson-rotary-pump"])
def test_the_tooth_at_a_mark_is_where_the_mark_is(name: str) -> None:
    """By the other way round: the belt tooth of that number lies on the sprocket at the mark's clock angle."""
    drive = _drive(name)
    for belt in drive.belts:
        laid, _ = _laid(drive, belt, {})
        for pulley in belt.marked:
            at, mark = belt.pulleys.index(pulley), float(pulley.table.mark_deg or 0.0)
            found = places(laid, np.array([tooth_at_mark(laid, at, mark)]))
            if found.piece[0] == at and found.on_pulley[0]:
                assert _apart_deg(float(found.clock_deg[0]), mark) < 1e-9


def test_what_is_drawn_is_what_was_reckoned(drive_page: Page) -> None:
    """The picture itself: place of every painted line and angle of every mark as the elements carry them."""
    drive = _drive("alder-one-cam")
    drive_page.goto("/alder-one-cam")
    drive_page.wait_for_selector(".painted")
    for crank in (0.0, 93.0, 720.0, 5000.0):
        drive_page.evaluate("crank => document.querySelector('[data-live-drive]').liveDrive.jump(crank)", crank)
        drawn = drive_page.eval_on_selector_all(
            ".drive-picture .painted", "all => all.map(e => [+e.dataset.x, +e.dataset.y])"
        )
        laid, _ = _laid(drive, drive.belts[0], {})
        points = line_places(drive, laid, crank).point[0]
        assert np.max(np.abs(points - np.array([complex(*row) for row in drawn]))) < 1e-6
        clocks = drive_page.eval_on_selector_all(".drive-picture .mark", "all => all.map(e => +e.dataset.clock)")
        angles = [float(angle) for angle in mark_angles_deg(drive, drive.belts[0], crank).values()]
        assert np.allclose(sorted(clocks), sorted(angles), atol=1e-6)


def test_keys_turn_the_crankshaft_and_turning_back_is_told(drive_page: Page) -> None:
    drive_page.goto("/alder-one-cam")
    ring = drive_page.get_by_role("slider", name="Crankshaft, turned by hand")
    ring.focus()
    for key in ("ArrowRight", "ArrowRight", "Shift+ArrowUp", "PageUp"):
        drive_page.keyboard.press(key)
    assert (
        ring.get_attribute("aria-valuetext")
        == "Crankshaft 12° past the setting position, 1.03 turns since the start, clockwise."
    )
    warning = drive_page.get_by_role("alert")
    assert not warning.is_visible()
    drive_page.keyboard.press("Shift+ArrowLeft")
    assert "Turned back 10° with the belt on" in warning.inner_text()
    assert "voids earlier readings" in warning.inner_text()
    drive_page.keyboard.press("PageUp")
    assert warning.is_visible(), "one turn on is not enough"
    drive_page.keyboard.press("PageUp")
    assert not warning.is_visible()
    drive_page.keyboard.press("Home")
    assert "not turned yet" in (ring.get_attribute("aria-valuetext") or "")


def test_a_hand_turns_the_crankshaft_in_the_drawing(drive_page: Page) -> None:
    drive_page.goto("/birch-two-cams")
    grip = drive_page.locator(".grip").bounding_box()
    assert grip is not None
    x, y, reach = grip["x"] + grip["width"] / 2, grip["y"] + grip["height"] / 2, grip["width"] / 2 - 4
    drive_page.mouse.move(x, y - reach)
    drive_page.mouse.down()
    for clock in range(0, 361, 20):
        drive_page.mouse.move(x + reach * np.sin(np.radians(clock)), y - reach * np.cos(np.radians(clock)))
    drive_page.mouse.up()
    crank = drive_page.evaluate("document.querySelector('[data-live-drive]').liveDrive.hand.crank")
    assert crank == pytest.approx(360, abs=1.5)


def test_the_lines_meet_where_it_is_said(drive_page: Page) -> None:
    """218 = lcm(109, 20, 40)/20 turns, by hand."""
    drive_page.goto("/alder-one-cam")
    drive_page.get_by_role("button", name="To where the lines meet (218 turns)").click()
    assert "Painted lines and marks meet here." in drive_page.inner_text(".live-lines")
    assert drive_page.inner_text(".live-sum") == "All marks are back."
    drive_page.get_by_role("button", name="¼ turn on").click()
    assert drive_page.inner_text(".live-sum") == "Not all marks are back."


def test_two_turns_play_in_quarters_for_those_who_want_less_motion(drive_page: Page) -> None:
    drive_page.emulate_media(reduced_motion="reduce")
    drive_page.clock.install()
    drive_page.goto("/cedar-common-rail")
    drive_page.get_by_role("button", name="Turn two turns").click()
    seen = []
    for _ in range(9):
        drive_page.clock.run_for(900)
        seen.append(drive_page.evaluate("document.querySelector('[data-live-drive]').liveDrive.hand.crank"))
    assert seen == [90, 180, 270, 360, 450, 540, 630, 720, 720]
    assert drive_page.inner_text(".live-sum") == "All shafts are back in the setting position."
