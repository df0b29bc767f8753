"""A whole job in a browser, from a new vehicle to its papers; one that ends not met; a repeat job, counted."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta

import pytest
from playwright.sync_api import Page, expect
from tests.web.bench import RunningBench
from tests.web.job_taps import Worker
from tests.web.test_job_page import begin

from twoturn.acts.shop import tools
from twoturn.acts.shop.drives import ensure_shipped
from twoturn.acts.shop.job_view import job_view
from twoturn.acts.shop.jobs import close_job
from twoturn.acts.shop.people import Actor
from twoturn.acts.shop.shop import Shop

PHOTOS = (
    "lay-out-parts/photo/label-and-batch-of-the-belt",
    "prove-setting/photo/pointer-or-gauge",
    "prove-timing/photo/marks-or-pins-in-place",
)
MOST_TAPS, MOST_TYPED = 25, 15
"""Of a repeat job (common practice, no source): hands are clean three times, and gloves do not type."""


def _drawer(shop: Shop, person: Actor) -> None:
    tool = tools.save_tool(shop, person, {"name": "A", "low": "5", "high": "200"})
    tools.add_calibration(
        shop, person, tool.id, {"on": (date.today() - timedelta(days=30)).isoformat(), "months": "12"}
    )


@pytest.mark.parametrize("size", ["tablet", "phone"])
def test_from_a_new_vehicle_to_its_papers(browser_page: Callable[..., Page], bench: RunningBench, size: str) -> None:
    ensure_shipped(bench.shop)
    page = browser_page(size)
    worker = Worker(page)
    page.goto("/")
    page.get_by_label("New job: registration").fill("qx 31 demo")
    page.get_by_role("button", name="Go on").click()
    page.get_by_label("Birch 16, two camshafts").check()
    page.get_by_label("Odometer now").fill("118420")
    page.get_by_role("button", name="Begin the job").click()
    expect(page.locator(".plate").first).to_have_text("QX 31 DEMO")
    expect(worker.ask("identify-vehicle/odometer").locator(".said")).to_contain_text("118")
    worker.follow()
    expect(page.locator("#verdict h2")).to_contain_text("proven")
    view = job_view(bench.shop, 1)
    assert view.proof.assessment.verdict.value == "proven"
    page.get_by_role("link", name="To the papers").click()
    page.get_by_role("button", name="Hand over", exact=True).click()
    with page.expect_download() as got:
        page.get_by_role("link", name="Proof sheet").evaluate("(link) => { link.download = ''; link.click(); }")
    assert got.value.path().read_bytes().startswith(b"%PDF-")
    page.goto("/")
    expect(page.get_by_text("No job is open.")).to_be_visible()


def test_a_tooth_late_ends_not_met(browser_page: Callable[..., Page], bench: RunningBench) -> None:
    job = begin(bench.shop, bench.actor, "Cedar D")
    page = browser_page()
    worker = Worker(page)
    page.goto(f"/jobs/{job}")
    for asked in ("thread-belt/belt-fitted", "set-tensioner/adjuster-moved/tensioner", "turn-by-hand/turned"):
        worker.tap(asked)
    ask = worker.ask("prove-timing/mark")
    ask.get_by_text("Otherwise", exact=True).click()
    ask.get_by_label("1 tooth off").check()
    ask.get_by_label("late: not yet").check()
    ask.get_by_role("button", name="Enter", exact=True).click()
    expect(ask.locator(".at-once").first).to_contain_text("not met")
    expect(page.locator("#verdict h2")).to_contain_text("not met")
    expect(page.locator("#now h2")).to_contain_text("Not met: Timing")
    page.get_by_role("link", name="To the papers").click()
    expect(page.get_by_text("Not met: put it right first")).to_be_visible()
    assert job_view(bench.shop, job).proof.assessment.verdict.value == "not met"


def test_a_repeat_job_takes_few_taps(
    browser_page: Callable[..., Page], bench: RunningBench, capsys: pytest.CaptureFixture[str]
) -> None:
    """Everything is known but what only this day shows; entered in one go, as at the end of an afternoon."""
    shop, person = bench.shop, bench.actor
    _drawer(shop, person)
    close_job(shop, person, begin(shop, person, "Birch 16", "QX 31 DEMO"))
    page = browser_page("phone")
    worker = Worker(page)
    worker.count()
    page.goto("/")
    page.get_by_label("New job: registration").click()
    page.keyboard.type("qx31demo")
    page.keyboard.press("Enter")
    page.get_by_label("Odometer now").click()
    page.keyboard.type("121530")
    page.get_by_role("button", name="Begin the job").click()
    for asked in PHOTOS:
        worker.photo(asked)
    for asked in (
        "lay-out-parts/tool/a", "cool-and-temperature/temperature", "record-as-found/mark",
        "look-at-old-belt/finding", "check-what-stays/finding", "thread-belt/belt-fitted",
        "set-tensioner/adjuster-moved/tensioner", "pins-out/pin-out", "turn-to-settle/turned",
        "finish-setting/adjuster-moved/tensioner", "turn-by-hand/turned", "prove-timing/mark",
        "prove-timing/pin-in", "prove-setting/pointer/pointer-tensioner", "fit-covers/torque/all",
        "hand-over/moved-at-end",
    ):  # fmt: skip
        worker.tap(asked)
    view = job_view(shop, 2)
    missing = [(check.title, check.why) for check in view.proof.assessment.required if check.verdict.value != "proven"]
    assert not missing
    page.get_by_role("link", name="To the papers").click()
    page.get_by_role("button", name="Hand over", exact=True).click()
    expect(page.get_by_role("link", name="Proof sheet")).to_be_visible()
    taps, typed = worker.cost()
    with capsys.disabled():
        print(f"\na repeat job: {taps} taps, {typed} typed characters")
    assert taps <= MOST_TAPS
    assert typed <= MOST_TYPED
