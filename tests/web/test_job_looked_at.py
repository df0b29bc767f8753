"""The job's page with everything unfolded, by keyboard alone, and how long a tap takes to be answered."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect
from tests.web.bench import RunningBench
from tests.web.job_taps import Worker
from tests.web.looks import look_over
from tests.web.test_job_page import begin

from twoturn.acts.shop.job_view import job_view

UNFOLD = """
document.querySelectorAll("details").forEach((one) => { one.open = true; });
document.querySelectorAll(".step").forEach((one) => { one.style.contentVisibility = "visible"; });
"""
WATCH = """
globalThis.slowest = 0;
new PerformanceObserver((list) => {
  for (const one of list.getEntries().filter((one) => one.interactionId)) {
    globalThis.slowest = Math.max(globalThis.slowest, one.duration);
  }
}).observe({type: "event", durationThreshold: 16, buffered: true});
"""
HALF_A_SECOND_MS = 500.0
"""A bound that a machine under load keeps too [ms]; the figure itself is measured by the bench and printed here."""


@pytest.mark.parametrize("size", ["tablet", "phone"])
def test_everything_unfolded_can_be_read_and_touched(
    browser_page: Callable[..., Page], bench: RunningBench, size: str
) -> None:
    job = begin(bench.shop, bench.actor, "Elder 16B")
    page = browser_page(size)
    page.goto(f"/jobs/{job}", timeout=60_000)
    Worker(page).tap("thread-belt/belt-fitted")
    Worker(page).tap("turn-by-hand/turned")
    page.evaluate(UNFOLD)
    look_over(page, "job-unfolded")


def test_keyboard_alone(browser_page: Callable[..., Page], bench: RunningBench) -> None:
    job = begin(bench.shop, bench.actor)
    page = browser_page()
    page.goto(f"/jobs/{job}", timeout=60_000)
    keys = page.keyboard
    keys.press("Tab")
    expect(page.locator(".skip")).to_be_focused()
    keys.press("Enter")
    expect(page.locator("main")).to_be_focused()
    go = page.get_by_role("link", name="Go to it")
    for _ in range(5):
        keys.press("Tab")
        if go.evaluate("(link) => link === document.activeElement"):
            break
    expect(go).to_be_focused()
    keys.press("Enter")
    expect(page.locator(".ask:focus")).to_have_attribute("id", "q-identify-vehicle--vehicle")
    keys.press("Tab")
    keys.press("Enter")
    expect(Worker(page).ask("identify-vehicle/vehicle").locator(".said")).to_have_count(1)
    Worker(page).ask("lay-out-parts/tool").focus()
    keys.press("Tab")  # its letter is filled in
    keys.press("Tab")
    keys.type("5")
    keys.press("Tab")
    keys.type("200")
    keys.press("Tab")
    keys.type("11012026")  # a day, month or day first: 1 November or 11 January
    keys.press("Enter")
    expect(Worker(page).ask("lay-out-parts/tool").locator(".said")).to_have_count(1)
    focused = page.evaluate("document.activeElement.closest('[id]')?.id ?? ''")
    assert focused.startswith("q-lay-out-parts--tool")  # the keys go on where they were
    assert [line.kind for line in job_view(bench.shop, job).lines] == ["vehicle", "tool"]


def test_a_choice_of_pictures_by_arrow_keys(browser_page: Callable[..., Page], bench: RunningBench) -> None:
    job = begin(bench.shop, bench.actor)
    page = browser_page()
    page.goto(f"/jobs/{job}", timeout=60_000)
    ask = Worker(page).ask("prove-timing/mark")
    ask.locator("summary").first.focus()
    page.keyboard.press("Enter")
    ask.get_by_label("on", exact=True).focus()
    page.keyboard.press("ArrowRight")
    page.keyboard.press("ArrowRight")
    expect(ask.get_by_label("½ tooth off")).to_be_checked()
    page.keyboard.press("Tab")
    page.keyboard.press("Space")
    page.keyboard.press("Enter")
    expect(ask.locator(".said")).to_have_count(1)
    assert "half" in job_view(bench.shop, job).lines[0].words


def test_a_tap_is_answered_soon(
    browser_page: Callable[..., Page], bench: RunningBench, capsys: pytest.CaptureFixture[str]
) -> None:
    job = begin(bench.shop, bench.actor, "Elder 16B")
    page = browser_page("phone")
    page.add_init_script(WATCH)
    page.goto(f"/jobs/{job}", timeout=60_000)
    worker = Worker(page)
    for asked in ("thread-belt/belt-fitted", "set-tensioner/adjuster-moved/tensioner", "turn-by-hand/turned"):
        worker.tap(asked)
    worker.type_in("identify-vehicle/odometer", "Odometer", "118420")
    slowest = float(page.evaluate("globalThis.slowest"))
    with capsys.disabled():
        print(f"\nslowest interaction with the job's page: {slowest:.0f} ms")
    assert 0.0 < slowest < HALF_A_SECOND_MS
