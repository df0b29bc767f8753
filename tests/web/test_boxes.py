"""A job worked from the printed plan, its boxes entered at the office: taps and typed signs are counted and printed."""

from __future__ import annotations

import io
import re
import time
from collections.abc import Callable
from dataclasses import dataclass, field

import pytest
from playwright.sync_api import Locator, Page, expect
from pypdf import PdfReader
from tests.web.bench import BenchClient, RunningBench
from tests.web.looks import look_over
from tests.web.test_job_page import begin

from twoturn.acts.shop.boxes import Box, boxes
from twoturn.acts.shop.job_view import job_view
from twoturn.acts.shop.people import Actor
from twoturn.acts.shop.shop import Shop
from twoturn.acts.shop.tools import add_calibration, save_tool

DAMSON, ELDER = "Damson", "Elder"
LEFT_OPEN = {"vehicle", "signed"}
DAMSON_PAPER = {
    "identify-vehicle/odometer": {"km": "211 600"},
    "cool-and-temperature/temperature/shop-air": {"temperature_c": "18"},
    "static-pump-timing/pump-lift/pump-lift-injection-pump": {"lift_mm": "0,92", "lift_mm.2": "0.93"},
}
"""Numbers of the invented paper job damson-paper-alone; its second reading of the lift comes after the last turns."""
ELDER_PAPER = {
    "identify-vehicle/odometer": {"km": "98 450"},
    "cool-and-temperature/temperature/shop-air": {"temperature_c": "17"},
    "prove-timing/pin-in/balance-shaft-rod": {"depth_mm": "62"},
    "prove-setting@balance/deflection/deflection-right-balance-shaft-balance-drive-wheel": {"deflection_mm": "6"},
}


def drawer(shop: Shop, person: Actor) -> None:
    """Two wrenches in calibration, as a shop has them that was set up once."""
    for name, low, high in (("A", "5", "60"), ("B", "40", "200")):
        tool = save_tool(shop, person, {"name": name, "low": low, "high": high}).id
        add_calibration(shop, person, tool, {"on": shop.now().date().isoformat(), "months": "12"})


def printed_text(pdf: bytes) -> str:
    """All words of a PDF."""
    return "\n".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages)


def printed_step(box: Box) -> str:
    """A pattern for the number and title of a box's step at the beginning of a printed line."""
    condition = f"{box.step.only_if}:" if box.step.only_if else ""
    words = f"{box.number} {condition} {box.step.title}".split()
    return "(?m)^" + r"\s+".join(map(re.escape, words))


@dataclass
class Hand:
    """A hand at the page: what it taps and types is counted."""

    page: Page
    taps: int = 0
    signs: list[str] = field(default_factory=list)
    began: float = field(default_factory=time.perf_counter)

    def tick(self, box: Box) -> None:
        """Tick a box, as a finger does."""
        self.page.locator(f'[data-box="{box.id}"] label.box-tick').click()
        self.taps += 1

    def tick_part(self, index: int) -> None:
        """Tick all of one part."""
        self.page.locator("[data-all]").nth(index).click()
        self.taps += 1

    def type(self, box_id: str, square: str, text: str) -> None:
        """Tap a square and type into it."""
        self.page.locator(f'[name="typed|{box_id}|{square}"]').click()
        self.page.keyboard.type(text)
        self.taps += 1
        self.signs.append(text)

    def enter(self) -> None:
        """Enter all of it."""
        self.page.locator("[data-enter]").click()
        self.taps += 1

    def told(self, what: str) -> None:
        """Print what it took."""
        typed = sum(map(len, self.signs))
        print(f"\n{what}: {self.taps} taps, {typed} typed signs, {time.perf_counter() - self.began:.1f} s scripted")


@pytest.mark.parametrize(("drive", "paper", "size"), [(DAMSON, DAMSON_PAPER, "phone"), (ELDER, ELDER_PAPER, "tablet")])
def test_a_paper_job_is_proven_by_its_boxes_alone(
    browser_page: Callable[..., Page],
    bench: RunningBench,
    drive: str,
    paper: dict[str, dict[str, str]],
    size: str,
) -> None:
    drawer(bench.shop, bench.actor)
    job = begin(bench.shop, bench.actor, drive)
    page = browser_page(size)
    page.goto(f"/jobs/{job}")
    page.get_by_role("link", name="Enter its boxes").click()
    look_over(page, f"boxes-{drive}")
    hand = Hand(page)
    for index in range(page.locator("[data-all]").count()):
        hand.tick_part(index)
    conditional = [box for box in boxes(job_view(bench.shop, job)) if box.step.only_if and box.asked.kind == "signed"]
    for box in boxes(job_view(bench.shop, job)):
        if box.asked.quick and box not in conditional and not page.locator(f'[name="tick|{box.id}"]').is_checked():
            hand.tick(box)
        for square, text in paper.get(box.id, {}).items():
            hand.type(box.id, square, text)
    look_over(page, f"boxes-{drive}-filled")
    hand.enter()
    expect(page).to_have_url(re.compile(rf"/jobs/{job}$"), timeout=30_000)
    hand.told(f"{drive}, {size}")
    view = job_view(bench.shop, job)
    assert view.proof.assessment.verdict.value == "proven"
    expect(page.locator(".job-verdict h2")).to_contain_text("proven")
    order = {step.id: number for number, step in enumerate(view.plan.steps)}
    numbers = [order[line.step] for line in view.lines]
    assert numbers == sorted(numbers)


def test_from_the_registration_to_the_printed_plan(client: BenchClient, shop: Shop, person: Actor) -> None:
    begun = time.perf_counter()
    known = begin(shop, person, "Elder", "QX 32 DEMO")
    drive = job_view(shop, known).head.version_id
    page = client.get("/jobs/new", params={"registration": "qx32demo"}).text
    assert f"/jobs/{known}/plan.pdf" in page
    answer = client.form("/jobs/new", {"registration": "QX 33 DEMO", "drive": drive, "then": "plan"})
    assert answer.status_code == 303
    plan = client.get(answer.headers["location"])
    assert plan.headers["content-type"] == "application/pdf"
    assert plan.headers["content-disposition"].startswith("inline")
    assert "QX 33 DEMO" in printed_text(plan.content)
    print(f"\nfrom registration to the plan, all but the paper: {time.perf_counter() - begun:.1f} s")


@pytest.mark.parametrize("drive", [DAMSON, ELDER, "Birch 16", "Cedar D"])
def test_the_numbers_are_those_printed(client: BenchClient, shop: Shop, person: Actor, drive: str) -> None:
    job = begin(shop, person, drive)
    printed = printed_text(client.get(f"/jobs/{job}/plan.pdf").content)
    page = client.get(f"/jobs/{job}/boxes").text
    shown = re.findall(r'data-box="([^"]+)".*?<span class="step-number">(\d+)</span>', page, re.DOTALL)
    found = boxes(job_view(shop, job))
    assert shown == [(box.id, str(box.number)) for box in found]
    assert len(found) > 25
    places = [re.search(printed_step(box), printed) for box in found]
    assert [box.name for box, place in zip(found, places, strict=True) if place is None] == []
    starts = [place.start() for place in places if place is not None]
    assert starts == sorted(starts)


# without a script ----------------------------------------------------------------------------------------------------
ODOMETER, TURNED, MARKS = "identify-vehicle/odometer", "turn-by-hand/turned", "prove-timing/mark"


def hidden(page: str) -> dict[str, str]:
    """The hidden fields of the form."""
    form = page[page.index("<form") : page.index("</form>")]
    return dict(re.findall(r'<input type="hidden" name="([^"]+)" value="([^"]*)"', form))


def test_without_a_script_faults_come_back_with_all_that_was_typed(
    client: BenchClient, shop: Shop, person: Actor
) -> None:
    job = begin(shop, person, DAMSON)
    fields = hidden(client.get(f"/jobs/{job}/boxes").text)
    typed = {f"typed|{ODOMETER}|km": "lots & many", f"tick|{TURNED}": "yes", f"tick|{MARKS}": "yes"}
    answer = client.form(f"/jobs/{job}/boxes", {**fields, **typed})
    assert answer.status_code == 422
    assert job_view(shop, job).lines == ()
    assert "Nothing is entered yet: 1 box cannot be as it is." in answer.text
    assert 'href="#b-q-identify-vehicle--odometer"' in answer.text
    assert 'value="lots &amp; many"' in answer.text
    assert len(re.findall(r"<input[^>]* checked", answer.text)) == 2
    again = {**hidden(answer.text), **typed, f"typed|{ODOMETER}|km": "211 600"}
    for _ in range(2):  # a second tap
        assert client.form(f"/jobs/{job}/boxes", again).headers["location"] == f"/jobs/{job}"
    assert [line.kind for line in job_view(shop, job).lines] == ["odometer", "turned", "mark"]


def test_what_the_queue_is_told(client: BenchClient, shop: Shop, person: Actor) -> None:
    job = begin(shop, person, DAMSON)
    headers = {"x-csrf": client.token(), "accept": "application/json", "idempotency-key": "k-1"}
    sent = {"ticked": [TURNED, 7], "typed": {ODOMETER: {"km": "211 600", "other": None}, "x": 1}, "after": 0}
    for repeated in (False, True):
        answer = client.post(f"/jobs/{job}/boxes", json=sent, headers=headers)
        assert answer.status_code == 200
        assert (answer.json()["count"], answer.json()["repeated"]) == (2, repeated)
    for body, key, status in (({"ticked": [MARKS]}, "k-1", 422), ({"ticked": [MARKS]}, "", 400), ([1], "k-2", 400)):
        refused = client.post(f"/jobs/{job}/boxes", json=body, headers={**headers, "idempotency-key": key})
        assert refused.status_code == status
    faulty = client.post(
        f"/jobs/{job}/boxes", json={"typed": {ODOMETER: {"km": "1"}}}, headers={**headers, "idempotency-key": "k-3"}
    )
    assert faulty.status_code == 422
    assert list(faulty.json()["error"]["fields"]) == [ODOMETER]
    assert len(job_view(shop, job).lines) == 2


# at the office -------------------------------------------------------------------------------------------------------
@pytest.fixture
def damson(bench: RunningBench) -> int:
    """A job on the Damson, with a drawer."""
    drawer(bench.shop, bench.actor)
    return begin(bench.shop, bench.actor, DAMSON)


def square(page: Page, box: str, key: str) -> Locator:
    """A square of the page."""
    return page.locator(f'[name="typed|{box}|{key}"]')


def test_by_the_keyboard_alone_in_the_printed_order(
    browser_page: Callable[..., Page], bench: RunningBench, damson: int
) -> None:
    page = browser_page()
    page.goto(f"/jobs/{damson}/boxes")
    page.locator('form [name^="tick|"]').first.focus()
    keys, typed = 0, 0
    at = "document.activeElement.name || document.activeElement.textContent"
    while not (name := str(page.evaluate(at))).startswith("Enter these"):
        sort, _, rest = name.partition("|")
        box, _, key = rest.partition("|")
        text = DAMSON_PAPER.get(box, {}).get(key, "")
        page.keyboard.type(text)
        leave = sort == "tick" and box == "isolate-high-voltage/signed"
        page.keyboard.press("Tab" if leave else "Enter")
        keys, typed = keys + 1, typed + len(text)
        assert keys < 120, name
    page.keyboard.press("Enter")
    expect(page).to_have_url(re.compile(rf"/jobs/{damson}$"), timeout=30_000)
    print(f"\nDamson by the keyboard: {keys + 1} keys besides {typed} typed signs")
    view = job_view(bench.shop, damson)
    assert view.proof.assessment.verdict.value == "proven"
    assert "isolate-high-voltage" not in [line.step for line in view.lines]


def test_tab_follows_the_print(browser_page: Callable[..., Page], bench: RunningBench, damson: int) -> None:
    page = browser_page("phone")
    page.goto(f"/jobs/{damson}/boxes")
    page.locator('form [name^="tick|"]').first.focus()
    seen = []
    for _ in range(120):
        name = str(page.evaluate("document.activeElement.name"))
        if "|" in name:
            seen.append(name.split("|")[1])
        page.keyboard.press("Tab")
    assert list(dict.fromkeys(seen)) == [box.id for box in boxes(job_view(bench.shop, damson))]


def test_a_fault_keeps_everything_and_outlasts_a_reload(
    browser_page: Callable[..., Page], bench: RunningBench, damson: int, slips: list[str]
) -> None:
    page = browser_page("phone")
    page.goto(f"/jobs/{damson}/boxes")
    page.locator("[data-all]").last.click()
    square(page, ODOMETER, "km").fill("lots")
    page.locator("[data-enter]").click()
    expect(page.locator("#trouble")).to_contain_text("1 box cannot be as it is", timeout=30_000)
    expect(page.locator("#trouble")).to_contain_text('Step 1, Odometer: found "lots"')
    expect(page.locator(f'[data-box="{ODOMETER}"] > .fault')).to_be_visible()
    look_over(page, "boxes-fault")
    assert job_view(bench.shop, damson).lines == ()
    page.reload()
    expect(square(page, ODOMETER, "km")).to_have_value("lots")
    expect(page.locator("[data-enter]")).to_have_text("Enter these 5 boxes")
    expect(page.locator("#waiting")).to_be_hidden()
    square(page, ODOMETER, "km").fill("211600")
    page.locator("[data-enter]").click()
    expect(page).to_have_url(re.compile(rf"/jobs/{damson}$"), timeout=30_000)
    assert len(job_view(bench.shop, damson).lines) == 6  # and the drawer's tool
    page.goto(f"/jobs/{damson}/boxes")
    expect(page.locator("[data-enter]")).to_have_text("Enter these")
    slips.clear()  # the browser itself writes the refusal into the console


def test_without_connection_they_wait_and_arrive_once(
    browser_page: Callable[..., Page], bench: RunningBench, damson: int, slips: list[str]
) -> None:
    page = browser_page()
    page.goto(f"/jobs/{damson}/boxes")
    page.context.set_offline(True)
    page.locator("[data-all]").last.click()
    page.locator("[data-enter]").click()
    expect(page.locator(".on-the-way")).to_contain_text("4 boxes of the paper plan: waiting here", timeout=30_000)
    page.get_by_role("button", name="Take them back").click()
    square(page, ODOMETER, "km").fill("211600")
    page.locator("[data-enter]").click()
    expect(page.locator("#waiting")).to_contain_text("1 entry waits here")
    look_over(page, "boxes-offline")
    page.context.set_offline(False)
    page.get_by_role("button", name="Send now").click()
    expect(page).to_have_url(re.compile(rf"/jobs/{damson}$"), timeout=30_000)
    assert [line.kind for line in job_view(bench.shop, damson).lines].count("odometer") == 1
    slips.clear()  # the browser itself writes requests without connection into the console
