"""Drives that say less, or ask for more, than the shipped ones: what is required is asked, and so it is proven."""

from __future__ import annotations

import random
import tomllib
from collections.abc import Callable
from typing import Any

import pytest
import tomli_w
from tests.job.asked import answering
from tests.job.asked.answering import ENGINES, Bench

from twoturn.acts.drive_files import shipped_drives
from twoturn.drive.load import read_drive
from twoturn.job.asked.homes import AS_FOUND, PROVING
from twoturn.plan import make_plan
from twoturn.quantity.conformity import Verdict
from twoturn.words.terms import DEFAULT_UNITS, QUANTITIES

Document = dict[str, Any]
NUMBERLESS = ("pin", "hand twist")


def bench_of(name: str, document: Document, monkeypatch: pytest.MonkeyPatch) -> Bench:
    """A job by a drive of the test's own."""
    drive = read_drive(tomli_w.dumps(document), name)
    plan = make_plan(drive)
    monkeypatch.setattr(answering, "engine", lambda _name: drive)
    monkeypatch.setattr(answering, "plan_of", lambda _name: plan)
    return Bench(name)


def document_of(name: str) -> Document:
    return tomllib.loads(shipped_drives()[name])


def without_requirements(document: Document) -> None:
    document.pop("requirement", None)


def without_values(document: Document) -> None:
    without_requirements(document)
    for tensioner in document["tensioner"]:
        for key in ("window_deg", "window_mm", "setting"):
            tensioner.pop(key, None)


def without_pins_that_nothing_asks_for(document: Document) -> None:
    document.pop("pin", None)


def without_fasteners(document: Document) -> None:
    document.pop("fastener", None)
    for tensioner in document["tensioner"]:
        tensioner.pop("setting", None)


def without_marks(document: Document) -> None:
    for pulley in document["pulley"]:
        pulley.pop("mark_deg", None)
        pulley.pop("mark_on", None)
    for belt in document["belt"]:
        belt.pop("marks", None)


@pytest.mark.parametrize(
    "less",
    [without_requirements, without_values, without_pins_that_nothing_asks_for, without_fasteners, without_marks],
)
@pytest.mark.parametrize("name", ENGINES)
def test_a_drive_that_says_less_is_asked_what_it_still_needs(
    name: str, less: Callable[[Document], None], monkeypatch: pytest.MonkeyPatch
) -> None:
    document = document_of(name)
    less(document)
    bench = bench_of(name, document, monkeypatch)
    bench.work_on()
    assert bench.found.verdict is Verdict.PROVEN, [(c.id, c.why) for c in bench.found.required if c.next]
    assert bench.now.sort == "hand over"


@pytest.mark.parametrize("state", [None, "as found", "as set", "after turns"])
@pytest.mark.parametrize("quantity", QUANTITIES)
def test_whatever_a_drive_requires_is_asked_for(
    quantity: str, state: str | None, monkeypatch: pytest.MonkeyPatch
) -> None:
    document = document_of("damson-rotary-pump")
    document["requirement"].append(requirement(quantity, state))
    bench = bench_of("damson-rotary-pump", document, monkeypatch)
    asked = {check for one in bench.every.values() for check in one.checks}
    assert [check.id for check in bench.found.required if check.id not in asked] == []
    mine = [one for one in bench.every.values() if f"extra-{quantity.replace(' ', '-')}" in one.checks]
    if not mine:
        assert quantity in ("torque", "angle")  # those are asked for by their fastener
        return
    assert mine[0].needed
    base = mine[0].step.partition("@")[0]
    assert (base == AS_FOUND) == (state == "as found")
    if quantity in ("mark", "pin", "pin depth", "cam phase") and state == "after turns":
        assert base in PROVING


def requirement(quantity: str, state: str | None) -> Document:
    """A requirement on anything, where a drive may ask for it."""
    at = {
        "torque": "slide nuts", "angle": "slide nuts", "pointer": "roller", "protrusion": "roller", "mark": "camshaft",
        "cam phase": "camshaft", "pin": "camshaft", "pin depth": "camshaft", "play": "crankshaft",
        "width": "timing belt", "offset": "roller", "runout": "crankshaft", "pump lift": "injection pump",
    }.get(quantity, "guide roller:crankshaft")  # fmt: skip
    row: Document = {"id": f"extra {quantity}", "quantity": quantity, "source": "invented"}
    row |= {"at": at} if quantity != "compression" else {}
    row |= {"state": state} if state else {}
    row |= {} if quantity in NUMBERLESS else {"low": 1.0, "high": 5.0}
    row |= {"unit": DEFAULT_UNITS[quantity]} if quantity in DEFAULT_UNITS and quantity not in NUMBERLESS else {}
    return row


def test_two_requirements_on_one_reading_ask_once(monkeypatch: pytest.MonkeyPatch) -> None:
    document = document_of("birch-two-cams")
    document["requirement"].append(
        requirement("pointer", "after turns") | {"at": "tensioner", "low": -3.0, "high": 3.0}
    )
    bench = bench_of("birch-two-cams", document, monkeypatch)
    asked = [one for one in bench.questions["prove-setting"] if one.kind == "pointer"]
    assert [set(one.checks) >= {"pointer-after-the-turns", "extra-pointer"} for one in asked] == [True]


@pytest.mark.parametrize("seed", range(2))
@pytest.mark.parametrize("name", ENGINES)
def test_typed_in_the_evening_in_any_order_of_steps_it_is_the_same_proof(name: str, seed: int) -> None:
    bench = Bench(name)
    bench.work_on()
    steps: dict[str, list[dict[str, Any]]] = {}
    for row in bench.job.raw[1:]:
        steps.setdefault(str(row["done"]), []).append(row)
    order = list(steps)
    random.Random(f"{name} {seed}").shuffle(order)
    evening = Bench(name)
    evening.enter(*(row for step in order for row in steps[step]))
    assert evening.found.verdict is Verdict.PROVEN
    assert evening.now.sort == "hand over"


@pytest.mark.parametrize("name", ENGINES)
def test_answers_by_one_tap_in_any_order_never_lead_astray(name: str) -> None:
    """Whoever taps about gets no fault, and is always told something to do."""
    rng = random.Random(name)
    bench = Bench(name)
    for _ in range(25):
        ready = [one.id for one in bench.every.values() if one.quick is not None]
        bench.tap(rng.choice(ready))
        assert bench.now.title
        assert bench.now.words
        assert bench.now.step_id in bench.questions
