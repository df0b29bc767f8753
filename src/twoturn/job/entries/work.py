"""What was done: tools, tightening, loosening, turning, waiting, parts, belts and tensioners set, steps done."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BeforeValidator, Field, WithJsonSchema, model_validator

from twoturn.drive.model.base import refusal
from twoturn.drive.model.belts import Way
from twoturn.job.entries.base import Day, EntryBase, Name, Names, Text
from twoturn.job.entries.found import either
from twoturn.job.entries.numbers import (
    Minutes,
    SomeDegrees,
    SomeMillimetres,
    Stages,
    Torque,
    in_unit,
)


def _turns(value: object) -> object:
    if isinstance(value, str):
        number = value.strip().lower().removesuffix("turns").removesuffix("turn").strip()
        return in_unit("-")(number)
    return in_unit("-")(value)


class Tool(EntryBase):
    """A torque tool as it lies in the drawer: entered once a job, then named by its letter."""

    kind: Literal["tool"]
    tool: Annotated[Name, Field(description='the name of the tool, such as "A"')]
    type: Annotated[
        Literal["torque wrench", "torque screwdriver", "angle gauge", "other"],
        Field(description='"torque wrench", "torque screwdriver", "angle gauge" or "other"'),
    ] = "torque wrench"
    class_: Annotated[
        Literal["I A", "I B", "I C", "I D", "I E", "II A", "II B", "II C", "II D", "II E", "II F", "II G"] | None,
        Field(alias="class", description='its type and class by ISO 6789, such as "II A"'),
    ] = None
    low_nm: Annotated[Torque | None, Field(description="the lower end of its range in N·m")] = None
    high_nm: Annotated[Torque | None, Field(description="the upper end of its range in N·m")] = None
    calibrated: Annotated[Day | None, Field(description="the day of its calibration, such as 2025-09-01")] = None
    valid_months: Annotated[int, Field(ge=1, le=60, description="how many months a calibration holds")] = 12
    number: Annotated[Name | None, Field(description="its serial or certificate number")] = None

    @model_validator(mode="after")
    def _range_in_order(self) -> Tool:
        if self.low_nm is not None and self.high_nm is not None and self.low_nm >= self.high_nm:
            found = f"{self.low_nm:g} to {self.high_nm:g} N·m"
            raise refusal("low_nm", found, "low_nm below high_nm")
        return self


class TorqueEntry(EntryBase):
    """Fasteners tightened: one, a list alike, a row with its values, or all of them to plan."""

    kind: Literal["torque"]
    fastener: Annotated[Names | None, Field(description='the id of a fastener, a list of them, or "all"')] = None
    set: Annotated[Stages | None, Field(description='the stages set, such as 25, "90°" or [50, "180°"]')] = None
    to_plan: Annotated[bool, Field(description="true or false")] = False
    row: Annotated[dict[Name, Stages] | None, Field(description='a row such as { nut = 25, bolt = [50, "90°"] }')] = (
        None
    )
    stage: Annotated[int | None, Field(ge=1, le=12, description="the number of the one stage set, 1 the first")] = None
    tool: Annotated[Names | None, Field(description="the name of a tool, or a list of them")] = None
    nothing_moved: Annotated[bool, Field(description="true or false")] = False
    new: Annotated[bool | None, Field(description="true or false")] = None

    @model_validator(mode="after")
    def _says_what(self) -> TorqueEntry:
        either(self, "fastener", "row")
        if self.fastener is not None and (self.set is None) == (not self.to_plan):
            raise refusal("set", "both" if self.to_plan else "nothing", "set = …, or to_plan = true")
        if self.row is not None and (self.set is not None or self.to_plan or self.stage is not None):
            raise refusal("row", "a row beside set, stage or to_plan", "the row alone")
        if self.fastener is not None and "all" in self.fastener and (len(self.fastener) > 1 or not self.to_plan):
            raise refusal("fastener", '"all"', '"all" alone, with to_plan = true')
        if self.stage is not None and (self.set is None or len(self.set) != 1):
            raise refusal("stage", str(self.stage), "stage only beside one value in set")
        return self


class Loosened(EntryBase):
    """Fasteners loosened."""

    kind: Literal["loosened"]
    fastener: Annotated[Names, Field(description="the id of a fastener, or a list of them")]
    nothing_moved: Annotated[bool, Field(description="true or false")] = False


class Turned(EntryBase):
    """The engine turned by hand at the crankshaft, in its running direction unless it says otherwise."""

    kind: Literal["turned"]
    turns: Annotated[
        float,
        BeforeValidator(_turns),
        Field(ge=0, le=100, description="turns of the crankshaft, such as 2"),
        WithJsonSchema(
            {"type": ["number", "string"], "minimum": 0, "description": "turns of the crankshaft, such as 2"}
        ),
    ]
    overshot: Annotated[bool | SomeDegrees, Field(description="true or false")] = False
    turned_back: Annotated[bool | SomeDegrees, Field(description="true, false, or by how many degrees")] = False
    way: Annotated[Way | None, Field(description='"clockwise" or "counter-clockwise"')] = None


class Waited(EntryBase):
    """Time let go by, so that a ram or an arm settles."""

    kind: Literal["waited"]
    minutes: Annotated[Minutes, Field(description='minutes, such as 5 or "1 h"')]


class BeltData(EntryBase):
    """What a belt is."""

    belt: Annotated[Name | None, Field(description="the id of a belt")] = None
    teeth: Annotated[int | None, Field(ge=10, le=1000, description="the number of teeth")] = None
    teeth_from: Annotated[Literal["print", "counted"], Field(description='"print" or "counted"')] = "print"
    width_mm: Annotated[SomeMillimetres | None, Field(description="the width in mm")] = None
    arrow: Annotated[
        Literal["with travel", "against travel", "none"] | None,
        Field(description='"with travel", "against travel" or "none" (no arrow on this belt)'),
    ] = None
    designation: Annotated[Name | None, Field(description="what is printed on it")] = None
    batch: Annotated[Name | None, Field(description="the batch as printed")] = None


class BeltFitted(BeltData):
    """A belt put on: the old readings of this belt count no more."""

    kind: Literal["belt fitted"]


class PartFitted(BeltData):
    """A part fitted, with its data; what is a belt is entered as "belt fitted"."""

    kind: Literal["part fitted"]
    part: Annotated[Name, Field(description="the name of the part")]
    at: Annotated[Name | None, Field(description="the id of a pulley, shaft or belt")] = None
    number: Annotated[Name | None, Field(description="the part number")] = None
    count: Annotated[int, Field(ge=1, le=1000, description="how many")] = 1


class AdjusterMoved(EntryBase):
    """The tensioner set, or its setting eccentric, roller or slide moved."""

    kind: Literal["adjuster moved"]
    at: Annotated[Name | None, Field(description="the id of the tensioner's pulley")] = None
    to: Annotated[Text | None, Field(description='what it was set to, such as "notch"')] = None
    to_plan: Annotated[bool, Field(description="true when the whole setting sequence was followed")] = False
    way: Annotated[Way | None, Field(description='"clockwise" or "counter-clockwise"')] = None
    tang_seated: Annotated[bool | None, Field(description="true or false")] = None


class StepDone(EntryBase):
    """A step of the plan done, or left with its reason in the note."""

    kind: Literal["step done"]
    step: Annotated[Name | None, Field(description="the id of a step of the plan")] = None
    yes: Annotated[bool, Field(description="true or false")] = True

    @model_validator(mode="after")
    def _says_which(self) -> StepDone:
        if (self.step or self.done) is None:
            raise refusal("step", "nothing", "the id of the step that was done")
        return self
