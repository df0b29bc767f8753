"""The boxes of the paper plan: what is one, and what becomes of ticks, numbers, faults and second sendings."""

from __future__ import annotations

from dataclasses import replace

import pytest
from tests.acts.shop.conftest import Clock

from twoturn.acts.drive_files import shipped_drives
from twoturn.acts.shop import drives
from twoturn.acts.shop.answers import Answer, answer, go_back
from twoturn.acts.shop.box_entries import BoxesRefused, Filled, enter_boxes
from twoturn.acts.shop.boxes import Box, boxes
from twoturn.acts.shop.job_view import job_view
from twoturn.acts.shop.jobs import start_job
from twoturn.acts.shop.people import Actor
from twoturn.acts.shop.shop import Shop
from twoturn.acts.shop.tools import add_calibration, save_tool
from twoturn.errors import Fault, FileFaults, TwoTurnError
from twoturn.job.asked.model import Units
from twoturn.store.faults import KeyReused
from twoturn.store.records import vehicles

ODOMETER, TOOL, NUTS = "identify-vehicle/odometer", "lay-out-parts/tool", "finish-setting/torque"
LIFT = "static-pump-timing/pump-lift/pump-lift-injection-pump"
TURNED, MARKS = "turn-by-hand/turned", "prove-timing/mark"
WRENCH = {"tool": "A", "low_nm": "10", "high_nm": "100", "calibrated": "2.6.2025"}


@pytest.fixture
def job(workshop: Shop, ida: Actor, car: vehicles.Vehicle) -> int:
    version = drives.keep_drive(workshop, ida, shipped_drives()["damson-rotary-pump"])
    return start_job(workshop, ida, car.id, version.id).id


def found(workshop: Shop, job: int) -> dict[str, Box]:
    return {box.id: box for box in boxes(job_view(workshop, job))}


def test_a_box_for_everything_that_a_required_check_waits_for(workshop: Shop, job: int) -> None:
    view = job_view(workshop, job)
    needed = [one.id for asked in view.asked.values() for one in asked if one.needed]
    assert set(needed) <= {box.id for box in boxes(view)}
    assert len(needed) > 15


def test_boxes_are_in_the_printed_order_and_have_the_squares_of_the_paper(workshop: Shop, job: int) -> None:
    mine = found(workshop, job)
    numbers = [box.number for box in mine.values()]
    assert numbers == sorted(numbers)
    assert [square.key for square in mine[LIFT].squares] == ["lift_mm", "lift_mm.2"]
    assert [square.key for square in mine[ODOMETER].squares] == ["km"]
    assert [square.key for square in mine[TURNED].squares] == ["turns"]
    assert not any("torque/all" in id_ or "/photo/" in id_ for id_ in mine)


def test_ticks_and_numbers_become_entries_in_the_printed_order(workshop: Shop, ida: Actor, job: int) -> None:
    typed = {LIFT: {"lift_mm": "0,92", "lift_mm.2": "0.93"}, ODOMETER: {"km": "211 600"}, TURNED: {"turns": "4"}}
    added = enter_boxes(workshop, ida, job, Filled(frozenset({MARKS, TURNED}), typed), "paper")
    view = job_view(workshop, job)
    assert (added.first, added.count) == (1, 5)
    assert [line.kind for line in view.lines] == ["odometer", "turned", "mark", "pump lift", "pump lift"]
    assert view.lines[1].words == "Turned by hand: four turns"  # what is typed counts over what the tick says
    assert not {ODOMETER, TURNED, MARKS, LIFT} & set(found(workshop, job))


def test_a_torque_takes_the_tool_described_further_up_on_the_paper(workshop: Shop, ida: Actor, job: int) -> None:
    enter_boxes(workshop, ida, job, Filled(frozenset({NUTS}), {TOOL: WRENCH}), "paper")
    view = job_view(workshop, job)
    assert [line.kind for line in view.lines] == ["tool", "torque"]
    assert view.proof.assessment.check("torque-slide-nuts").verdict.value == "proven"


def test_the_drawer_s_tool_comes_along_once(workshop: Shop, ida: Actor, job: int) -> None:
    kept = save_tool(workshop, ida, {"name": "A", "low": "10", "high": "100"})
    add_calibration(workshop, ida, kept.id, {"on": "2025-10-14", "months": "12"})
    enter_boxes(workshop, ida, job, Filled(frozenset({NUTS, "fit-covers/torque"})), "paper")
    assert [line.kind for line in job_view(workshop, job).lines] == ["tool", "torque", "torque"]


def test_numbers_are_in_the_person_s_units(workshop: Shop, ida: Actor, job: int) -> None:
    imperial = Units("lbf·ft", "in", "°F", "mi")
    typed = {ODOMETER: {"km": "100000"}, "cool-and-temperature/temperature": {"temperature_c": "68"}}
    enter_boxes(workshop, ida, job, Filled(frozenset({TURNED}), typed, imperial), "paper")
    km, warm, turned = (entry for entry in job_view(workshop, job).proof.job.file.entries)
    assert km.km == pytest.approx(160934.4)  # 1 mi is 1.609344 km, 68 °F are 20 °C by definition
    assert warm.temperature_c == pytest.approx(20.0)
    assert turned.turns == 2


def test_every_fault_is_told_with_its_box_and_nothing_is_written(workshop: Shop, ida: Actor, job: int) -> None:
    typed = {ODOMETER: {"km": "lots"}, LIFT: {"lift_mm": "0.92", "lift_mm.2": "?"}, NUTS: {"tool": "A"}}
    with pytest.raises(BoxesRefused) as told_:
        enter_boxes(workshop, ida, job, Filled(frozenset({TURNED, MARKS}), typed), "paper")
    fields = told_.value.fields
    assert list(fields) == [ODOMETER, NUTS, LIFT]
    assert fields[ODOMETER].startswith('Step 1, Odometer: found "lots"; expected a number in km')
    assert "a tick where it is tightened to plan" in fields[NUTS]
    assert '"?"' in fields[LIFT]
    assert "(and 2 more)" in told_.value.sentence
    assert job_view(workshop, job).lines == ()


def test_nothing_at_all_is_refused(workshop: Shop, ida: Actor, job: int) -> None:
    with pytest.raises(TwoTurnError, match="nothing is ticked"):
        enter_boxes(workshop, ida, job, Filled(frozenset(), {ODOMETER: {"km": "  "}}), "paper")


def test_a_sending_that_comes_again_writes_nothing(workshop: Shop, ida: Actor, job: int, clock: Clock) -> None:
    kept = save_tool(workshop, ida, {"name": "A", "low": "10", "high": "100"})
    add_calibration(workshop, ida, kept.id, {"on": "2025-10-14", "months": "12"})
    air = "cool-and-temperature/temperature/shop-air"
    typed = {ODOMETER: {"km": "211600"}, air: {"temperature_c": "18"}}
    paper = Filled(frozenset({TURNED, NUTS, "identify-vehicle/vehicle"}), typed)
    first = enter_boxes(workshop, ida, job, paper, "paper")
    go_back(workshop, ida, job, "turn-by-hand", "", "back")  # the job has grown, and asks some of it anew
    clock.on(minutes=5)
    again = enter_boxes(workshop, ida, job, replace(paper, waited_s=300.0), "paper")
    assert (again.first, again.count, again.repeated) == (first.first, first.count, True)
    with pytest.raises(KeyReused):
        enter_boxes(workshop, ida, job, Filled(frozenset({TURNED})), "paper")
    assert len(job_view(workshop, job).lines) == first.count + 1


def test_a_box_entered_meanwhile_is_told_and_the_rest_waits(workshop: Shop, ida: Actor, job: int) -> None:
    paper = Filled(frozenset({TURNED, MARKS}))
    answer(workshop, ida, job, Answer(TURNED, quick=True), "somebody else")
    with pytest.raises(BoxesRefused) as told_:
        enter_boxes(workshop, ida, job, paper, "paper")
    assert list(told_.value.fields) == [TURNED]
    assert "entered meanwhile (Turned by hand: two turns)" in told_.value.fields[TURNED]
    enter_boxes(workshop, ida, job, Filled(frozenset({MARKS})), "paper")
    assert [line.kind for line in job_view(workshop, job).lines] == ["turned", "mark"]


def test_a_box_of_no_job_is_told(workshop: Shop, ida: Actor, job: int) -> None:
    with pytest.raises(BoxesRefused, match="is no box of this job any more"):
        enter_boxes(workshop, ida, job, Filled(frozenset({"no/such"})), "paper")
    with pytest.raises(BoxesRefused, match="a square of this box"):
        enter_boxes(workshop, ida, job, Filled(frozenset(), {ODOMETER: {"kk": "7"}}), "paper")
    with pytest.raises(BoxesRefused, match="what stands in its squares"):
        enter_boxes(workshop, ida, job, Filled(frozenset({ODOMETER})), "paper")


def test_a_fault_that_the_record_finds_is_told_at_its_box(
    workshop: Shop, ida: Actor, job: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    answer(workshop, ida, job, Answer("turn-to-settle/turned", quick=True), "one before")

    def refuse(*_: object, **__: object) -> None:
        raise FileFaults([Fault("job 1", None, "entry[3].at", '"axle"', "a wheel of this drive")])

    monkeypatch.setattr("twoturn.acts.shop.box_entries.add_entries", refuse)
    with pytest.raises(BoxesRefused) as told_:
        enter_boxes(workshop, ida, job, Filled(frozenset({TURNED, MARKS})), "paper")
    assert list(told_.value.fields) == [MARKS]
    assert told_.value.fields[MARKS].endswith('found "axle"; expected a wheel of this drive.')


def test_a_trainee_has_no_box_for_a_signature(workshop: Shop, trainee: Actor, job: int) -> None:
    signed = "hand-over/signed"
    assert signed not in {box.id for box in boxes(job_view(workshop, job), may_sign=False)}
    with pytest.raises(BoxesRefused, match="that of a technician or a lead"):
        enter_boxes(workshop, trainee, job, Filled(frozenset({signed, TURNED})), "paper")
    enter_boxes(workshop, trainee, job, Filled(frozenset({TURNED})), "paper")
    assert [line.by for line in job_view(workshop, job).lines] == [trainee.name]


def test_what_waited_was_typed_earlier(workshop: Shop, ida: Actor, job: int) -> None:
    enter_boxes(workshop, ida, job, Filled(frozenset({TURNED}), waited_s=7200.0), "paper")
    assert job_view(workshop, job).lines[0].marks == ("came 2 hours after it was typed",)
