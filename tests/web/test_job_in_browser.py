"""The job's page in a browser: taps become entries, verdicts come at once, nothing typed is lost."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import Locator, Page, expect
from tests.web.bench import RunningBench
from tests.web.test_job_page import begin

from twoturn.acts.shop.job_view import job_view

TURNED, MARKS = "#q-turn-by-hand--turned", "#q-prove-timing--mark"
ODOMETER = "#q-identify-vehicle--odometer"


@pytest.fixture
def job(bench: RunningBench) -> int:
    """A job just begun."""
    return begin(bench.shop, bench.actor)


def tap(ask: Locator) -> None:
    """Answer by one tap."""
    ask.locator("button[name=quick]").click()


@pytest.mark.parametrize("size", ["tablet", "phone"])
def test_one_tap_is_entered_and_says_at_once_what_it_means(
    browser_page: Callable[..., Page], bench: RunningBench, job: int, size: str
) -> None:
    page = browser_page(size)
    page.goto(f"/jobs/{job}")
    tap(page.locator(TURNED))
    expect(page.locator(TURNED).locator(".said")).to_have_count(1)
    tap(page.locator(MARKS))
    expect(page.locator(MARKS).locator(".at-once").first).to_contain_text("Timing")
    assert [line.kind for line in job_view(bench.shop, job).lines] == ["turned", "mark"]
    expect(page.locator("#entries li")).to_have_count(2)
    expect(page.locator("#others")).to_be_hidden()


def test_a_typed_number_is_told_back_and_entered(
    browser_page: Callable[..., Page], bench: RunningBench, job: int
) -> None:
    page = browser_page()
    page.goto(f"/jobs/{job}")
    ask = page.locator(ODOMETER)
    field = ask.get_by_label("Odometer", exact=True)
    field.fill("118,4 mi")
    expect(ask.locator(".understood")).to_contain_text("190")  # 118.4 mi are 190.5 km
    field.fill("118 420")
    expect(ask.locator(".understood")).to_contain_text("118")
    ask.get_by_role("button", name="Enter").click()
    expect(ask.locator(".said")).to_contain_text("118")
    assert job_view(bench.shop, job).lines[0].kind == "odometer"


def test_a_refused_answer_keeps_what_was_typed_and_is_sent_corrected(
    browser_page: Callable[..., Page], bench: RunningBench, job: int, slips: list[str]
) -> None:
    page = browser_page()
    page.goto(f"/jobs/{job}")
    ask = page.locator(ODOMETER)
    field = ask.get_by_label("Odometer", exact=True)
    field.fill("lots")
    ask.get_by_role("button", name="Enter").click()
    expect(ask.locator(".fault")).to_contain_text("lots")
    expect(field).to_have_value("lots")
    page.reload()
    expect(ask.locator(".fault")).to_contain_text("lots")
    expect(field).to_have_value("lots")
    field.fill("118420")
    ask.get_by_role("button", name="Enter").click()
    expect(ask.locator(".said")).to_contain_text("118")
    expect(page.locator("#waiting")).to_be_hidden()
    assert len(job_view(bench.shop, job).lines) == 1
    slips.clear()


def test_what_is_typed_and_not_entered_outlasts_a_reload_and_another_entry(
    browser_page: Callable[..., Page], job: int
) -> None:
    page = browser_page()
    page.goto(f"/jobs/{job}")
    ask = page.locator(ODOMETER)
    ask.get_by_label("Odometer", exact=True).fill("118 4")
    tap(page.locator("#q-identify-vehicle--vehicle"))
    expect(page.locator("#q-identify-vehicle--vehicle .said")).to_have_count(1)
    expect(ask.get_by_label("Odometer", exact=True)).to_have_value("118 4")
    page.reload()
    expect(ask.get_by_label("Odometer", exact=True)).to_have_value("118 4")


def test_marks_by_picture_and_only_what_is_asked(
    browser_page: Callable[..., Page], bench: RunningBench, job: int
) -> None:
    page = browser_page("phone")
    page.goto(f"/jobs/{job}")
    for before in ("#q-thread-belt--belt-fitted", TURNED):
        tap(page.locator(before))
        expect(page.locator(before).locator(".said")).to_have_count(1)
    ask = page.locator(MARKS)
    ask.get_by_text("Otherwise", exact=True).click()
    expect(ask.get_by_label("late: not yet")).to_be_disabled()
    ask.get_by_label("½ tooth off").check()
    ask.get_by_label("late: not yet").check()
    ask.get_by_role("button", name="Enter").click()
    expect(ask.locator(".at-once").first).to_contain_text("not met")
    assert "half" in job_view(bench.shop, job).lines[-1].words


def test_an_entry_is_corrected_and_struck_out_from_its_line(
    browser_page: Callable[..., Page], bench: RunningBench, job: int
) -> None:
    page = browser_page()
    page.goto(f"/jobs/{job}")
    tap(page.locator(TURNED))
    page.get_by_role("link", name="Change entry 1").click()
    page.get_by_role("button", name="Change it").click()
    ask = page.locator(TURNED)
    expect(ask.locator(".corrects")).to_contain_text("takes the place of entry 1")
    ask.get_by_label("Turns", exact=True).fill("4")
    ask.get_by_role("button", name="Enter").click()
    expect(page.locator("#entries li").first).to_contain_text("corrected by 2")
    page.get_by_role("link", name="Change entry 2").click()
    page.get_by_text("Strike it out").first.click()
    page.get_by_role("dialog").get_by_label("Reason").first.fill("wrong job")
    page.get_by_role("dialog").get_by_role("button", name="Strike it out").click()
    expect(page.locator("#entries li").nth(1)).to_contain_text("struck out by 3")
    assert [line.stands for line in job_view(bench.shop, job).lines] == [False, False, True]


def test_a_photo_is_one_tap_and_entered(browser_page: Callable[..., Page], bench: RunningBench, job: int) -> None:
    from io import BytesIO

    from PIL import Image

    picture = BytesIO()
    Image.new("RGB", (40, 30), "grey").save(picture, "JPEG")
    page = browser_page("phone")
    page.goto(f"/jobs/{job}")
    ask = page.locator("section.ask", has=page.locator("form[data-auto]")).first
    at = ask.get_attribute("id")
    ask.locator("input[type=file]").set_input_files(
        {"name": "IMG 1.jpg", "mimeType": "image/jpeg", "buffer": picture.getvalue()}
    )
    expect(page.locator(f"[id='{at}'] .said")).to_have_count(1, timeout=15_000)
    lines = job_view(bench.shop, job).lines
    assert [line.kind for line in lines] == ["photo"]


def test_one_step_at_a_time_on_a_phone(browser_page: Callable[..., Page], job: int) -> None:
    page = browser_page("phone")
    page.goto(f"/jobs/{job}")
    page.get_by_role("button", name="One step at a time").click()
    expect(page.locator(".step:visible")).to_have_count(1)
    first = page.locator(".step:visible").get_attribute("id")
    page.get_by_role("button", name="Next step").click()
    assert page.locator(".step:visible").get_attribute("id") != first
    page.get_by_role("link", name="Go to it").click()
    expect(page.locator(".step:visible")).to_have_count(1)
    page.reload()
    expect(page.locator(".step:visible")).to_have_count(1)
    page.get_by_role("button", name="Whole list").click()
    assert page.locator(".step:visible").count() > 20
