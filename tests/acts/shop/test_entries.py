"""Entries of a job of the record: signed, exactly once, held against the drive, told of what others wrote."""

from __future__ import annotations

from typing import Any

import pytest
from tests.acts.shop.conftest import Clock

from twoturn.acts.shop.entries import KeyMissing, add_entries, marks_of
from twoturn.acts.shop.jobs import close_job, held_job, start_job
from twoturn.acts.shop.people import Actor, NotAllowed
from twoturn.acts.shop.shop import Shop
from twoturn.errors import FileFaults, TwoTurnError
from twoturn.job.chain import checkpoint
from twoturn.store.faults import KeyReused, NotFound
from twoturn.store.records.vehicles import Vehicle

ODOMETER: dict[str, Any] = {"kind": "odometer", "km": 118420}
REMARK: dict[str, Any] = {"kind": "remark", "text": "coolant hose soft"}


@pytest.fixture
def job_id(workshop: Shop, ida: Actor, car: Vehicle, alder: int) -> int:
    return start_job(workshop, ida, car.id, alder).id


def test_an_entry_is_signed_and_chained(workshop: Shop, ida: Actor, job_id: int) -> None:
    added = add_entries(workshop, ida, job_id, [ODOMETER, REMARK], "k1")
    assert (added.first, added.count, added.repeated, added.others) == (1, 2, False, ())
    held = held_job(workshop, job_id)
    assert [entry.by for entry in held.file.entries] == ["Ida Brook", "Ida Brook"]
    assert all(entry.entered is not None for entry in held.file.entries)
    assert checkpoint(held.file.raw).last_hash == held.row.last_hash == held.entries[-1].hash


def test_the_same_sending_again_writes_nothing_even_a_minute_later(
    workshop: Shop, ida: Actor, job_id: int, clock: Clock
) -> None:
    add_entries(workshop, ida, job_id, [ODOMETER], "k1")
    clock.on(minutes=1)
    again = add_entries(workshop, ida, job_id, [ODOMETER], "k1")
    assert (again.first, again.count, again.repeated) == (1, 1, True)
    assert held_job(workshop, job_id).row.entries == 1


def test_a_key_is_good_for_one_content(workshop: Shop, ida: Actor, job_id: int) -> None:
    add_entries(workshop, ida, job_id, [ODOMETER], "k1")
    with pytest.raises(KeyReused):
        add_entries(workshop, ida, job_id, [REMARK], "k1")
    with pytest.raises(KeyMissing, match="no key of its own"):
        add_entries(workshop, ida, job_id, [REMARK], "")
    with pytest.raises(KeyMissing):
        add_entries(workshop, ida, job_id, [REMARK], "x" * 300)
    assert held_job(workshop, job_id).row.entries == 1


def test_faults_are_told_with_the_number_the_entry_would_have_and_nothing_is_written(
    workshop: Shop, ida: Actor, job_id: int
) -> None:
    add_entries(workshop, ida, job_id, [ODOMETER], "k1")
    rows = [REMARK, {"kind": "torque", "fastener": "no such bolt", "to_plan": True}, {"kind": "odometer", "km": "far"}]
    with pytest.raises(FileFaults) as caught:
        add_entries(workshop, ida, job_id, rows[:1] + rows[2:], "k2")
    assert [fault.key for fault in caught.value.faults] == ["entry[3].km"]
    with pytest.raises(FileFaults) as caught:
        add_entries(workshop, ida, job_id, rows[:2], "k2")
    assert [fault.key for fault in caught.value.faults] == ["entry[3].fastener"]
    assert held_job(workshop, job_id).row.entries == 1


def test_one_signs_for_oneself_alone(workshop: Shop, ida: Actor, trainee: Actor, job_id: int) -> None:
    with pytest.raises(TwoTurnError, match="Tom Reed sends it"):
        add_entries(workshop, trainee, job_id, [{**ODOMETER, "by": "Ida Brook"}], "k1")
    add_entries(workshop, trainee, job_id, [ODOMETER], "k1")
    assert held_job(workshop, job_id).file.entries[0].by == "Tom Reed"


def test_roles(workshop: Shop, trainee: Actor, job_id: int) -> None:
    with pytest.raises(NotAllowed, match="this needs a lead"):
        add_entries(workshop, trainee, job_id, [{"kind": "override", "check": "x", "reason": "y"}], "k1")
    with pytest.raises(NotAllowed, match="this needs a technician"):
        add_entries(workshop, trainee, job_id, [{"kind": "signed"}], "k1")
    viewer = Actor(99, "Vera", "viewer")
    with pytest.raises(NotAllowed, match="this needs a trainee"):
        add_entries(workshop, viewer, job_id, [ODOMETER], "k1")


def test_who_did_not_know_the_others_entries_is_told(workshop: Shop, ida: Actor, trainee: Actor, job_id: int) -> None:
    add_entries(workshop, ida, job_id, [ODOMETER], "k1", after=0)
    added = add_entries(workshop, trainee, job_id, [REMARK], "k2", after=0)
    assert [(one.number, one.by) for one in added.others] == [(1, "Ida Brook")]
    assert added.first == 2


def test_two_corrections_of_one_entry_at_once_do_not_both_stand(workshop: Shop, ida: Actor, job_id: int) -> None:
    add_entries(workshop, ida, job_id, [ODOMETER], "k1")
    add_entries(workshop, ida, job_id, [{**ODOMETER, "km": 118400, "replaces": 1}], "k2")
    with pytest.raises(FileFaults, match="corrected it already"):
        add_entries(workshop, ida, job_id, [{**ODOMETER, "km": 118500, "replaces": 1}], "k3", after=1)


def test_an_entry_to_a_closed_job_is_kept_and_opens_it_again(workshop: Shop, ida: Actor, job_id: int) -> None:
    close_job(workshop, ida, job_id)
    assert held_job(workshop, job_id).row.closed_at is not None
    assert add_entries(workshop, ida, job_id, [REMARK], "k1").reopened
    assert held_job(workshop, job_id).row.closed_at is None


def test_late_entries_and_clocks_set_back_are_marked(workshop: Shop, ida: Actor, job_id: int, clock: Clock) -> None:
    typed = workshop.local_text()
    clock.on(hours=3)
    add_entries(workshop, ida, job_id, [{**ODOMETER, "entered": typed}], "k1")
    clock.on(hours=-2)
    add_entries(workshop, ida, job_id, [REMARK], "k2")
    first, second = held_job(workshop, job_id).entries
    assert marks_of(first) == ("came 3 hours after it was typed",)
    assert marks_of(second) == ("this computer's clock was set back before it came",)


def test_an_unknown_job(workshop: Shop, ida: Actor) -> None:
    with pytest.raises(NotFound):
        add_entries(workshop, ida, 4711, [REMARK], "k1")
