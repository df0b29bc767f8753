"""The whole drive file."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field, field_validator

from twoturn.drive.model.base import Table
from twoturn.drive.model.belts import BeltTable, DistanceTable, DriveHead, LinkTable, PulleyTable, ShaftTable
from twoturn.drive.model.tensioners import Tensioner
from twoturn.drive.model.work import (
    AccessTable,
    EngineTable,
    FastenerTable,
    FitTable,
    FluidsTable,
    IntervalTable,
    PartTable,
    PinTable,
    RelearnTable,
    RequirementTable,
    StepTable,
    TimingTable,
    ToolTable,
)


class DriveFile(Table):
    """A drive file: the timing drive of one engine type, as written."""

    drive: DriveHead
    belt: Annotated[list[BeltTable], Field(min_length=1)]
    pulley: Annotated[list[PulleyTable], Field(min_length=2)]
    shaft: list[ShaftTable] = Field(default_factory=list)
    link: list[LinkTable] = Field(default_factory=list)
    distance: list[DistanceTable] = Field(default_factory=list)
    tensioner: list[Tensioner] = Field(default_factory=list)
    requirement: list[RequirementTable] = Field(default_factory=list)
    fastener: list[FastenerTable] = Field(default_factory=list)
    timing: TimingTable = Field(default_factory=TimingTable)
    pin: list[PinTable] = Field(default_factory=list)
    part: list[PartTable] = Field(default_factory=list)
    tool: list[ToolTable] = Field(default_factory=list)
    fluids: FluidsTable = Field(default_factory=FluidsTable)
    access: AccessTable = Field(default_factory=AccessTable)
    relearn: RelearnTable = Field(default_factory=RelearnTable)
    engine: EngineTable = Field(default_factory=EngineTable)
    interval: IntervalTable | None = None
    fit: list[FitTable] = Field(default_factory=list)
    step: list[StepTable] = Field(default_factory=list)

    @field_validator("fit", mode="before")
    @classmethod
    def _one_or_many(cls, value: object) -> object:
        return [value] if isinstance(value, dict) else value
