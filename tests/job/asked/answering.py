"""A technician who answers a job's questions in the order of the work, by one tap where one tap will do."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from functools import cache, cached_property
from typing import Any

from twoturn.acts.drive_files import shipped_drives
from twoturn.drive.load import read_drive
from twoturn.drive.parts import Drive
from twoturn.job.asked.drawer import tool_rows
from twoturn.job.asked.model import Asked, Given, Known, KnownTool, Units
from twoturn.job.asked.now import Now, what_now
from twoturn.job.asked.sheet import Sheet
from twoturn.job.asked.steps import asked
from twoturn.job.asked.typed import quick_row, row_of
from twoturn.job.assess import Assessment, assess
from twoturn.job.entries.base import EntryBase
from twoturn.job.file import JobFile
from twoturn.job.order import Act
from twoturn.job.rows import job_of_rows
from twoturn.plan import make_plan
from twoturn.plan.model import Plan

ENGINES = tuple(shipped_drives())
DRAWER = (
    KnownTool("A", 5.0, 60.0, date(2025, 10, 14), class_="II A"),
    KnownTool("B", 40.0, 250.0, date(2025, 11, 3)),
)
KNOWN = Known(registration="QX 10 DEMO", fuel=None, odometer_km=118420.0, tools=DRAWER)
GAUGED: dict[str, Mapping[str, Given]] = {
    "prove-timing/pin-in/depth-of-the-rod-at-the-left-balance-shaft": {"depth_mm": "64", "freely": "yes"},
    "prove-setting/deflection/deflection-roller-camshaft": {"deflection_mm": "3,4"},
    "prove-setting@balance/deflection/deflection-right-balance-shaft-balance-drive-wheel": {"deflection_mm": "6"},
    "prove-timing/pin-in/balance-shaft-rod": {"depth_mm": "64", "freely": "yes"},
    "prove-setting/protrusion/protrusion-tensioner": {"protrusion_mm": "9"},
    "static-pump-timing/pump-lift/pump-lift-injection-pump": {"lift_mm": "0,92"},
}
"""What a gauge or rule shows on the invented engines: inside the limits of their drive files."""
BY_EAR = "/pluck/"
"""Questions of a recording: a paper job leaves them, and the drive file lets a deflection stand for the note."""


@cache
def engine(name: str) -> Drive:
    return read_drive(shipped_drives()[name], name)


@cache
def plan_of(name: str) -> Plan:
    return make_plan(engine(name))


@dataclass
class Bench:
    """A job being answered."""

    name: str
    known: Known = KNOWN
    units: Units = field(default_factory=Units)
    job: JobFile = field(init=False)
    answered: dict[str, int] = field(default_factory=dict)

    def __post_init__(self) -> None:
        first = {"kind": "remark", "text": "begun", "by": "A. First (invented)", "entered": "2026-03-02T08:10:00"}
        self.job = job_of_rows([first], "job 1", self.name)

    @property
    def drive(self) -> Drive:
        return engine(self.name)

    @property
    def plan(self) -> Plan:
        return plan_of(self.name)

    @property
    def entries(self) -> tuple[EntryBase, ...]:
        return self.job.entries

    @cached_property
    def questions(self) -> Mapping[str, tuple[Asked, ...]]:
        return asked(self.drive, self.plan, self.entries, self.known)

    @cached_property
    def every(self) -> dict[str, Asked]:
        return {one.id: one for group in self.questions.values() for one in group}

    @cached_property
    def found(self) -> Assessment:
        return assess(self.drive, self.entries)

    @cached_property
    def now(self) -> Now:
        return what_now(self.drive, self.plan, self.entries, self.questions, self.found)

    def enter(self, *rows: dict[str, Any]) -> int:
        """Enter rows as the record would; the number of the last entry."""
        self.job = job_of_rows(rows, "job 1", self.name, before=self.job)
        for told in ("questions", "every", "found", "now"):
            self.__dict__.pop(told, None)
        return len(self.job.entries)

    def tap(self, asked_id: str) -> int:
        return self._enter_answer(asked_id, quick_row(self.every[asked_id]))

    def type(self, asked_id: str, given: Mapping[str, Given]) -> int:
        return self._enter_answer(asked_id, row_of(self.every[asked_id], given, self.units))

    def _enter_answer(self, asked_id: str, row: dict[str, Any]) -> int:
        """As the bench enters it: the drawer's tools come with the first torque that names them."""
        number = self.enter(*tool_rows(row, self.entries, self.known), row)
        self.answered[asked_id] = number
        return number

    def _sheet(self) -> Sheet:
        return Sheet(self.drive, self.plan, self.entries, self.known)

    def go_back(self, step_id: str, reason: str = "") -> int:
        return self.enter(self._sheet().rounds.going_back(step_id, self.plan.step(step_id).title, reason))

    def left_behind(self, step_id: str) -> tuple[Act, ...]:
        return self._sheet().rounds.later_work(step_id)

    def answer(self, one: Asked) -> None:
        """By one tap where there is one, else with what a gauge shows."""
        if one.quick is not None:
            self.tap(one.id)
        else:
            self.type(one.id, GAUGED[one.id])

    def work_on(self, until: str = "", *, most: int = 80) -> None:
        """Answer every needed question, the first open one first, until one comes up whose id begins with ``until``."""
        for _ in range(most):
            one = next((one for one in self.every.values() if is_open(one)), None)
            if one is None or (until and one.id.startswith(until)):
                return
            self.answer(one)
        raise AssertionError(f"not done after {most} answers: {self.answered}")


def is_open(one: Asked) -> bool:
    return one.needed and not one.answered and BY_EAR not in one.id
