"""What a new user of the job's page stumbled over: changing an entry, marks, torques reached, signs, second taps."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import Locator, Page, expect
from tests.web.bench import BenchClient, RunningBench
from tests.web.job_taps import Worker, picture
from tests.web.test_job_page import begin, form_of

from twoturn.acts.shop.entries import add_entries
from twoturn.acts.shop.job_view import EntryLine, job_view
from twoturn.acts.shop.people import Actor
from twoturn.acts.shop.settings import save_settings
from twoturn.acts.shop.shop import Shop

TURNED, MARKS, TORQUE = "turn-by-hand/turned", "prove-timing/mark", "fit-rollers-and-tensioner/torque"
SLOW_FILES = """
const real = fetch;
globalThis.fetch = async (where, how) => {
  if (String(where).endsWith("/files")) await new Promise((done) => setTimeout(done, 2500));
  return real(where, how);
};
"""
FITTED = "fit-rollers-and-tensioner/part-fitted"


@pytest.fixture
def job(bench: RunningBench) -> int:
    """A job just begun."""
    return begin(bench.shop, bench.actor)


def lines(bench: RunningBench, job: int) -> tuple[EntryLine, ...]:
    """The entries of the job."""
    return job_view(bench.shop, job).lines


def unfold(ask: Locator) -> None:
    """Open what may be said otherwise."""
    ask.get_by_text("Otherwise", exact=True).click()


def below(lower: Locator, upper: Locator) -> float:
    """How far one thing stands below another [px]."""
    first, second = upper.bounding_box(), lower.bounding_box()
    assert first is not None
    assert second is not None
    return second["y"] - first["y"]


def change(page: Page, number: int) -> None:
    """Take an entry in hand to change it."""
    page.get_by_role("link", name=f"Change entry {number}").click()
    page.get_by_role("button", name="Change it").click()


def test_a_torque_reached_stands_in_the_first_fold_and_one_tap_changes_it(
    browser_page: Callable[..., Page], bench: RunningBench, job: int
) -> None:
    page = browser_page()
    page.goto(f"/jobs/{job}")
    worker = Worker(page)
    worker.describe_tool()
    ask = worker.ask(TORQUE)
    unfold(ask)
    to_plan = ask.locator("input[name='g.fastener']")
    reached = ask.get_by_label("Reached")
    expect(to_plan).to_be_checked()
    reached.fill("6")
    expect(ask.locator(".shape-stages .understood")).to_contain_text("6 N·m")
    expect(ask.locator(".shape-stages .unit")).to_have_text("N·m")
    expect(to_plan).not_to_be_checked()
    reached.fill("")
    expect(to_plan).to_be_checked()
    reached.fill("6")
    ask.get_by_role("button", name="Enter").click()
    expect(ask.locator(".said")).to_contain_text("✕ Not met:")
    expect(page.locator("#step-fit-rollers-and-tensioner .step-state")).to_have_text("✕ entered, not met")
    expect(page.locator("#entries .entry-words").nth(1)).to_contain_text("✕ Not met:")
    change(page, 2)
    expect(ask.get_by_label("Reached")).to_have_value("6 N·m")  # as it was entered, not as it was planned
    expect(to_plan).not_to_be_checked()
    ask.get_by_label("Reached").fill("6.5")
    page.reload()
    expect(ask.locator(".corrects")).to_contain_text("takes the place of entry 2")
    expect(ask.get_by_label("Reached")).to_have_value("6.5")
    ask.get_by_role("button", name="To plan, tool A").click()
    expect(ask.locator(".said")).to_contain_text("✓")
    expect(ask.locator(".corrects")).to_have_count(0)
    assert [line.corrected_by for line in lines(bench, job)] == [None, 3, None]


def test_a_change_may_be_given_up(browser_page: Callable[..., Page], bench: RunningBench, job: int) -> None:
    page = browser_page("phone")
    page.goto(f"/jobs/{job}")
    worker = Worker(page)
    worker.tap(TURNED)
    ask = worker.ask(TURNED)
    change(page, 1)
    expect(ask.locator(".corrects")).to_be_in_viewport()
    expect(ask.get_by_label("Turns", exact=True)).to_have_value("2")
    ask.get_by_label("Turns", exact=True).fill("4")
    ask.get_by_role("button", name="Keep it as it is").click()
    expect(ask.locator(".corrects")).to_have_count(0)
    expect(ask.get_by_label("Turns", exact=True)).to_have_value("2")
    ask.locator("button[name=quick]").click()
    expect(ask.locator(".said")).to_have_count(2)
    assert [line.corrected_by for line in lines(bench, job)] == [None, None]


def test_a_change_that_is_refused_says_nothing_false_and_the_question_lives_again(
    browser_page: Callable[..., Page], bench: RunningBench, job: int, slips: list[str]
) -> None:
    page = browser_page()
    page.goto(f"/jobs/{job}")
    worker = Worker(page)
    worker.tap(TURNED)
    ask = worker.ask(TURNED)
    change(page, 1)
    ask.get_by_label("Turns", exact=True).fill("many")
    ask.get_by_role("button", name="Enter").click()
    expect(ask.locator(".fault")).to_contain_text("many")
    expect(ask.locator(".on-the-way")).to_have_count(0)
    page.get_by_role("button", name="Throw it away").click()
    expect(ask.locator(".fault")).to_have_count(0)
    ask.get_by_label("Turns", exact=True).fill("4")
    ask.get_by_role("button", name="Enter").click()
    expect(page.locator("#entries li").first).to_contain_text("corrected by 2")
    assert len(lines(bench, job)) == 2
    slips.clear()


def test_one_tap_without_script_takes_the_place_of_an_entry(client: BenchClient, shop: Shop, person: Actor) -> None:
    job = begin(shop, person)
    hidden = form_of(client.get(f"/jobs/{job}").text, TURNED)
    client.post(f"/jobs/{job}/entries", data={**hidden, "g.turns": "1"})
    hidden = form_of(client.get(f"/jobs/{job}").text, TURNED) | {"replaces": "1"}
    answer = client.post(f"/jobs/{job}/entries", data={**hidden, "quick": "yes"}, follow_redirects=False)
    assert answer.status_code == 303
    assert [line.stands for line in job_view(shop, job).lines] == [False, True]
    assert getattr(job_view(shop, job).proof.filled.entries[1], "turns", None) == 2


def test_what_an_entry_says_comes_with_its_unit(client: BenchClient, shop: Shop, person: Actor) -> None:
    job = begin(shop, person)
    add_entries(shop, person, job, [{"kind": "odometer", "km": 118420, "done": "identify-vehicle"}], "km")
    for units, said in (("metric", "118420"), ("imperial", "118420 km")):
        save_settings(shop, person, {"units": units})
        page = client.get(f"/jobs/{job}").text
        assert f"""data-entered='{{"1": {{"km": "{said}"}}}}'""" in page


def test_without_a_torque_tool_no_tap_is_offered_that_would_be_refused(
    client: BenchClient, shop: Shop, person: Actor
) -> None:
    job = begin(shop, person)
    one_tap = f"""data-ask="{TORQUE}" data-words="Tightened: guide roller bolt" data-quick"""
    page = client.get(f"/jobs/{job}").text
    assert one_tap not in page
    assert "No torque tool is described yet" in page
    row = {"kind": "tool", "tool": "A", "low_nm": 5, "high_nm": 200, "calibrated": "2026-01-01"}
    add_entries(shop, person, job, [row], "tool")
    page = client.get(f"/jobs/{job}").text
    assert one_tap in page
    assert "No torque tool is described yet" not in page


def test_a_check_for_which_another_stands_is_told_as_not_needed(client: BenchClient, shop: Shop, person: Actor) -> None:
    job = begin(shop, person, "Alder 8", "QX 10 DEMO")
    rows: list[dict[str, Any]] = [
        {"kind": "belt fitted", "teeth": 109, "arrow": "with travel", "done": "thread-belt"},
        {"kind": "temperature", "temperature_c": 20, "done": "cool-and-temperature"},
        {"kind": "turned", "turns": 2, "done": "turn-by-hand"},
        {"kind": "deflection", "at": "roller:camshaft", "force_n": 20, "deflection_mm": 3.4, "done": "prove-setting"},
    ]
    add_entries(shop, person, job, rows[:3], "before")
    told = "The source lets another stand for it"
    assert told not in client.get(f"/jobs/{job}").text
    add_entries(shop, person, job, rows[3:], "deflection")
    after = client.get(f"/jobs/{job}").text
    assert told in after[after.index("Not needed for the proof") :]


def test_nothing_moves_when_marks_are_off(browser_page: Callable[..., Page], job: int) -> None:
    page = browser_page()
    page.goto(f"/jobs/{job}")
    ask = Worker(page).ask(MARKS)
    unfold(ask)
    way, enter = ask.get_by_label("late: not yet"), ask.get_by_role("button", name="Enter")
    expect(way).to_be_disabled()
    tooth = ask.get_by_label("1 tooth off")
    tooth.scroll_into_view_if_needed()
    before = below(enter, tooth)
    tooth.check()
    expect(way).to_be_enabled()
    assert abs(below(enter, tooth) - before) < 2
    ask.get_by_label("on", exact=True).check()
    expect(way).to_be_disabled()


def test_a_part_is_not_fitted_twice_by_a_second_tap(
    browser_page: Callable[..., Page], bench: RunningBench, job: int
) -> None:
    page = browser_page("phone")
    page.goto(f"/jobs/{job}")
    worker = Worker(page)
    worker.tap(FITTED)
    key = worker.ask(FITTED).locator("button[name=quick]")
    key.click()
    expect(key).to_contain_text("Again?")
    assert len(lines(bench, job)) == 1
    page.wait_for_timeout(600)
    key.click()
    expect(worker.ask(FITTED).locator(".said")).to_have_count(2)


def test_words_of_taking_an_entry_back(client: BenchClient, shop: Shop, person: Actor) -> None:
    job = begin(shop, person)
    hidden = form_of(client.get(f"/jobs/{job}").text, TURNED)
    client.post(f"/jobs/{job}/entries", data={**hidden, "quick": "yes"})
    page = client.get(f"/jobs/{job}").text
    assert re.search(r'aria-label="Change entry 1">Change<', page)
    for words in (
        "Keep it as it is",
        "Do not count this reading",
        "strike it out if it never happened",
        "Skip this step",
    ):
        assert words in page
    assert "Leave" not in page


@pytest.mark.parametrize("size", ["tablet", "phone"])
def test_go_to_it_shows_the_step_from_its_number_on(browser_page: Callable[..., Page], job: int, size: str) -> None:
    page = browser_page(size)
    page.goto(f"/jobs/{job}")
    worker = Worker(page)
    worker.tap("identify-vehicle/vehicle")
    for _ in range(3):
        page.get_by_role("link", name="Go to it").click()
        page.wait_for_timeout(150)
        ask = page.locator(".ask:focus")
        step = page.locator(".step", has=page.locator(":focus"))
        edge = page.locator("#now").bounding_box()
        head = step.locator(".step-number").bounding_box()
        assert edge is not None
        assert head is not None
        assert edge["y"] + edge["height"] <= head["y"] < (page.viewport_size or {"height": 0})["height"] / 2
        worker.answer(ask)


def test_a_photo_just_chosen_is_being_sent(browser_page: Callable[..., Page], job: int) -> None:
    page = browser_page("phone")
    page.add_init_script(SLOW_FILES)
    page.goto(f"/jobs/{job}")
    ask = page.locator("section.ask", has=page.locator("form[data-auto]")).first
    expect(ask.get_by_text("Take a photo")).to_be_visible()
    at = ask.get_attribute("id")
    ask.locator("input[type=file]").set_input_files({"name": "a.jpg", "mimeType": "image/jpeg", "buffer": picture()})
    said = page.locator(f"[id='{at}'] .on-the-way")
    expect(said).to_contain_text("Sending…")
    page.wait_for_timeout(1800)
    assert "waits here" not in said.inner_text()
    expect(page.locator(f"[id='{at}'] .said")).to_have_count(1, timeout=15_000)
