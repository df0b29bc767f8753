"""A job as a page shows it: what to do now, what earlier jobs found, its lines with their marks."""

from __future__ import annotations

import io
from dataclasses import replace
from pathlib import Path

import pytest

from twoturn.acts.prove import prove
from twoturn.acts.shop import job_view as views
from twoturn.acts.shop.entries import add_entries
from twoturn.acts.shop.evidence import evidence_path, keep_evidence
from twoturn.acts.shop.jobs import start_job
from twoturn.acts.shop.people import Actor, the_one_person
from twoturn.acts.shop.shop import Shop
from twoturn.demo.jobs_shipped import JOBS, write_job
from twoturn.store.records import vehicles


@pytest.fixture
def lead(demo_shop: Shop) -> Actor:
    found = the_one_person(demo_shop)
    assert found is not None
    return found


def test_the_record_judges_as_the_command_line_does(demo_shop: Shop, lead: Actor, tmp_path: Path) -> None:
    for number, shipped in enumerate(JOBS, 1):
        write_job(shipped, tmp_path / shipped.id)
        there = prove(tmp_path / shipped.id).as_json()
        here = views.job_view(demo_shop, number).proof.as_json()
        assert here["checks"] == there["checks"]
        assert (here["verdict"], here["value_only"]) == (there["verdict"], there["value_only"])


def test_open_jobs_come_by_what_they_wait_for(demo_shop: Shop, lead: Actor) -> None:
    lines = views.list_jobs(demo_shop)
    assert [line.verdict for line in lines] == ["not met", "not shown", "not shown", "not shown"]
    assert lines[-1].last_at is None
    assert all(line.waits_for for line in lines)
    assert [line.head.number for line in lines] == [3, 4, 5, 6]


def test_the_second_job_of_a_type_knows_what_the_first_found(demo_shop: Shop, lead: Actor) -> None:
    new = views.job_view(demo_shop, 6)
    assert new.known.earlier["frequency camshaft:roller"].startswith("last note here: 144.")
    assert new.known.arrow == "with travel"
    assert {tool.tool for tool in new.known.tools} == {"A", "B"}
    told = [one.earlier for asked in new.asked.values() for one in asked if one.earlier]
    assert any("144." in words for words in told)
    assert not any(one.earlier for one in new.asked["cool-and-temperature"])


def test_an_entry_moves_the_line_on_top_and_is_listed(demo_shop: Shop, lead: Actor) -> None:
    before = views.job_view(demo_shop, 6)
    add_entries(demo_shop, lead, 6, [{"kind": "odometer", "km": 96200, "done": "identify-vehicle"}], "k1")
    add_entries(demo_shop, lead, 6, [{"kind": "odometer", "km": 96210, "replaces": 1}], "k2")
    after = views.job_view(demo_shop, 6)
    assert (len(before.lines), len(after.lines)) == (0, 2)
    assert (after.lines[0].corrected_by, after.lines[0].stands, after.lines[1].stands) == (2, False, True)
    assert after.checkpoint.entries == 2
    struck = {"kind": "struck out", "replaces": 2, "reason": "another car"}
    add_entries(demo_shop, lead, 6, [struck], "k3")
    assert views.job_view(demo_shop, 6).lines[1].struck
    assert views.job_view(demo_shop, 6) is not views.job_view(demo_shop, 6)
    assert views.job_view(demo_shop, 6).plan is views.job_view(demo_shop, 6).plan


def test_what_is_shown_follows_the_vehicle(demo_shop: Shop, lead: Actor) -> None:
    with demo_shop.writing() as connection:
        vehicle = vehicles.vehicle(connection, views.job_view(demo_shop, 6).head.vehicle_id)
        vehicles.change(connection, replace(vehicle, hybrid=True))
    assert any("high voltage" in step.text.lower() for step in views.job_view(demo_shop, 6).plan.steps)
    assert views.job_view(demo_shop, 6).as_json()["job"]["registration"] == "QX 77 DEMO"


def test_finished_jobs(demo_shop: Shop, lead: Actor) -> None:
    heads = [head.number for head, _ in views.finished_jobs(demo_shop)]
    assert sorted(heads) == [1, 2]


def test_a_lost_recording_that_is_brought_back_is_read_without_a_new_start(
    workshop: Shop, ida: Actor, car: vehicles.Vehicle, alder: int
) -> None:
    job_id = start_job(workshop, ida, car.id, alder).id
    kept = keep_evidence(workshop, ida, job_id, io.BytesIO(b"no sound at all"), "a.wav", "sound")
    add_entries(workshop, ida, job_id, [{"kind": "pluck", "file": kept.name}], "k1")
    path = evidence_path(workshop, job_id, kept.name)
    there = views.job_view(workshop, job_id).proof.filled
    assert there.warnings == ()
    path.rename(path.with_suffix(".away"))
    assert views.job_view(workshop, job_id).proof.filled.warnings == ("Entry 1: a.wav is not in the record.",)
    path.with_suffix(".away").rename(path)
    assert views.job_view(workshop, job_id).proof.filled == there
