"""What earlier jobs on a drive found: only notes of set belts after the turns by hand, one a job, the last four."""

from __future__ import annotations

import math
from typing import Any

import pytest

from twoturn.acts.drive_files import shipped_drives
from twoturn.acts.shop import drives
from twoturn.acts.shop.drive_page import drive_page
from twoturn.acts.shop.earlier import earlier_notes, earlier_words, next_note
from twoturn.acts.shop.entries import add_entries
from twoturn.acts.shop.job_view import job_view, judged
from twoturn.acts.shop.jobs import close_job, start_job
from twoturn.acts.shop.people import Actor
from twoturn.acts.shop.shop import Shop
from twoturn.quantity.reading import Reading
from twoturn.store.records.vehicles import Vehicle

SPAN = "roller:camshaft"
FITTED: dict[str, Any] = {"kind": "belt fitted", "done": "thread-belt"}
TURNED: dict[str, Any] = {"kind": "turned", "turns": 2, "done": "turn-by-hand"}


def _note(hz: float, u: float = 0.4, **more: Any) -> dict[str, Any]:
    return {"kind": "measured", "quantity": "frequency", "at": SPAN, "value": hz, "unit": "Hz", "u": u, **more}


def _job(shop: Shop, actor: Actor, car: Vehicle, version_id: int, *rows: dict[str, Any]) -> int:
    job = start_job(shop, actor, car.id, version_id)
    add_entries(shop, actor, job.id, list(rows), f"k{job.id}")
    return job.id


def test_the_last_four_notes_of_a_span_are_told(workshop: Shop, ida: Actor, car: Vehicle, alder: int) -> None:
    drive_id = drives.drive_of(workshop, alder).version.drive_id
    assert earlier_notes(workshop, drive_id, judged) == ()
    for hz in (99.0, 101.0, 102.0, 100.0, 101.5):
        _job(workshop, ida, car, alder, FITTED, TURNED, _note(hz, done="prove-setting"))
    (found,) = earlier_notes(workshop, drive_id, judged)
    assert found.span == SPAN
    assert [note.value for note in found.notes] == [101.5, 100.0, 102.0, 101.0]
    # mean 101.125, s 0.854, t(3) 3.182 (Student's table): 3.182 * 0.854 * sqrt(1 + 1/4) = 3.04
    assert found.words == "last four notes here: 101 ± 3 Hz"
    assert drive_page(workshop, drive_id).earlier == (found,)


def test_only_notes_of_a_set_belt_after_the_turns_count(workshop: Shop, ida: Actor, car: Vehicle, alder: int) -> None:
    drive_id = drives.drive_of(workshop, alder).version.drive_id
    _job(workshop, ida, car, alder, _note(70.0, as_found=True, done="record-as-found"))
    _job(workshop, ida, car, alder, FITTED, _note(80.0, done="set-tensioner"))
    _job(workshop, ida, car, alder, FITTED, TURNED, _note(90.0, done="prove-setting"), {**FITTED, "pass": 2})
    assert earlier_notes(workshop, drive_id, judged) == ()
    counted = _job(workshop, ida, car, alder, FITTED, TURNED, _note(101.0, done="prove-setting"))
    (found,) = earlier_notes(workshop, drive_id, judged)
    assert found.words == "last note here: 101.0 ± 0.8 Hz"
    assert earlier_words(workshop, drive_id, judged, before=counted) == {}


def test_every_version_of_a_drive_counts(workshop: Shop, ida: Actor, car: Vehicle, alder: int) -> None:
    text = shipped_drives()["alder-one-cam"]
    drive_id = drives.drive_of(workshop, alder).version.drive_id
    newer = drives.change_drive(workshop, ida, drive_id, text.replace("back_mm = 1.5", "back_mm = 1.6"))
    for version in (alder, newer.id):
        _job(workshop, ida, car, version, FITTED, TURNED, _note(100.0, done="prove-setting"))
    assert len(earlier_notes(workshop, drive_id, judged)[0].notes) == 2


def test_notes_that_agree_too_well_are_no_surer_than_they_are() -> None:
    found = next_note([Reading(101.0, 0.5, "Hz")] * 4)
    assert (found.value, found.dof) == (101.0, math.inf)
    assert found.u == pytest.approx(0.5 * math.sqrt(1.25))


def test_a_question_tells_only_what_earlier_jobs_read_of_its_own_quantity(
    workshop: Shop, ida: Actor, car: Vehicle, alder: int
) -> None:
    pushed = {"kind": "deflection", "at": SPAN, "deflection_mm": 3.4, "force_n": 20.0, "done": "prove-setting"}
    _job(workshop, ida, car, alder, FITTED, TURNED, _note(144.0, done="prove-setting"), pushed)
    new = start_job(workshop, ida, car.id, alder)
    told = {one.id: one.earlier for group in job_view(workshop, new.id).asked.values() for one in group if one.earlier}
    assert {words.partition(": ")[0] for words in told.values()} == {"last note here", "last reading here"}
    assert told["prove-setting/pluck/frequency-roller-camshaft"] == "last note here: 144.0 ± 0.8 Hz"
    assert all(asked.startswith("prove-setting/") for asked in told)


def test_jobs_begun_later_do_not_count_and_neither_does_a_belt_that_was_struck_out(
    workshop: Shop, ida: Actor, car: Vehicle, alder: int
) -> None:
    first = _job(workshop, ida, car, alder, {**FITTED, "arrow": "none"}, {**FITTED, "arrow": "with travel"})
    add_entries(workshop, ida, first, [{"kind": "struck out", "replaces": 2, "reason": "typed twice"}], "strike")
    asking = start_job(workshop, ida, car.id, alder)
    later = _job(workshop, ida, car, alder, {**FITTED, "arrow": "with travel"}, TURNED, _note(150.0))
    for job in (first, later):
        close_job(workshop, ida, job)
    known = job_view(workshop, asking.id).known
    assert (known.arrow, dict(known.earlier)) == ("none", {})
