"""Steps of the plan that no entry speaks of: named in order, without those that may not apply."""

from __future__ import annotations

from typing import Any

from tests.job.paper_jobs import engine, make_entry

from twoturn.job.asked.no_entry import steps_with_no_entry
from twoturn.job.asked.now import what_now
from twoturn.job.asked.steps import asked
from twoturn.job.assess import assess
from twoturn.plan import VehicleFacts, make_plan

DRIVE = engine("alder-one-cam")
PLAN = make_plan(DRIVE, VehicleFacts())
NUT: dict[str, Any] = {"kind": "torque", "fastener": "roller nut", "set": 35, "done": "set-tensioner"}


def left(*rows: dict[str, Any]) -> list[str]:
    return [step.id for step in steps_with_no_entry(DRIVE, PLAN, [make_entry(**row) for row in rows])]


def test_every_step_without_a_condition_is_named_in_order_where_nothing_was_entered() -> None:
    plain = [step.id for step in PLAN.steps if not step.only_if]
    assert left() == plain
    assert len(plain) < len(PLAN.steps)


def test_a_step_is_spoken_of_by_its_entry_by_being_left_and_by_an_entry_that_names_no_step() -> None:
    assert "set-tensioner" not in left(NUT)
    away = {"kind": "step done", "step": "road-test", "yes": False, "note": "no plates"}
    assert "road-test" not in left(away)
    assert "identify-vehicle" not in left({"kind": "odometer", "km": 118400})


def test_an_entry_struck_out_speaks_of_nothing() -> None:
    assert "set-tensioner" in left(NUT, {"kind": "struck out", "replaces": 1, "reason": "another car"})


def test_a_leads_reason_stands_until_the_check_has_a_newer_entry() -> None:
    """The hand-over and what is to be done now go by the same rule: `Assessment.answered`."""
    spite = {"kind": "override", "check": "torque-roller-nut", "reason": "tool was wrong", "by": "I. Brook"}

    def sort(*rows: dict[str, Any]) -> tuple[bool, str]:
        entries = [make_entry(**row) for row in rows]
        found = assess(DRIVE, entries)
        now = what_now(DRIVE, PLAN, entries, asked(DRIVE, PLAN, entries), found)
        return found.answered(found.check("torque-roller-nut")) is not None, now.title

    title = "Not met: Tightening: roller nut (M8)"
    assert sort(NUT) == (False, title)
    answered, then = sort(NUT, spite)
    assert answered
    assert then != title
    assert sort(NUT, spite, {**NUT, "set": 40}) == (False, title)
    assert sort(spite, NUT) == (False, title)
