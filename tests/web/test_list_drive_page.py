"""A list drive made by taps in the browser: its plan works, and the taps and characters it takes are counted."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

import pytest
from playwright.sync_api import Locator, Page, expect
from tests.web.bench import RunningBench

from twoturn.acts.shop import drives
from twoturn.drive.parts import Drive
from twoturn.plan import make_plan

POINT_S, PRESS_S, KEY_S, THINK_S = 1.10, 0.20, 0.28, 1.35
"""Times of the keystroke-level model [s]: pointing, pressing, a key of an average typist, a thought before a task
(Card, Moran and Newell 1980, from memory)."""
BUDGET_S, MOST_TAPS, MOST_CHARACTERS = 90, 30, 45


@dataclass
class Hand:
    """Taps and types, and counts."""

    page: Page
    taps: int = 0
    typed: int = 0
    fields: list[str] = field(default_factory=list)

    def tap(self, target: Locator) -> None:
        target.click()
        self.taps += 1

    def type(self, target: Locator, text: str) -> None:
        """Type into a field; one that has the focus already is not tapped."""
        if not target.evaluate("one => one === document.activeElement"):
            self.tap(target)
        self.page.keyboard.type(text)
        self.typed += len(text)

    @property
    def seconds(self) -> float:
        """By the keystroke-level model, a thought before every tap [s]."""
        return self.taps * (THINK_S + POINT_S + PRESS_S) + self.typed * KEY_S


def _one_cam(page: Page) -> Hand:
    """Eight valves: a fixed roller, the coolant pump on the belt, a nut, a mark on each of the two sprockets."""
    hand = Hand(page)
    add = lambda name: hand.tap(page.get_by_role("button", name=f"+ {name}", exact=True))  # noqa: E731
    hand.type(page.get_by_label("Name of the engine or drive"), "Quill 8")
    hand.tap(_key(page, "the vehicle maker's data, on paper"))
    hand.type(page.get_by_label("Teeth of the belt"), "109")
    hand.type(_row(page, "crankshaft").get_by_label("Teeth"), "20")
    hand.tap(_key(_row(page, "crankshaft"), "12 o'clock"))
    add("tensioner")
    add("camshaft")
    hand.tap(_key(_row(page, "camshaft"), "12 o'clock"))
    add("coolant pump")
    hand.type(_row(page, "coolant pump").get_by_label("Teeth (none: smooth)"), "20")
    hand.tap(_key(page, "fixed roller, set by hand"))
    hand.tap(_key(page.get_by_role("group", name="Which way does it tighten?"), "clockwise"))
    add("tensioner nut")
    hand.type(_row(page, "tensioner nut").get_by_label("Torque"), "22,5")
    hand.tap(_key(_row(page, "tensioner nut"), "renewed each time"))
    add("crankshaft bolt")
    hand.type(_row(page, "crankshaft bolt").get_by_label("Torque"), "40")
    hand.type(_row(page, "crankshaft bolt").get_by_label("then angle"), "90")
    hand.tap(page.get_by_role("button", name="Keep this drive"))
    return hand


def _key(within: Page | Locator, words: str) -> Locator:
    """A big key: its whole label takes the tap."""
    page = within.page if isinstance(within, Locator) else within
    return within.locator("label.key").filter(has=page.get_by_text(words, exact=True))


def _row(page: Page, name: str) -> Locator:
    return page.locator(".list-row").filter(has=page.locator("h3", has_text=name))


def _kept(bench: RunningBench) -> Drive:
    (line,) = drives.library(bench.shop)
    return drives.drive_of(bench.shop, line.version_id).drive


@pytest.mark.parametrize("size", ["tablet", "phone"])
def test_a_list_drive_is_made_by_taps_and_its_plan_works(
    browser_page: Callable[..., Page], bench: RunningBench, size: str
) -> None:
    page = browser_page(size)
    page.goto("/drives/new/taps")
    expect(page.locator("[data-part=state]")).to_have_text("Still missing:")
    hand = _one_cam(page)
    expect(page.get_by_role("heading", name="Quill 8")).to_be_visible()
    print(f"list drive by taps, {size}: {hand.taps} taps, {hand.typed} characters, {hand.seconds:.0f} s by the model")
    assert hand.taps <= MOST_TAPS
    assert hand.typed <= MOST_CHARACTERS
    assert hand.seconds <= BUDGET_S
    drive = _kept(bench)
    assert [pulley.id for pulley in drive.belts[0].pulleys] == ["crankshaft", "tensioner", "camshaft", "coolant pump"]
    assert [pulley.teeth for pulley in drive.belts[0].pulleys] == [20, None, 40, 20]
    assert [pulley.table.mark_deg for pulley in drive.belts[0].pulleys] == [0, None, 0, None]
    assert drive.source == "the vehicle maker's data, on paper"
    stages = {fastener.id: fastener.stages for fastener in drive.file.fastener}
    assert stages["tensioner nut"][0].torque_nm == 22.5
    assert [stage.angle_deg for stage in stages["crankshaft bolt"]] == [None, 90]
    steps = {step.id for step in make_plan(drive).steps}
    assert {"thread-belt", "set-tensioner", "turn-by-hand", "hand-over"} <= steps
    page.goto("/drives/new/taps")
    expect(page.get_by_label("Name of the engine or drive")).to_have_value("")
    expect(page.locator("[data-part=again]")).to_be_hidden()


def test_answers_survive_a_reload_until_the_drive_is_kept(browser_page: Callable[..., Page]) -> None:
    page = browser_page("phone")
    page.goto("/drives/new/taps")
    page.get_by_label("Teeth of the belt").fill("131")
    page.get_by_role("button", name="+ inlet camshaft").click()
    page.reload()
    expect(page.get_by_label("Teeth of the belt")).to_have_value("131")
    expect(_row(page, "inlet camshaft")).to_be_visible()
    page.get_by_role("button", name="Begin anew").click()
    expect(page.get_by_label("Teeth of the belt")).to_have_value("")


def test_what_is_missing_is_said_in_plain_words_and_a_tap_leads_to_it(browser_page: Callable[..., Page]) -> None:
    page = browser_page("tablet")
    page.goto("/drives/new/taps")
    missing = page.locator("[data-part=faults]")
    missing.get_by_role("button", name="How many teeth the belt has.").click()
    expect(page.get_by_label("Teeth of the belt")).to_be_focused()
    page.keyboard.type("12a")
    expect(page.locator("[data-field=belt_teeth]")).to_contain_text("12a")
    expect(page.get_by_role("button", name="Keep this drive")).to_be_disabled()
    page.get_by_label("Name of the engine or drive").fill("Quill 8")
    expect(missing).not_to_contain_text("The name of the engine")


def test_by_keyboard_the_focus_stays_where_it_was(browser_page: Callable[..., Page]) -> None:
    page = browser_page("tablet")
    page.goto("/drives/new/taps")
    _key(page, "automatic roller with pointer").click()
    page.get_by_role("radio", name="automatic roller with pointer").focus()
    page.keyboard.press("ArrowDown")
    expect(page.get_by_role("radio", name="roller on a spring-loaded arm")).to_be_focused()
    expect(page.get_by_role("radio", name="draw its pin: the spring sets it")).to_be_checked()


def test_a_tap_on_a_wheel_of_the_drawing_leads_to_its_row(browser_page: Callable[..., Page]) -> None:
    page = browser_page("tablet")
    page.goto("/drives/new/taps")
    page.get_by_label("Name of the engine or drive").fill("Quill 8")
    _key(page, "the vehicle maker's data, on paper").click()
    page.get_by_label("Teeth of the belt").fill("109")
    _row(page, "crankshaft").get_by_label("Teeth").fill("20")
    for name in ("tensioner", "camshaft"):
        page.get_by_role("button", name=f"+ {name}", exact=True).click()
    expect(page.locator("[data-part=faults]")).to_contain_text("What kind of tensioner it is.")
    _key(page, "fixed roller, set by hand").click()
    page.locator(".drive-picture .wheel").nth(2).click()
    expect(_row(page, "camshaft").get_by_label("Teeth")).to_be_focused()


def test_made_for_a_job_it_leads_back_to_the_job(browser_page: Callable[..., Page]) -> None:
    page = browser_page("tablet")
    page.goto("/drives/new/taps?registration=QX%2010%20DEMO")
    _one_cam(page)
    page.get_by_role("link", name="Begin the job on QX 10 DEMO").click()
    expect(page.get_by_role("heading", name="New job")).to_contain_text("QX 10 DEMO")
    expect(page.get_by_text("Quill 8")).to_be_visible()
    page.goto("/drives/new/taps")
    expect(page.get_by_label("Name of the engine or drive")).to_have_value("")


def test_no_mark_and_no_source_is_made_up(browser_page: Callable[..., Page]) -> None:
    page = browser_page("phone")
    page.goto("/drives/new/taps")
    missing = page.locator("[data-part=faults]")
    expect(missing).to_contain_text("Where the numbers come from.")
    missing.get_by_role("button", name="Where the mark of the crankshaft is, from the sheet.").click()
    expect(_row(page, "crankshaft").get_by_role("radio", name="12 o'clock")).to_be_focused()
    _key(_row(page, "crankshaft"), "elsewhere").click()
    expect(missing).to_contain_text("Where the mark of the crankshaft is, from the sheet.")
    _row(page, "crankshaft").get_by_label("Mark at").select_option(label="3 o'clock")
    expect(missing).not_to_contain_text("Where the mark of the crankshaft")
    page.get_by_label("or in words").fill("our own sheet")
    expect(missing).not_to_contain_text("Where the numbers come from.")
