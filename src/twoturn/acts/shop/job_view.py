"""A job as a page shows it: its plan, its questions, what they prove, the one thing to do now, and its entries."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime
from functools import partial
from typing import TYPE_CHECKING, Any

from twoturn.acts.fill_readings import Filled, fill_readings
from twoturn.acts.plan import vehicle_of
from twoturn.acts.prove import Proof, judge
from twoturn.acts.read_apart import reading_apart
from twoturn.acts.shop.entries import marks_of
from twoturn.acts.shop.jobs import HeldJob, held_job
from twoturn.acts.shop.known import known_of, minutes_of
from twoturn.acts.shop.shop import Shop
from twoturn.acts.shop.standing import standings
from twoturn.errors import TwoTurnError
from twoturn.job.asked.model import Asked, Known
from twoturn.job.asked.now import Now, what_now
from twoturn.job.asked.steps import asked
from twoturn.job.chain import Checkpoint
from twoturn.job.entries.record import Struck
from twoturn.job.entry_words import entry_words
from twoturn.plan import Plan, make_plan
from twoturn.plan.vehicle import VehicleFacts
from twoturn.store.faults import StoreError
from twoturn.store.files import path_of

if TYPE_CHECKING:
    from twoturn.store.records.jobs import Job
    from twoturn.store.records.vehicles import Vehicle


@dataclass(frozen=True)
class JobHead:
    """What a job is about.

    Attributes
    ----------
    id, number
        Number for addresses, and the running number for people.
    registration, vehicle_id, model
        The vehicle.
    drive_name, drive_id, version_id
        The drive, and the version of it that this job keeps.
    opened_at, opened_by, closed_at
        When and by whom it was begun; None while it is open.
    note
        Anything worth saying.
    """

    id: int
    number: int
    registration: str
    vehicle_id: int
    model: str | None
    drive_name: str
    drive_id: int
    version_id: int
    opened_at: datetime
    opened_by: str
    closed_at: datetime | None
    note: str | None

    def as_json(self) -> dict[str, Any]:
        """All attributes; times as ISO 8601 texts."""
        closed = None if self.closed_at is None else self.closed_at.isoformat()
        return {**self.__dict__, "opened_at": self.opened_at.isoformat(), "closed_at": closed}


@dataclass(frozen=True)
class EntryLine:
    """An entry as the list shows it.

    Attributes
    ----------
    number, kind, words
        Its place in the record, its kind, and all it says.
    step
        The step it was done at; empty where it names none.
    by, entered
        Who stands for it, and when it was typed.
    corrected_by, struck
        Number of the entry that corrects it, None where none does; whether that one strikes it out.
    left_out
        Why its reading is left out; empty where it counts.
    marks
        What must be said of its times.
    """

    number: int
    kind: str
    words: str
    step: str
    by: str
    entered: datetime | None
    corrected_by: int | None
    struck: bool
    left_out: str
    marks: tuple[str, ...]

    @property
    def stands(self) -> bool:
        """Whether it still counts."""
        return self.corrected_by is None and not self.left_out

    def as_json(self) -> dict[str, Any]:
        """All attributes; the time as an ISO 8601 text."""
        entered = None if self.entered is None else self.entered.isoformat()
        return {**self.__dict__, "entered": entered, "marks": list(self.marks)}


@dataclass(frozen=True)
class JobView:
    """A job as a page shows it.

    Attributes
    ----------
    head
        What it is about.
    plan
        The steps of the work.
    asked
        The questions of each step, by its id.
    now
        The one thing to do now.
    proof
        What its entries prove.
    known
        What was known beforehand.
    lines
        Its entries.
    checkpoint
        Number of entries and last hash.
    """

    head: JobHead
    plan: Plan
    asked: Mapping[str, tuple[Asked, ...]]
    now: Now
    proof: Proof
    known: Known
    lines: tuple[EntryLine, ...]
    checkpoint: Checkpoint

    def as_json(self) -> dict[str, Any]:
        """Keys ``job``, ``now``, ``proof``, ``entries``, ``record``."""
        return {
            "job": self.head.as_json(),
            "now": {"step": self.now.step_id, "title": self.now.title, "words": self.now.words},
            "proof": self.proof.as_json(),
            "entries": [line.as_json() for line in self.lines],
            "record": self.checkpoint.as_json(),
        }


def job_view(shop: Shop, job_id: int) -> JobView:
    """A job as a page shows it; worked out anew only when an entry or what is known has changed.

    Raises
    ------
    NotFound
        There is no such job.
    FileFaults
        Its record was changed so that it cannot be understood.
    """
    return view_of(shop, held_job(shop, job_id))


def view_of(shop: Shop, held: HeldJob) -> JobView:
    """As :func:`job_view`, of a job that was read already."""
    known = known_of(shop, held, judged)
    minutes = minutes_of(shop, held.drive_id)
    key = ("view", held.row.id, held.row.last_hash, repr(known), held.vehicle, _files(shop, held), minutes)
    found: JobView = shop.answers.once(key, lambda: _look(shop, held, known))
    return replace(found, head=head_of(held))


def head_of(held: HeldJob) -> JobHead:
    """What a job is about."""
    return _head(held.row, held.vehicle, held.drive_name, held.drive_id)


def _head(row: Job, vehicle: Vehicle, drive_name: str, drive_id: int) -> JobHead:
    return JobHead(
        id=row.id,
        number=row.number,
        registration=vehicle.registration,
        vehicle_id=vehicle.id,
        model=vehicle.model,
        drive_name=drive_name,
        drive_id=drive_id,
        version_id=row.drive_version_id,
        opened_at=row.opened_at,
        opened_by=row.opened_by,
        closed_at=row.closed_at,
        note=row.note,
    )


def judged(shop: Shop, held: HeldJob) -> Proof:
    """What a job's entries prove; recordings without a reading are read, each once."""
    key = ("proof", held.row.id, held.row.last_hash, _files(shop, held))
    return shop.answers.once(key, lambda: _judge(shop, held))


def _files(shop: Shop, held: HeldJob) -> tuple[tuple[str, str, bool], ...]:
    """The files of a job, and whether each is on the disk: one that was lost may be brought back from a backup."""
    return tuple((name, sha, path_of(shop.place, sha).is_file()) for name, sha in sorted(held.sha256.items()))


def _judge(shop: Shop, held: HeldJob) -> Proof:
    job, files = held.lent(shop)
    key = ("filled", held.row.id, _files(shop, held))
    before: tuple[str, Filled] | None = shop.answers.get(key)
    usable = None
    if before is not None and 0 < len(before[1].entries) <= len(held.entries):
        same = held.entries[len(before[1].entries) - 1].hash == before[0]
        usable = before[1] if same else None
    with files, reading_apart() as reader:
        filled = fill_readings(job, before=usable, reader=reader)
    if held.entries:
        shop.answers.put(key, (held.entries[-1].hash, filled))
    return judge(job, filled, Checkpoint(held.row.entries, held.row.last_hash))


def plan_of(shop: Shop, held: HeldJob, known: Known) -> Plan:
    """The steps of a job: by what its entries say of the vehicle, else by what is known of it."""
    said = vehicle_of(held.file)
    facts = VehicleFacts(
        hybrid=known.hybrid if said.hybrid is None else said.hybrid,
        stop_start=known.stop_start if said.stop_start is None else said.stop_start,
        fuel=said.fuel or known.fuel,
        belt_broken=said.belt_broken,
        registration=said.registration or known.registration or "",
    )
    minutes = minutes_of(shop, held.drive_id)
    key = ("plan", held.row.drive_version_id, facts, minutes)
    return shop.answers.once(key, lambda: make_plan(held.drive, facts, minutes or None, held.drive_name))


def _look(shop: Shop, held: HeldJob, known: Known) -> JobView:
    proof = judged(shop, held)
    plan = plan_of(shop, held, known)
    questions = asked(held.drive, plan, proof.filled.entries, known)
    now = what_now(held.drive, plan, proof.filled.entries, questions, proof.assessment)
    return JobView(head_of(held), plan, questions, now, proof, known, lines_of(held, proof), proof.checkpoint)


def lines_of(held: HeldJob, proof: Proof) -> tuple[EntryLine, ...]:
    """The entries as the list shows them."""
    corrections = proof.assessment.corrections
    left_out = {one.entry: one.reason for one in proof.assessment.left_out}
    lines = []
    for number, (entry, kept) in enumerate(zip(held.file.entries, held.entries, strict=True), 1):
        by = corrections.get(number)
        struck = by is not None and isinstance(held.file.entries[by - 1], Struck)
        left = left_out.get(number, "")
        step = entry.done or ""
        lines.append(
            EntryLine(
                number,
                entry.kind,
                entry_words(entry),
                step,
                entry.by or "",
                entry.entered,
                by,
                struck,
                left,
                marks_of(kept),
            )
        )
    return tuple(lines)


@dataclass(frozen=True)
class JobLine:
    """A job in the list of open jobs.

    Attributes
    ----------
    head
        What it is about.
    waits_for
        What it waits for, in words.
    rank
        Its place in the list: what needs somebody most comes first [-].
    verdict
        The worst of its required checks.
    done, needed
        Required checks that are proven, and all of them [-].
    last_by, last_at
        Who made the last entry and when; empty and None before the first.
    """

    head: JobHead
    waits_for: str
    rank: int
    verdict: str
    done: int
    needed: int
    last_by: str
    last_at: datetime | None

    def as_json(self) -> dict[str, Any]:
        """Keys of the head, and ``waits_for``, ``verdict``, ``done``, ``needed``, ``last_by``, ``last_at``."""
        last = None if self.last_at is None else self.last_at.isoformat()
        return self.head.as_json() | {
            "waits_for": self.waits_for,
            "verdict": self.verdict,
            "done": self.done,
            "needed": self.needed,
            "last_by": self.last_by,
            "last_at": last,
        }


def list_jobs(shop: Shop) -> tuple[JobLine, ...]:
    """Every open job: first what is not met, then what may be handed over, then the further the work the earlier."""
    from twoturn.store.records import jobs as kept

    with shop.reading() as connection:
        rows = kept.open_jobs(connection)
    standing = standings(shop, rows)
    lines = [shop.lines.once(standing[row.id], partial(_line_of, shop, row)) for row in rows]
    return tuple(sorted(lines, key=lambda line: (line.rank, line.head.number)))


def _line_of(shop: Shop, row: Job) -> JobLine:
    """The line of a job; one that cannot be understood stands first, with the reason, and hides no other job."""
    try:
        return _line(job_view(shop, row.id))
    except StoreError:
        raise
    except TwoTurnError as error:
        words = f"This job cannot be shown: {error.sentence}"
        return JobLine(_bare_head(shop, row), words, 0, "not shown", 0, 0, row.opened_by, None)


def _bare_head(shop: Shop, row: Job) -> JobHead:
    """What a job is about, by its rows alone; the drive is called as the library calls it now."""
    from twoturn.store.records import drives, vehicles

    with shop.reading() as connection:
        vehicle = vehicles.vehicle(connection, row.vehicle_id)
        version = drives.drive_version(connection, row.drive_version_id)
        name = drives.drive(connection, version.drive_id).name
    return _head(row, vehicle, name, version.drive_id)


def _line(view: JobView) -> JobLine:
    found = view.proof.assessment
    proven = sum(1 for check in found.required if check.verdict.value == "proven")
    last = view.lines[-1] if view.lines else None
    return JobLine(
        head=view.head,
        waits_for=view.now.title,
        rank=_rank(view, proven),
        verdict=found.verdict.value,
        done=proven,
        needed=len(found.required),
        last_by=last.by if last else view.head.opened_by,
        last_at=last.entered if last else None,
    )


def _rank(view: JobView, proven: int) -> int:
    """0 not met, 1 ready to hand over, then the further the work the earlier, not begun last."""
    found = view.proof.assessment
    if found.not_met:
        return 0
    if found.verdict.value == "proven":
        return 1
    if not view.lines:
        return 1000
    return 2 + len(found.required) - proven


def finished_jobs(shop: Shop, limit: int = 100) -> tuple[tuple[JobHead, date], ...]:
    """Closed jobs, those closed last first, each with the day."""
    from twoturn.store.records import jobs as kept

    with shop.reading() as connection:
        rows = kept.closed_jobs(connection, limit)
    return tuple((_head_of(shop, row), row.closed_at.astimezone().date()) for row in rows if row.closed_at is not None)


def _head_of(shop: Shop, row: Job) -> JobHead:
    try:
        return head_of(held_job(shop, row.id))
    except StoreError:
        raise
    except TwoTurnError:
        return _bare_head(shop, row)
