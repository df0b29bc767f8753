"""What every question is made from: the drive, its plan, the entries so far, and what is known beforehand."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from twoturn.drive.parts import Belt, Drive
from twoturn.job.asked.model import Asked, Field, Given, Known, reading_key
from twoturn.job.asked.rounds import Rounds
from twoturn.job.entries.base import EntryBase
from twoturn.job.entries.work import Tool
from twoturn.job.needs import Need, needs_of
from twoturn.job.order import Timeline
from twoturn.job.places import Places, check_slug
from twoturn.job.steps import step_numbers
from twoturn.plan.facts import Facts
from twoturn.plan.model import Plan, Step
from twoturn.plan.vehicle import VehicleFacts

READ_BY = {
    "pluck": "frequency",
    "deflection": "deflection",
    "pointer": "pointer",
    "protrusion": "protrusion",
    "pump lift": "pump lift",
}
"""The quantity that a kind of question reads as a number."""


@dataclass(frozen=True)
class Sheet:
    """A job as its questions see it.

    Attributes
    ----------
    drive, plan
        The drive and the plan of this job.
    entries
        All entries of the record, in order.
    known
        What vehicle, drawer and earlier jobs say already.
    """

    drive: Drive
    plan: Plan
    entries: tuple[EntryBase, ...]
    known: Known

    @cached_property
    def places(self) -> Places:
        """Who is meant by names."""
        return Places(self.drive)

    @cached_property
    def facts(self) -> Facts:
        """The drive, asked what the plan asks."""
        return Facts(self.drive, VehicleFacts(), geometry=False)

    @cached_property
    def needs(self) -> tuple[Need, ...]:
        """What is required of readings."""
        return needs_of(self.drive, self.places)

    @cached_property
    def numbers(self) -> Mapping[str, int]:
        """Number of each step, by id."""
        return step_numbers(self.drive)

    @cached_property
    def timeline(self) -> Timeline:
        """The entries that stand, in their order."""
        return Timeline(self.entries, self.numbers)

    @cached_property
    def rounds(self) -> Rounds:
        """Which round each step is in."""
        return Rounds(self.timeline, self.numbers)

    @cached_property
    def tools_entered(self) -> tuple[Tool, ...]:
        """The torque tools described in this job."""
        return tuple(act.entry for act in self.timeline.acts if isinstance(act.entry, Tool))

    @cached_property
    def row_ids(self) -> dict[tuple[str, str], str]:
        """Id of each requirement as the plan has it, by the slug of its check and its quantity."""
        rows = reversed(self.drive.file.requirement)
        return {(check_slug(row.id), row.quantity): row.id for row in rows}

    @cached_property
    def homes(self) -> dict[str, str]:
        """Id of the step at which each requirement is read, by the id of its check, as far as it was looked for."""
        return {}

    def belt(self, step: Step) -> Belt:
        """The belt of a step; the main one where it belongs to the whole job."""
        return self.places.belt(step.belt or None) or self.facts.main

    def has_step(self, step_id: str) -> bool:
        """Whether the plan of this job has a step."""
        return any(step.id == step_id for step in self.plan.steps)

    def ask(
        self,
        step: Step,
        kind: str,
        title: str,
        fixed: Mapping[str, Any],
        fields: Sequence[Field] = (),
        **rest: Any,
    ) -> Asked:
        """A question at a step; its id is made of the step, the kind and, where given as ``name``, a name."""
        name = rest.pop("name", "")
        parts = [step.id, check_slug(kind), *([check_slug(name)] if name else [])]
        settled: dict[str, Any] = {"kind": kind, **fixed, "done": step.id}
        number = self.rounds.at(step.id)
        if number > 1:
            settled["pass"] = number
        checks = tuple(dict.fromkeys(rest.pop("checks", ())))
        said = self._earlier(kind, fixed)
        return Asked("/".join(parts), step.id, kind, title, settled, tuple(fields), checks=checks, earlier=said, **rest)

    def _earlier(self, kind: str, fixed: Mapping[str, Any]) -> str:
        """What earlier jobs read of the very quantity that a question reads on the set belt."""
        quantity = fixed.get("quantity", "") if kind == "measured" else READ_BY.get(kind, "")
        place = fixed.get("span") or fixed.get("at")
        if not quantity or not isinstance(place, str) or fixed.get("as_found"):
            return ""
        return self.known.earlier.get(reading_key(quantity, place), "")


def quick_of(fields: Iterable[Field], **values: Given) -> dict[str, Given]:
    """The values of a one-tap answer: what is filled in, and ``values`` over it."""
    return {one.key: one.value for one in fields if one.value is not None} | {
        key.replace("__", "."): value for key, value in values.items()
    }


def base_of(step: Step) -> str:
    """A step's id without belt and round."""
    return step.id.partition("@")[0].partition(".")[0]
