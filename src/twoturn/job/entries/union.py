"""All kinds of entries."""

from __future__ import annotations

from typing import Annotated, get_args

from pydantic import Field

from twoturn.job.entries.base import EntryBase
from twoturn.job.entries.found import Cured, FindingEntry, Photo
from twoturn.job.entries.read import Deflection, Mark, Measured, PinIn, PinOut, Pointer, Protrusion, PumpLift, Twist
from twoturn.job.entries.record import (
    Decided,
    LastQuestion,
    LeftOut,
    Override,
    Reference,
    Remark,
    Signed,
    Struck,
)
from twoturn.job.entries.recordings import Capture, Pluck
from twoturn.job.entries.vehicle import Odometer, Temperature, Vehicle
from twoturn.job.entries.work import (
    AdjusterMoved,
    BeltFitted,
    Loosened,
    PartFitted,
    StepDone,
    Tool,
    TorqueEntry,
    Turned,
    Waited,
)

Entry = Annotated[
    Vehicle
    | Odometer
    | Temperature
    | FindingEntry
    | Cured
    | Photo
    | Tool
    | TorqueEntry
    | Loosened
    | Turned
    | Waited
    | BeltFitted
    | PartFitted
    | AdjusterMoved
    | StepDone
    | Mark
    | Pointer
    | PinIn
    | PinOut
    | Deflection
    | Twist
    | PumpLift
    | Protrusion
    | Measured
    | Pluck
    | Capture
    | Reference
    | Override
    | LeftOut
    | Struck
    | Remark
    | LastQuestion
    | Signed
    | Decided,
    Field(discriminator="kind"),
]

KINDS: dict[str, type[EntryBase]] = {
    get_args(model.model_fields["kind"].annotation)[0]: model for model in get_args(get_args(Entry)[0])
}
