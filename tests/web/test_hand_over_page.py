"""The page of a hand-over in a browser: the question, a lead's reasons, the papers; what is refused."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page, expect
from tests.web.bench import BenchClient, RunningBench
from tests.web.looks import axe

from twoturn.acts.drive_files import shipped_drives
from twoturn.acts.shop import drives
from twoturn.acts.shop.entries import add_entries
from twoturn.acts.shop.hand_over import hand_over, look_over
from twoturn.acts.shop.jobs import close_job, held_job, start_job
from twoturn.acts.shop.people import Actor, may
from twoturn.acts.shop.settings import save_settings
from twoturn.acts.shop.shop import Shop
from twoturn.store.records import vehicles

FITTED: dict[str, Any] = {"kind": "belt fitted", "teeth": 109, "arrow": "with travel", "done": "thread-belt"}
NUT: dict[str, Any] = {"kind": "torque", "fastener": "roller nut", "set": 35, "done": "set-tensioner"}
REASON = "Reason to hand over all the same"


def _job(shop: Shop, actor: Actor, *rows: dict[str, Any]) -> int:
    version = drives.keep_drive(shop, actor, shipped_drives()["alder-one-cam"]).id
    with shop.writing() as connection:
        new = vehicles.Vehicle(0, "QX10DEMO", model="Invented Alder", fuel="petrol", hybrid=False, stop_start=False)
        vehicle = vehicles.add(connection, new)
    job = start_job(shop, actor, vehicle.id, version)
    if rows:
        add_entries(shop, actor, job.id, list(rows), "first")
    return job.id


@pytest.mark.parametrize("size", ["tablet", "phone"])
def test_a_job_not_met_is_handed_over_by_a_lead_with_a_reason(
    bench: RunningBench, browser_page: Callable[..., Page], size: str, tmp_path: Path
) -> None:
    job_id = _job(bench.shop, bench.actor, FITTED, NUT)
    page = browser_page(size, accept_downloads=True)
    page.goto(f"/jobs/{job_id}/hand-over")
    page.get_by_role("button", name="No, nothing").click()
    expect(page.get_by_role("button", name="No, nothing")).to_have_count(0)
    assert held_job(bench.shop, job_id).file.entries[-1].kind == "moved at end"
    expect(page.get_by_text("Set to 35 N·m; allowed: 19.8–24.2 N·m")).to_be_visible()
    page.get_by_label(REASON).fill("towed home, engine stays off")
    page.get_by_role("button", name="Hand over in spite of it").click()
    expect(page.get_by_role("heading", name="Handed over")).to_be_visible()
    for name, ending, start in (
        ("Proof sheet", ".pdf", b"%PDF"),
        ("Customer's page", ".pdf", b"%PDF"),
        ("Label", ".pdf", b"%PDF"),
        ("Due date", ".ics", b"BEGIN:VCALENDAR"),
        ("As a file", ".txt", b"Timing belt renewed"),
    ):
        with page.expect_download() as fetched:
            page.get_by_role("link", name=name, exact=True).click()
        kept = tmp_path / f"{size}{ending}"
        fetched.value.save_as(kept)
        assert fetched.value.suggested_filename.endswith(ending)
        assert kept.read_bytes().startswith(start)
    assert page.get_by_label("Text for the invoice").input_value().startswith("Timing belt renewed (job 1)")
    assert held_job(bench.shop, job_id).row.closed_at is not None


def test_the_page_says_what_the_tap_does_and_what_has_no_entry(
    bench: RunningBench, client: BenchClient, shop: Shop, person: Actor
) -> None:
    job_id = _job(shop, person, FITTED)
    said = client.get(f"/jobs/{job_id}/hand-over").text
    assert "One tap: signs as <strong>" in said
    assert "makes the sheet, closes the job." in said
    assert re.search(r"Steps of the plan with no entry \(\d+\)", said)
    assert 'href="/settings">Set the workshop’s name in Settings' in said
    save_settings(shop, person, {"shop_name": "Brook & Mill (invented)", "units": "metric"})
    assert "Set the workshop" not in client.get(f"/jobs/{job_id}/hand-over").text


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_axe_finds_nothing(bench: RunningBench, browser_page: Callable[..., Page], theme: str) -> None:
    """WCAG 2.2 A and AA by axe-core, a checker of its own makers; before and after handing over."""
    job_id = _job(bench.shop, bench.actor, FITTED, NUT)
    page = browser_page("tablet", color_scheme=theme)
    for _ in range(2):
        page.goto(f"/jobs/{job_id}/hand-over")
        page.evaluate("document.querySelectorAll('details').forEach((one) => { one.open = true; })")
        assert axe(page) == []
        if not look_over(bench.shop, job_id).current:
            hand_over(bench.shop, bench.actor, job_id, {"reason-torque-roller-nut": "known"}, "go")


@pytest.mark.parametrize("size", ["tablet", "phone"])
def test_nothing_sticks_out_and_targets_are_large(
    bench: RunningBench, browser_page: Callable[..., Page], size: str
) -> None:
    """Main actions 76 px high, every other target 48 px: the project's own rule for gloved hands."""
    job_id = _job(bench.shop, bench.actor, FITTED, NUT)
    page = browser_page(size)
    for _ in range(2):
        page.goto(f"/jobs/{job_id}/hand-over")
        wide = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
        assert wide == 0
        for target in page.locator("main :is(a, button, summary, input:not([type=hidden]), textarea)").all():
            if target.is_visible():
                box = target.bounding_box()
                assert box is not None
                least = 76 if "main" in (target.get_attribute("class") or "") else 48
                assert box["height"] >= least - 0.5, target.inner_text()
        if not look_over(bench.shop, job_id).current:
            hand_over(bench.shop, bench.actor, job_id, {"reason-torque-roller-nut": "known"}, "go")


def test_the_text_is_copied_or_selected(bench: RunningBench, browser_page: Callable[..., Page]) -> None:
    job_id = _job(bench.shop, bench.actor, FITTED)
    hand_over(bench.shop, bench.actor, job_id, {}, "go")
    page = browser_page("tablet", permissions=["clipboard-read", "clipboard-write"])
    page.goto(f"/jobs/{job_id}/hand-over")
    page.get_by_role("button", name="Copy the text").click()
    expect(page.get_by_text("Copied.")).to_be_visible()
    assert page.evaluate("navigator.clipboard.readText()").startswith("Timing belt renewed")
    page.evaluate("void (navigator.clipboard.writeText = () => Promise.reject(new Error('no')))")
    page.get_by_role("button", name="Copy the text").click()
    expect(page.get_by_text("the text is selected")).to_be_visible()
    assert page.evaluate("getSelection().toString()").startswith("Timing belt renewed")


def test_by_keyboard_alone(bench: RunningBench, browser_page: Callable[..., Page]) -> None:
    job_id = _job(bench.shop, bench.actor, FITTED)
    page = browser_page("tablet")
    page.goto(f"/jobs/{job_id}/hand-over")
    key = page.get_by_role("button", name="Hand over", exact=True)
    for _ in range(60):
        if key.evaluate("button => button === document.activeElement"):
            break
        page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name="Handed over")).to_be_visible()


def test_a_missing_reason_keeps_what_was_typed(client: BenchClient, shop: Shop, person: Actor) -> None:
    leak = {"kind": "finding", "finding": "pump-leak", "done": "check-what-stays"}
    job_id = _job(shop, person, FITTED, NUT, leak)
    fields = {"key": "k", "reason-torque-roller-nut": "kept as typed"}
    answer = client.form(f"/jobs/{job_id}/hand-over", fields)
    assert answer.status_code == 422
    assert "kept as typed" in answer.text
    assert "Say why it is handed over all the same: Cure first" in answer.text
    assert held_job(shop, job_id).row.entries == 3


def test_sent_twice_it_counts_once_and_without_a_key_not_at_all(client: BenchClient, shop: Shop, person: Actor) -> None:
    job_id = _job(shop, person, FITTED)
    assert client.form(f"/jobs/{job_id}/hand-over", {}).status_code == 400
    for _ in range(2):
        assert client.form(f"/jobs/{job_id}/hand-over", {"key": "k"}).status_code == 303
    assert len(look_over(shop, job_id).sheets) == 1


def test_answers_that_are_none_and_jobs_that_are_none(client: BenchClient, shop: Shop, person: Actor) -> None:
    job_id = _job(shop, person)
    page = client.get(f"/jobs/{job_id}/hand-over")
    assert "Nothing was entered in this job yet" in page.text
    assert client.form(f"/jobs/{job_id}/hand-over", {"key": "k"}).status_code == 422
    assert client.form(f"/jobs/{job_id}/hand-over/last-question", {"key": "q", "moved": "?"}).status_code == 422
    assert client.get("/jobs/99/hand-over").status_code == 404
    assert client.get(f"/jobs/{job_id}/papers/label").status_code == 422
    assert client.get(f"/jobs/{job_id}/papers/..%2F..%2Fetc").status_code == 404
    assert client.get(f"/jobs/{job_id}/sheets/1").status_code == 404
    assert client.post(f"/jobs/{job_id}/hand-over", data={"key": "k"}).status_code == 403


def test_a_closed_job_without_a_sheet_says_so(client: BenchClient, shop: Shop, person: Actor) -> None:
    job_id = _job(shop, person, FITTED)
    close_job(shop, person, job_id)
    assert "no sheet was handed out here" in client.get(f"/jobs/{job_id}/hand-over").text
    hand_over(shop, person, job_id, {}, "go")
    assert "no sheet was handed out here" not in client.get(f"/jobs/{job_id}/hand-over").text


def test_names_are_escaped(client: BenchClient, shop: Shop, person: Actor) -> None:
    job_id = _job(shop, person, FITTED | {"designation": "<script>alert(1)</script>"})
    hand_over(shop, person, job_id, {}, "go")
    assert "<script>alert" not in client.get(f"/jobs/{job_id}/hand-over").text


def test_the_one_person_is_a_lead(person: Actor) -> None:
    assert may(person, "lead")
