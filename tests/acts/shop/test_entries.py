"""Entries of a job of the record: signed, exactly once, held against the drive, told of what others wrote."""

from __future__ import annotations

from typing import Any

import pytest
from tests.acts.shop.conftest import Clock

from twoturn.acts.shop.due import due_soon
from twoturn.acts.shop.entries import KeyMissing, add_entries, marks_of
from twoturn.acts.shop.job_view import finished_jobs, job_view, list_jobs
from twoturn.acts.shop.jobs import close_job, held_job, start_job
from twoturn.acts.shop.people import Actor, NotAllowed
from twoturn.acts.shop.shop import Shop, open_shop
from twoturn.errors import FileFaults, TwoTurnError
from twoturn.job.chain import checkpoint
from twoturn.store.faults import KeyReused, NotFound
from twoturn.store.records import entries as sent
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


@pytest.mark.parametrize("name", ["../x.wav", "/etc/hostname", "a/../../x.wav", "..", "x\0.wav"])
@pytest.mark.parametrize("kind", ["pluck", "photo"])
def test_a_file_name_that_leads_out_is_refused(workshop: Shop, ida: Actor, job_id: int, name: str, kind: str) -> None:
    row = {"kind": kind, "file": name} | ({"shows": "the marks"} if kind == "photo" else {})
    with pytest.raises(FileFaults, match=r"entry\[1\].file"):
        add_entries(workshop, ida, job_id, [row], "k1")


def test_one_that_came_before_it_was_refused_is_a_file_that_is_not_there(
    workshop: Shop, ida: Actor, job_id: int
) -> None:
    row = {"kind": "pluck", "file": "../x.wav", "by": "Ida Brook", "entered": "2026-03-02T17:40:00"}
    with workshop.writing() as connection:
        sent.append(connection, job_id, [row], "k1", "Ida Brook", workshop.now())
    assert job_view(workshop, job_id).proof.filled.warnings == ("Entry 1: ../x.wav is not in the record.",)
    assert [line.head.id for line in list_jobs(workshop)] == [job_id]


def test_a_job_that_cannot_be_understood_hides_no_other(
    workshop: Shop, ida: Actor, job_id: int, car: Vehicle, alder: int
) -> None:
    other = start_job(workshop, ida, car.id, alder).id
    with workshop.writing() as connection:
        sent.append(connection, job_id, [{"kind": "of another program"}], "k1", "Ida Brook", workshop.now())
    first, second = list_jobs(workshop)
    assert (first.head.id, second.head.id) == (job_id, other)
    assert first.waits_for.startswith("This job cannot be shown: ")
    assert "of another program" in first.waits_for
    assert first.head.registration == second.head.registration
    assert (first.verdict, first.done) == ("not shown", 0)
    close_job(workshop, ida, job_id)
    assert [head.id for head, _ in finished_jobs(workshop)] == [job_id]
    close_job(workshop, ida, other)
    assert due_soon(workshop) == ()


@pytest.mark.parametrize("waited_s", [float("nan"), float("inf"), -1e9, 1e300])
def test_a_device_may_say_anything_of_its_waiting(workshop: Shop, ida: Actor, job_id: int, waited_s: float) -> None:
    add_entries(workshop, ida, job_id, [REMARK], "k1", waited_s=waited_s)
    typed = held_job(workshop, job_id).entries[0].entered
    assert typed is not None
    assert 0 <= (workshop.now().astimezone().replace(tzinfo=None) - typed).days <= 60


def test_two_servers_that_get_one_sending_at_once_write_it_once(
    workshop: Shop, ida: Actor, job_id: int, clock: Clock, monkeypatch: pytest.MonkeyPatch
) -> None:
    add_entries(workshop, ida, job_id, [REMARK], "k1")
    clock.on(minutes=1)
    known, asked = sent.of_key, []

    def too_early(*args: Any) -> Any:
        asked.append(args)
        return None if len(asked) == 1 else known(*args)

    monkeypatch.setattr(sent, "of_key", too_early)
    with open_shop(workshop.place.folder, clock=clock) as other:
        assert add_entries(other, ida, job_id, [REMARK], "k1").repeated
    assert len(held_job(workshop, job_id).entries) == 1


def test_yesterdays_air_sent_late_is_not_todays(workshop: Shop, ida: Actor, job_id: int) -> None:
    air = {"kind": "temperature", "of": "shop air", "temperature_c": 31}
    add_entries(workshop, ida, job_id, [air], "k1", waited_s=86400.0)
    assert job_view(workshop, job_id).known.shop_air_c is None
    add_entries(workshop, ida, job_id, [{**air, "temperature_c": 19}], "k2")
    assert job_view(workshop, job_id).known.shop_air_c == 19
