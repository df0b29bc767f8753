"""Every needed question of every shipped drive answered: the job is proven, as a careful paper job is.

What a proof needs is common practice (no source): belt counted, set, turned twice, marks or pins, setting, torques.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import pytest
from tests.job.asked.answering import ENGINES, KNOWN, Bench, engine, is_open, plan_of

from twoturn.job.asked.model import Known
from twoturn.job.asked.steps import asked
from twoturn.job.assess import assess
from twoturn.job.entries.union import KINDS
from twoturn.job.steps import step_numbers
from twoturn.quantity.conformity import Verdict


@pytest.mark.parametrize("name", ENGINES)
def test_every_needed_question_answered_ends_proven(name: str) -> None:
    bench = Bench(name)
    bench.work_on()
    assert bench.found.verdict is Verdict.PROVEN, [(c.id, c.why) for c in bench.found.required if c.next]
    assert [one.id for one in bench.every.values() if is_open(one)] == []


@pytest.mark.parametrize("name", ENGINES)
def test_all_torques_by_one_tap_at_the_end_prove_as_well(name: str) -> None:
    bench = Bench(name)
    bench.tap("fit-covers/torque/all")
    assert [one.id for one in bench.every.values() if is_open(one) and one.kind == "torque"] == []
    bench.work_on()
    assert bench.found.verdict is Verdict.PROVEN


@pytest.mark.parametrize("name", ENGINES)
def test_no_needed_question_is_asked_for_nothing(name: str) -> None:
    """Without its answer the job is not proven; work that only a later reading rests on is asked for all the same."""
    whole = Bench(name)
    whole.work_on()
    assert whole.found.verdict is Verdict.PROVEN
    for left_out, number in whole.answered.items():
        without = assess(whole.drive, whole.entries[: number - 1] + whole.entries[number:])
        assert without.verdict is not Verdict.PROVEN or _is_work(left_out) or _told_again(left_out, whole), left_out


def _is_work(asked_id: str) -> bool:
    """Work that no check reads by itself: what is read after it shows it."""
    settled = ("turn-to-settle", "static-pump-timing/turned")
    return asked_id.startswith(settled) or "/adjuster-moved/" in asked_id


def _told_again(asked_id: str, bench: Bench) -> bool:
    """Whether another answer says the same: a mark and a pin of one shaft, two readings, pins not seen to go in."""
    checks = set(bench.every[asked_id].checks)
    others = {check for one in bench.answered if one != asked_id for check in bench.every[one].checks}
    return bool(checks) and checks <= others | {"pins-out"}


@pytest.mark.parametrize("name", ENGINES)
def test_ids_are_unique_and_name_a_step_a_kind_and_checks_that_exist(name: str) -> None:
    bench = Bench(name)
    ids = Counter(one.id for group in bench.questions.values() for one in group)
    assert [one for one, count in ids.items() if count > 1] == []
    bench.work_on()
    checks = {check.id for check in bench.found.checks}
    needs_instruments = ("phase-", "tang", "tensioner", "pins-out", "finding-")
    for one in bench.every.values():
        assert one.step in step_numbers(bench.drive)
        assert one.kind in KINDS
        assert one.id.startswith(f"{one.step}/")
        unknown = [check for check in one.checks if check not in checks and not check.startswith(needs_instruments)]
        assert unknown == [], one.id


@pytest.mark.parametrize("name", ENGINES)
def test_ids_are_the_same_in_every_round_and_whatever_is_answered(name: str) -> None:
    bench = Bench(name)
    before = set(bench.every)
    bench.work_on()
    after = set(bench.every)
    counted_out = {one for one in after - before if one.endswith("/pin-out")}
    assert before <= after
    assert after - before == counted_out


@pytest.mark.parametrize("name", ENGINES)
def test_every_required_check_can_be_answered(name: str) -> None:
    bench = Bench(name)
    answers = {check for one in bench.every.values() for check in one.checks}
    assert [check.id for check in bench.found.required if check.id not in answers] == []


def test_the_second_job_says_what_the_first_ones_found() -> None:
    said = "last four notes here: 101 ± 2 Hz"
    known = replace(KNOWN, earlier={"frequency camshaft:roller": said}, arrow="none", teeth_from="counted")
    found = asked(engine("alder-one-cam"), plan_of("alder-one-cam"), (), known)
    note = next(one for one in found["prove-setting"] if one.kind == "pluck")
    assert note.earlier == said
    belt = next(one for one in found["thread-belt"] if one.kind == "belt fitted")
    assert belt.quick == "109 teeth counted, no arrow on it"


def test_an_answer_in_part_leaves_the_rest_filled_in() -> None:
    bench = Bench("fir-vee-six")
    bench.type("prove-timing/mark", {"at": ("crankshaft", "left camshaft"), "reads": "on"})
    rest = bench.every["prove-timing/mark"]
    assert rest.done == (2,)
    assert not rest.answered
    assert rest.quick_values["at"] == ("right camshaft",)
    bench.tap("prove-timing/mark")
    assert bench.every["prove-timing/mark"].answered


def test_a_row_of_fasteners_is_ticked_off_one_by_one_and_one_may_have_its_own_value() -> None:
    bench = Bench("birch-two-cams")
    row = "tighten-hubs/torque"
    bench.type(row, {"fastener": ("exhaust camshaft bolt",), "tool": ("A",)})
    assert bench.every[row].filled["fastener"] == ("inlet camshaft bolt",)
    bench.type(row, {"row.inlet camshaft bolt": "20; 55°", "tool": ("A",)})
    assert bench.every[row].answered
    assert bench.job.raw[-1]["row"] == {"inlet camshaft bolt": ["20 N·m", "55°"]}


def test_a_row_with_one_own_value_keeps_the_plans_for_the_others() -> None:
    bench = Bench("birch-two-cams")
    given = {"fastener": ("exhaust camshaft bolt",), "row.inlet camshaft bolt": "21 Nm, then 50°", "tool": ("A",)}
    bench.type("tighten-hubs/torque", given)
    stages = bench.job.raw[-1]["row"]
    assert stages == {"exhaust camshaft bolt": "60 N·m", "inlet camshaft bolt": ["21 Nm", "50°"]}
    assert bench.every["tighten-hubs/torque"].answered


def test_without_a_drawer_the_tool_is_described_once_and_then_named() -> None:
    bench = Bench("damson-rotary-pump", known=Known())
    given = {"tool": "wrench A", "low_nm": "10", "high_nm": "100", "calibrated": "14.10.2025"}
    bench.type("lay-out-parts/tool", given)
    assert bench.every["finish-setting/torque"].quick == "to plan, tool wrench A"
    bench.work_on()
    assert bench.found.verdict is Verdict.PROVEN


def test_a_pin_nobody_put_in_is_not_counted_out() -> None:
    bench = Bench("birch-two-cams")
    assert "prove-timing/pin-out" not in bench.every
    bench.type("prove-timing/pin-in", {"pin": ("crankshaft pin",), "freely": "yes"})
    assert bench.every["prove-timing/pin-out"].quick == "one pin out, counted"


def test_a_photo_and_a_remark_find_their_questions_again() -> None:
    bench = Bench("alder-one-cam")
    number = bench.type("drain-coolant/remark/drained", {"text": "5,5"})
    assert bench.job.raw[-1]["text"] == "Drained: 5,5"
    assert bench.every["drain-coolant/remark/drained"].done == (number,)
    photo = "open-covers/photo/the-belt-drive-as-found"
    number = bench.type(photo, {"file": "cover.jpg", "shows": "the belt drive as found"})
    assert bench.every[photo].done == (number,)


def test_entries_of_a_job_file_without_steps_are_found_by_what_they_say() -> None:
    bench = Bench("alder-one-cam")
    bench.enter({"kind": "belt fitted", "teeth": 109, "arrow": "none"}, {"kind": "odometer", "km": 118420})
    assert bench.every["thread-belt/belt-fitted"].answered
    assert bench.every["identify-vehicle/odometer"].done == (3,)
    assert bench.every["road-test/odometer"].done == ()
