"""A job without connection and back: every entry arrives, each once, in order; two people on one job."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import Browser, Page, expect
from tests.web.bench import SIZES, RunningBench, running
from tests.web.job_taps import Worker, picture
from tests.web.test_job_page import begin

from twoturn.acts.shop.job_view import job_view
from twoturn.acts.shop.people import Actor
from twoturn.acts.shop.shop import Shop

TURNED, MARKS, PINS = "turn-by-hand/turned", "prove-timing/mark", "prove-timing/pin-in"
ODOMETER, PHOTO = "identify-vehicle/odometer", "lay-out-parts/photo/label-and-batch-of-the-belt"


@pytest.fixture
def job(bench: RunningBench) -> int:
    """A job just begun."""
    return begin(bench.shop, bench.actor)


def kinds(shop: Shop, job: int) -> list[str]:
    """Kinds of a job's entries, in order."""
    return [line.kind for line in job_view(shop, job).lines]


def quick(page: Page, asked: str) -> None:
    """Tap the one-tap answer, whether it can be sent or not."""
    Worker(page).ask(asked).locator("button[name=quick]").click()


def enter_offline(page: Page) -> None:
    """Three entries and a photo, without connection."""
    quick(page, TURNED)
    quick(page, MARKS)
    odometer = Worker(page).ask(ODOMETER)
    odometer.get_by_label("Odometer", exact=True).fill("118 420")
    odometer.get_by_role("button", name="Enter", exact=True).click()
    Worker(page).ask(PHOTO).locator("input[type=file]").set_input_files(
        {"name": "label.jpg", "mimeType": "image/jpeg", "buffer": picture()}
    )
    expect(page.locator("#waiting h2")).to_have_text("4 entries wait here, nothing is lost.", timeout=15_000)
    expect(Worker(page).ask(TURNED).locator(".on-the-way")).to_contain_text("waits here to be sent")


@pytest.mark.parametrize("reload", [False, True], ids=["page stays open", "page reloaded"])
def test_offline_and_back(
    browser_page: Callable[..., Page], bench: RunningBench, job: int, slips: list[str], reload: bool
) -> None:
    page = browser_page("phone")
    page.goto(f"/jobs/{job}")
    page.context.set_offline(True)
    enter_offline(page)
    assert kinds(bench.shop, job) == []
    page.context.set_offline(False)
    if reload:
        page.on("dialog", lambda dialog: dialog.accept())
        page.reload()
    expect(page.locator("#entries li")).to_have_count(4, timeout=60_000)
    expect(page.locator("#waiting")).to_be_hidden()
    assert kinds(bench.shop, job) == ["turned", "mark", "odometer", "photo"]
    expect(page.locator("#others")).to_be_hidden()
    slips.clear()


def test_the_bench_restarts_meanwhile(shop: Shop, person: Actor, chromium: Browser) -> None:
    job = begin(shop, person)
    context = chromium.new_context(viewport=SIZES["tablet"])  # type: ignore[arg-type]
    page = context.new_page()
    with running(shop) as url:
        page.goto(f"{url}/jobs/{job}")
        quick(page, TURNED)
        expect(page.locator("#entries li")).to_have_count(1)
    enter = [MARKS, PINS]
    for asked in enter:
        quick(page, asked)
    expect(page.locator("#waiting h2")).to_have_text("2 entries wait here, nothing is lost.", timeout=15_000)
    with running(shop, port=int(url.rpartition(":")[2])):
        expect(page.locator("#waiting")).to_be_hidden(timeout=60_000)
        assert kinds(shop, job) == ["turned", "mark", "pin in"]
    context.close()


def test_an_answer_lost_on_its_way_back_is_entered_once(
    browser_page: Callable[..., Page], bench: RunningBench, job: int, slips: list[str]
) -> None:
    page = browser_page()
    page.goto(f"/jobs/{job}")
    lost = []

    def lose_the_first(route: object) -> None:
        if lost:
            route.continue_()  # type: ignore[attr-defined]
            return
        lost.append(route.fetch().status)  # type: ignore[attr-defined]
        route.abort()  # type: ignore[attr-defined]

    page.route("**/answers", lose_the_first)
    quick(page, TURNED)
    expect(Worker(page).ask(TURNED).locator(".said")).to_have_count(1, timeout=15_000)
    assert lost == [200]
    assert kinds(bench.shop, job) == ["turned"]
    slips.clear()


def test_an_entry_waiting_is_taken_back(
    browser_page: Callable[..., Page], bench: RunningBench, job: int, slips: list[str]
) -> None:
    page = browser_page()
    page.goto(f"/jobs/{job}")
    page.context.set_offline(True)
    quick(page, TURNED)
    quick(page, MARKS)
    Worker(page).ask(TURNED).get_by_role("button", name="Take it back").click()
    expect(page.locator("#waiting h2")).to_have_text("1 entry waits here, nothing is lost.")
    page.context.set_offline(False)
    expect(page.locator("#waiting")).to_be_hidden(timeout=40_000)
    assert kinds(bench.shop, job) == ["mark"]
    slips.clear()


def test_the_second_of_two_is_told_what_the_first_entered(
    browser_page: Callable[..., Page], bench: RunningBench, job: int
) -> None:
    first, second = browser_page("tablet"), browser_page("phone")
    for page in (first, second):
        page.goto(f"/jobs/{job}")
    Worker(first).tap(TURNED)
    Worker(second).tap(MARKS)
    told = second.locator("#others")
    expect(told).to_contain_text("Entered meanwhile elsewhere. Ada Field")
    expect(Worker(second).ask(TURNED).locator(".said")).to_have_count(1)
    expect(Worker(first).ask(MARKS).locator(".said")).to_have_count(1, timeout=25_000)  # asked for every ten seconds
    expect(first.locator("#others")).to_be_visible()
    assert kinds(bench.shop, job) == ["turned", "mark"]
