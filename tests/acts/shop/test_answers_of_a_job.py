"""Answers from a page: the drawer's tool comes along, a sending twice writes once, a correction keeps its place."""

from __future__ import annotations

from datetime import date

import pytest

from twoturn.acts.shop.answers import Answer, answer, correction_of, go_back
from twoturn.acts.shop.job_view import JobView, job_view
from twoturn.acts.shop.jobs import start_job
from twoturn.acts.shop.people import Actor
from twoturn.acts.shop.shop import Shop
from twoturn.store.records import tools, vehicles

NUT = "set-tensioner/torque"


@pytest.fixture
def job(workshop: Shop, ida: Actor, alder: int, car: vehicles.Vehicle) -> int:
    with workshop.writing() as connection:
        kept = tools.add(connection, tools.Tool(0, "A", "torque wrench", low_nm=5, high_nm=60))
        tools.add_calibration(connection, tools.Calibration(kept.id, date(2025, 10, 14)))
    return start_job(workshop, ida, car.id, alder).id


def kinds(view: JobView) -> list[str]:
    return [line.kind for line in view.lines]


def test_the_first_torque_brings_its_tool_and_the_second_does_not(workshop: Shop, ida: Actor, job: int) -> None:
    added = answer(workshop, ida, job, Answer(NUT, quick=True), "one")
    assert kinds(job_view(workshop, job)) == ["tool", "torque"]
    again = answer(workshop, ida, job, Answer(NUT, quick=True), "one")
    assert again.as_json()["repeated"] is True
    assert added.as_json()["count"] == again.as_json()["count"] == 2
    answer(workshop, ida, job, Answer("fit-covers/torque", quick=True), "two")
    view = job_view(workshop, job)
    assert kinds(view) == ["tool", "torque", "torque"]
    assert view.proof.assessment.check("torque-cover-bolts").verdict.value == "proven"


def test_a_correction_is_filled_in_and_stays_in_its_round(workshop: Shop, ida: Actor, job: int) -> None:
    belt = "thread-belt/belt-fitted"
    given = {"teeth": "108", "teeth_from": "print", "arrow": "none", "batch": "26-07"}
    answer(workshop, ida, job, Answer(belt, given), "one")
    go_back(workshop, ida, job, "thread-belt", "wrong belt", "two")
    question = correction_of(job_view(workshop, job), 1)
    assert question is not None
    assert (question.filled["teeth"], question.filled["batch"]) == ("108", "26-07")
    said = Answer(belt, {**question.filled, "teeth": "109"}, replaces=1)
    answer(workshop, ida, job, said, "three")
    view = job_view(workshop, job)
    last = view.proof.filled.entries[-1]
    assert (last.replaces, last.pass_, getattr(last, "teeth", None)) == (1, 1, 109)
    assert view.asked["thread-belt"][0].round == 2
    assert correction_of(view, 99) is None
