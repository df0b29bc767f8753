"""Every sending of a job sent once more when the job has gone on: the first answers come, and nothing is written."""

from __future__ import annotations

import io

import pytest
from PIL import Image
from tests.acts.shop.conftest import Clock

from twoturn.acts.drive_files import shipped_drives
from twoturn.acts.shop import drives
from twoturn.acts.shop.answers import Answer, answer, go_back, strike_out
from twoturn.acts.shop.entries import add_entries
from twoturn.acts.shop.job_view import job_view
from twoturn.acts.shop.jobs import start_job
from twoturn.acts.shop.people import Actor
from twoturn.acts.shop.recording_asked import SentFile, questions_of, take_in
from twoturn.acts.shop.shop import Shop
from twoturn.acts.shop.tools import add_calibration, save_tool
from twoturn.store.faults import KeyReused
from twoturn.store.records import vehicles

AIR = "cool-and-temperature/temperature/shop-air"
MOST_TAPS = 200
KNOWN_ANEW = "alder-one-cam"
"""The drive of the job before whose second sendings the drawer and the day are others."""


def a_job(shop: Shop, ida: Actor, car: vehicles.Vehicle, drive: str) -> int:
    """A job by a shipped drive, with a torque wrench in the drawer."""
    version = drives.keep_drive(shop, ida, shipped_drives()[drive])
    return start_job(shop, ida, car.id, version.id).id


def a_wrench(shop: Shop, ida: Actor, name: str, day: str) -> None:
    tool = save_tool(shop, ida, {"name": name, "low": "5", "high": "200"})
    add_calibration(shop, ida, tool.id, {"on": day, "months": "12"})


def tapped(shop: Shop, ida: Actor, job: int) -> list[str]:
    """Every question that one tap answers, tapped in the order of the work; the key of each is its id."""
    done: list[str] = []
    while len(done) < MOST_TAPS:
        view = job_view(shop, job)
        every = (one for asked in view.asked.values() for one in asked)
        new = [one.id for one in every if one.quick is not None and one.id not in done]
        if not new:
            return done
        for asked in new:
            answer(shop, ida, job, Answer(asked, quick=True), asked)
            done.append(asked)
    raise AssertionError("the taps never end")


@pytest.mark.parametrize("drive", sorted(shipped_drives()))
def test_every_tap_sent_again_later_writes_nothing(
    workshop: Shop, ida: Actor, car: vehicles.Vehicle, clock: Clock, drive: str
) -> None:
    a_wrench(workshop, ida, "A", "2025-10-14")
    job = a_job(workshop, ida, car, drive)
    done = tapped(workshop, ida, job)
    assert len(done) > 8
    rows = [{"kind": "odometer", "km": 90210}, {"kind": "temperature", "of": "shop air", "temperature_c": 18}]
    add_entries(workshop, ida, job, rows, "later entries")
    go_back(workshop, ida, job, next(iter(job_view(workshop, job).asked)), "", "back")
    strike_out(workshop, ida, job, 1, "by mistake", "struck")
    if drive == KNOWN_ANEW:
        a_wrench(workshop, ida, "B", "2026-02-20")
        clock.on(days=1)
    count = len(job_view(workshop, job).lines)
    again = [answer(workshop, ida, job, Answer(asked, quick=True, waited_s=86400.0), asked) for asked in done]
    assert [asked for asked, one in zip(done, again, strict=True) if not one.repeated] == []
    assert go_back(workshop, ida, job, "no-matter", "", "back").repeated
    assert len(job_view(workshop, job).lines) == count


def test_what_was_typed_comes_again_after_its_question_has_changed(
    workshop: Shop, ida: Actor, car: vehicles.Vehicle, clock: Clock
) -> None:
    job = a_job(workshop, ida, car, "alder-one-cam")
    air = Answer(AIR, {"temperature_c": "18"})
    first = answer(workshop, ida, job, air, "air")
    answer(workshop, ida, job, Answer("turn-by-hand/turned", quick=True), "turned")
    go_back(workshop, ida, job, "cool-and-temperature", "", "back")
    clock.on(days=1)
    again = answer(workshop, ida, job, air, "air")
    assert (again.first, again.repeated) == (first.first, True)
    with pytest.raises(KeyReused):
        answer(workshop, ida, job, Answer(AIR, {"temperature_c": "19"}), "air")


def test_a_key_of_one_tap_is_not_that_of_another(workshop: Shop, ida: Actor, car: vehicles.Vehicle) -> None:
    job = a_job(workshop, ida, car, "alder-one-cam")
    answer(workshop, ida, job, Answer("turn-by-hand/turned", quick=True), "one")
    with pytest.raises(KeyReused):
        answer(workshop, ida, job, Answer("prove-timing/mark", quick=True), "one")


def test_a_photo_sent_again_is_answered_though_its_question_is_gone(
    workshop: Shop, ida: Actor, car: vehicles.Vehicle, monkeypatch: pytest.MonkeyPatch
) -> None:
    job = a_job(workshop, ida, car, "alder-one-cam")
    made = io.BytesIO()
    Image.new("RGB", (64, 48), "grey").save(made, "JPEG")
    asked = next(one.id for one in questions_of(job_view(workshop, job)) if one.kind == "photo")

    def send() -> bool:
        taken = take_in(workshop, ida, job, SentFile(io.BytesIO(made.getvalue()), "belt.jpg", "photo", asked), "photo")
        assert taken.added is not None
        return taken.added.repeated

    assert send() is False
    monkeypatch.setattr("twoturn.acts.shop.recording_asked.questions_of", lambda _: ())
    assert send() is True
    assert len(job_view(workshop, job).lines) == 1
