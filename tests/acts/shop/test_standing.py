"""The lines of open jobs are worked out anew where anything they depend on has changed, and only there."""

from __future__ import annotations

import io
from collections.abc import Callable

import pytest

from twoturn.acts.shop import job_view as views
from twoturn.acts.shop.entries import add_entries
from twoturn.acts.shop.evidence import evidence_path, keep_evidence
from twoturn.acts.shop.jobs import close_job, note_job, start_job
from twoturn.acts.shop.people import Actor
from twoturn.acts.shop.shop import Shop
from twoturn.acts.shop.tools import add_calibration, save_tool
from twoturn.acts.shop.vehicles import save_vehicle
from twoturn.job.asked.model import Units
from twoturn.store.records.vehicles import Vehicle

REMARK = {"kind": "remark", "text": "coolant hose soft"}


@pytest.fixture
def looked(workshop: Shop, ida: Actor, car: Vehicle, alder: int, monkeypatch: pytest.MonkeyPatch) -> Callable[[], int]:
    """How many jobs are looked at when the list is asked for; two are open, a third is closed."""
    for _ in range(3):
        start_job(workshop, ida, car.id, alder)
    add_entries(workshop, ida, 3, [REMARK], "third")
    close_job(workshop, ida, 3)
    looks: list[int] = []
    whole = views.job_view

    def counted(shop: Shop, job_id: int) -> views.JobView:
        looks.append(job_id)
        return whole(shop, job_id)

    monkeypatch.setattr(views, "job_view", counted)

    def ask() -> int:
        before = len(looks)
        lines = views.list_jobs(workshop)
        assert {line.head.id for line in lines} <= {1, 2, 3}
        return len(looks) - before

    assert ask() == 2
    return ask


def test_where_nothing_has_changed_no_job_is_looked_at(looked: Callable[[], int]) -> None:
    assert looked() == 0


def test_an_entry_a_note_and_a_file_change_their_own_job_alone(
    workshop: Shop, ida: Actor, looked: Callable[[], int]
) -> None:
    add_entries(workshop, ida, 1, [REMARK], "k1")
    assert looked() == 1
    assert views.list_jobs(workshop)[0].last_by == ida.name
    note_job(workshop, ida, 2, "on ramp 2")
    assert looked() == 1
    keep_evidence(workshop, ida, 2, io.BytesIO(b"t,v\n0,1\n"), "a.csv", "capture")
    assert looked() == 1
    evidence_path(workshop, 2, "a.csv").unlink()
    assert looked() == 1
    assert looked() == 0


def test_the_vehicle_the_drawer_the_day_and_closed_jobs_change_all_lines(
    workshop: Shop, ida: Actor, car: Vehicle, looked: Callable[[], int], clock: object
) -> None:
    save_vehicle(workshop, ida, {"registration": "QX 11 DEMO"}, car.id)
    assert looked() == 2
    assert {line.head.registration for line in views.list_jobs(workshop)} == {"QX 11 DEMO"}
    tool = save_tool(workshop, ida, {"name": "A", "low": "5", "high": "60"}, units=Units())
    assert looked() == 2
    add_calibration(workshop, ida, tool.id, {"on": "2025-10-14"})
    assert looked() == 2
    add_entries(workshop, ida, 3, [REMARK], "third again")
    assert looked() == 3, "the third job is open again, and no longer known to the others"
    clock.on(days=1)  # type: ignore[attr-defined]
    assert looked() == 3
    assert looked() == 0
