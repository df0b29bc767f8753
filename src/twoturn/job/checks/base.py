"""A check: one requirement compared with what the entries show."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from twoturn.drive.parts import Drive
from twoturn.job.evidence import Evidence, evidence_of
from twoturn.job.order import Timeline
from twoturn.job.places import Places
from twoturn.job.state import State
from twoturn.job.temperatures import Temperatures
from twoturn.plan.model import STAGES, Stage
from twoturn.quantity.conformity import Limits, Verdict
from twoturn.quantity.reading import Reading


@dataclass(frozen=True)
class Check:
    """One check.

    Attributes
    ----------
    id
        Its slug, kept for ever.
    title
        What is checked, in words.
    stage
        The part of the work it belongs to.
    required
        Whether it binds the job's verdict.
    verdict
        Proven, not met or not shown.
    reading, requirement
        What was read and what is required, in words; None where there is none.
    why
        The reason for the verdict, one sentence.
    next
        One clear act; empty when the check is proven.
    value, limits
        The number behind ``reading`` and its limits, where there are any.
    source, kind, method
        Where the requirement stands, who demands it, how it is decided.
    entries
        Numbers of the entries it rests on, counted from 1.
    notes
        What else must be said, such as "tool or method too coarse".
    """

    id: str
    title: str
    stage: Stage
    required: bool
    verdict: Verdict
    reading: str | None
    requirement: str | None
    why: str
    next: str = ""
    value: Reading | None = None
    limits: Limits | None = None
    source: str = ""
    kind: str = ""
    method: str = ""
    entries: tuple[int, ...] = ()
    notes: tuple[str, ...] = ()

    def but(self, **changes: Any) -> Check:
        """The same check with some attributes changed."""
        return replace(self, **changes)

    def as_json(self) -> dict[str, Any]:
        """Keys ``id title stage required verdict reading requirement why next``, as the command line prints them.

        Further ones: ``value``, ``limits``, ``source``, ``kind``, ``method``, ``entries``, ``notes``.
        """
        limits = None if self.limits is None else {"low": self.limits.low, "high": self.limits.high}
        return {
            "id": self.id,
            "title": self.title,
            "stage": self.stage,
            "required": self.required,
            "verdict": self.verdict.value,
            "reading": None if self.reading is None else self.reading.replace("\u00a0", " "),
            "requirement": self.requirement,
            "why": self.why.replace("\u00a0", " "),
            "next": self.next or None,
            "value": None if self.value is None else self.value.as_json(),
            "limits": None if limits is None or self.limits is None else {**limits, "unit": self.limits.unit},
            "source": self.source or None,
            "kind": self.kind or None,
            "method": self.method or None,
            "entries": list(self.entries),
            "notes": list(self.notes),
        }


@dataclass(frozen=True)
class Unread:
    """Why a recording gave no reading, and what to do: one sentence each."""

    why: str
    next: str


@dataclass(frozen=True)
class Case:
    """A drive and the entries of a job, as every check sees them.

    Attributes
    ----------
    drive, places
        The drive, and who is meant by its names.
    timeline, state
        The entries that stand in their order, and what still counts.
    temperatures
        Temperatures of the engine and the shop.
    evidence
        Every reading that stands and was not left out.
    unread
        Why a recording gave no reading, by number of its entry.
    """

    drive: Drive
    places: Places
    timeline: Timeline
    state: State
    temperatures: Temperatures
    evidence: tuple[Evidence, ...] = field(default=())
    unread: Mapping[int, Unread] = field(default_factory=dict)

    @property
    def source(self) -> str:
        """Where the drive's numbers come from."""
        return self.drive.source

    def of(self, *quantities: str) -> tuple[Evidence, ...]:
        """The readings of some quantities."""
        return tuple(item for item in self.evidence if item.quantity in quantities)


def build_case(drive: Drive, timeline: Timeline, unread: Mapping[int, Unread] | None = None) -> Case:
    """The case of a drive and the entries of a job.

    Parameters
    ----------
    drive, timeline
        The drive, and the entries in their order.
    unread
        Why a recording gave no reading, by number of its entry.
    """
    places = Places(drive)
    state = State(timeline, places)
    evidence = tuple(
        item for act in timeline.acts if act.number not in timeline.left_out for item in evidence_of(act, places)
    )
    return Case(drive, places, timeline, state, Temperatures(timeline), evidence, unread or {})


def stage_number(check: Check) -> int:
    """Place of a check's stage in the work, counted from 0."""
    return STAGES.index(check.stage)


def sentence(text: str) -> str:
    """``text`` with a capital first letter and a full stop."""
    text = text.strip()
    return text if not text else text[0].upper() + text[1:] + ("" if text[-1] in ".!?" else ".")
