"""What a plan is made of: steps with their values and what to record, and the lists laid out before the work."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

Stage = Literal["due", "plan", "strip", "look", "fit", "set", "prove", "hand over"]
STAGES: tuple[Stage, ...] = ("due", "plan", "strip", "look", "fit", "set", "prove", "hand over")
Shape = Literal["number", "tick", "text", "photo"]


@dataclass(frozen=True)
class PlanCaution:
    """A caution shown where the step is taken.

    Attributes
    ----------
    id
        Its slug among the cautions; ``"drive"`` for one that the drive file itself gives.
    text
        The sentence a person reads.
    """

    id: str
    text: str


@dataclass(frozen=True)
class Value:
    """A value to reach at a step.

    Attributes
    ----------
    what, value
        Of what, and the value as printed with its unit ("25 N·m, then 90°").
    source
        Where the value comes from, as the drive file says.
    id
        The fastener or requirement it belongs to; empty when it belongs to none.
    """

    what: str
    value: str
    source: str = ""
    id: str = ""

    def as_json(self) -> dict[str, str]:
        """Keys ``what``, ``value``, ``source``, ``id``."""
        return {"what": self.what, "value": self.value, "source": self.source, "id": self.id}


@dataclass(frozen=True)
class Record:
    """Something to write down at a step.

    Attributes
    ----------
    kind
        The kind of job entry it becomes.
    what
        Words beside the blank.
    shape
        ``"number"`` (a square), ``"tick"``, ``"text"`` (a line) or ``"photo"``.
    unit
        Unit printed behind a number; empty otherwise.
    id
        What it belongs to: a fastener, pin, pulley, shaft or requirement; empty when nothing.
    """

    kind: str
    what: str
    shape: Shape = "tick"
    unit: str = ""
    id: str = ""

    def as_json(self) -> dict[str, str]:
        """Keys ``kind``, ``what``, ``shape``, ``unit``, ``id``."""
        return {"kind": self.kind, "what": self.what, "shape": self.shape, "unit": self.unit, "id": self.id}


@dataclass(frozen=True)
class Step:
    """One step of the plan.

    Attributes
    ----------
    id
        Its slug, kept for ever; on a further belt followed by ``@`` and that belt.
    title
        The one line to read first.
    acts
        What is done, act by act, in order.
    applies_because
        Why this drive or vehicle has the step.
    only_if
        The condition in words where a fact of the vehicle is not known ("If the vehicle is a hybrid"); else empty.
    precondition
        What must be true before it begins; empty when nothing beyond the step before.
    belt
        Id of the belt it belongs to; empty when it belongs to the whole job.
    own
        True for a step that the drive file itself brings.
    """

    id: str
    stage: Stage
    title: str
    acts: tuple[str, ...]
    applies_because: str
    only_if: str = ""
    precondition: str = ""
    cautions: tuple[PlanCaution, ...] = ()
    tools: tuple[str, ...] = ()
    values: tuple[Value, ...] = ()
    records: tuple[Record, ...] = ()
    belt: str = ""
    own: bool = False

    @property
    def text(self) -> str:
        """Title and acts as one running text."""
        lead = f"{self.only_if}: " if self.only_if else ""
        return " ".join([f"{lead}{self.title}.", *self.acts])

    def as_json(self) -> dict[str, Any]:
        """Keys as ``twoturn plan --json`` prints them."""
        return {
            "id": self.id,
            "stage": self.stage,
            "title": self.title,
            "text": self.text,
            "acts": list(self.acts),
            "only_if": self.only_if or None,
            "precondition": self.precondition or None,
            "caution": [caution.text for caution in self.cautions],
            "caution_ids": [caution.id for caution in self.cautions],
            "tools": list(self.tools),
            "value": [value.as_json() for value in self.values],
            "record": [record.as_json() for record in self.records],
            "applies_because": self.applies_because,
            "belt": self.belt or None,
        }


@dataclass(frozen=True)
class PartLine:
    """A part to lay out.

    Attributes
    ----------
    count
        How many [-].
    single_use
        Renewed because it serves once.
    remark
        What else the drive file says of it.
    """

    name: str
    count: int
    single_use: bool
    remark: str = ""

    def as_json(self) -> dict[str, Any]:
        """Keys ``name``, ``count``, ``single_use``, ``remark``."""
        return {"name": self.name, "count": self.count, "single_use": self.single_use, "remark": self.remark}


@dataclass(frozen=True)
class TorqueToolLine:
    """A torque tool to lay out.

    Attributes
    ----------
    low_nm, high_nm
        Range of the tool [N·m].
    torques_nm
        The torques of this job it is for, rising [N·m].
    fasteners
        Ids of the fasteners tightened with it.
    """

    low_nm: float
    high_nm: float
    torques_nm: tuple[float, ...]
    fasteners: tuple[str, ...]

    def as_json(self) -> dict[str, Any]:
        """Keys ``low_nm``, ``high_nm``, ``torques_nm``, ``fasteners``."""
        return {
            "low_nm": self.low_nm,
            "high_nm": self.high_nm,
            "torques_nm": list(self.torques_nm),
            "fasteners": list(self.fasteners),
        }


@dataclass(frozen=True)
class PinLine:
    """A pin, bar or rod to count in and out.

    Attributes
    ----------
    size_mm, min_depth_mm
        Diameter or thickness and least depth [mm]; None where the drive file gives none.
    purpose
        ``"check"`` or ``"hold"``.
    """

    id: str
    shaft: str
    size_mm: float | None
    min_depth_mm: float | None
    purpose: str

    def as_json(self) -> dict[str, Any]:
        """Keys ``id``, ``shaft``, ``size_mm``, ``min_depth_mm``, ``purpose``."""
        return {
            "id": self.id,
            "shaft": self.shaft,
            "size_mm": self.size_mm,
            "min_depth_mm": self.min_depth_mm,
            "purpose": self.purpose,
        }


@dataclass(frozen=True)
class Minutes:
    """What this shop has needed for jobs of this kind.

    Attributes
    ----------
    low, high
        Ends of the range [min] that held eight in ten of them.
    jobs
        How many jobs it rests on [-].
    """

    low: float
    high: float
    jobs: int

    def as_json(self) -> dict[str, float | int]:
        """Keys ``low``, ``high`` [min] and ``jobs`` [-]."""
        return {"low": self.low, "high": self.high, "jobs": self.jobs}


@dataclass(frozen=True)
class Plan:
    """The plan for one drive and, where known, one vehicle.

    Attributes
    ----------
    drive, source
        Name of the drive and where its numbers come from.
    vehicle
        The vehicle's facts in words, as far as known.
    minutes
        The shop's own time, None until it has three jobs of the kind.
    notes
        Sentences that belong to the whole plan: what it lacks, what was assumed.
    """

    drive: str
    source: str
    vehicle: str
    steps: tuple[Step, ...]
    parts: tuple[PartLine, ...]
    torque_tools: tuple[TorqueToolLine, ...]
    tools: tuple[str, ...]
    pins: tuple[PinLine, ...]
    fluids: tuple[str, ...]
    minutes: Minutes | None
    notes: tuple[str, ...] = ()

    @property
    def is_invented(self) -> bool:
        """Whether the drive says of itself that it is invented."""
        return "invented" in f"{self.drive} {self.source}".lower()

    def step(self, step_id: str) -> Step:
        """The step of that id; KeyError when the plan has none."""
        for step in self.steps:
            if step.id == step_id:
                return step
        raise KeyError(step_id)

    def as_json(self) -> dict[str, Any]:
        """Keys as ``twoturn plan --json`` prints them."""
        return {
            "drive": self.drive,
            "source": self.source,
            "vehicle": self.vehicle,
            "steps": [step.as_json() for step in self.steps],
            "parts": [part.as_json() for part in self.parts],
            "single_use": [part.as_json() for part in self.parts if part.single_use],
            "torque_tools": [tool.as_json() for tool in self.torque_tools],
            "tools": list(self.tools),
            "pins": [pin.as_json() for pin in self.pins],
            "fluids": list(self.fluids),
            "minutes": None if self.minutes is None else self.minutes.as_json(),
            "notes": list(self.notes),
        }
