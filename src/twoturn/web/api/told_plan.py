"""What the API tells of a plan: the keys that ``twoturn plan --json`` prints."""

from __future__ import annotations

from twoturn.plan.model import Shape, Stage
from twoturn.web.api.bounds import Told


class ValueTold(Told):
    """A value at a step, as printed with its unit."""

    what: str
    value: str
    source: str
    id: str


class RecordTold(Told):
    """Something to write down at a step."""

    kind: str
    what: str
    shape: Shape
    unit: str
    id: str


class StepTold(Told):
    """A step of the plan."""

    id: str
    stage: Stage
    title: str
    text: str
    acts: list[str]
    only_if: str | None
    precondition: str | None
    caution: list[str]
    caution_ids: list[str]
    tools: list[str]
    value: list[ValueTold]
    record: list[RecordTold]
    applies_because: str
    belt: str | None


class PartTold(Told):
    """A part to lay out."""

    name: str
    count: int
    single_use: bool
    remark: str


class TorqueToolTold(Told):
    """A torque tool to lay out."""

    low_nm: float
    high_nm: float
    torques_nm: list[float]
    fasteners: list[str]


class PinTold(Told):
    """A pin, bar or rod to count in and out."""

    id: str
    shaft: str
    size_mm: float | None
    min_depth_mm: float | None
    purpose: str


class MinutesTold(Told):
    """What this shop has needed for jobs of this kind [min]."""

    low: float
    high: float
    jobs: int


class PlanTold(Told):
    """The plan for one drive and, where known, one vehicle."""

    drive: str
    source: str
    vehicle: str
    steps: list[StepTold]
    parts: list[PartTold]
    single_use: list[PartTold]
    torque_tools: list[TorqueToolTold]
    tools: list[str]
    pins: list[PinTold]
    fluids: list[str]
    minutes: MinutesTold | None
    notes: list[str]
