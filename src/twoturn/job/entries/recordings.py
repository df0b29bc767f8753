"""Recordings of a span's sound and of sensors: the file is evidence, the reading in the entry is what counts."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field

from twoturn.job.entries.base import Name, Text
from twoturn.job.entries.found import File, Sha256
from twoturn.job.entries.numbers import (
    Celsius,
    Degrees,
    SomeDegrees,
    SomeHertz,
    SomeMillimetres,
    SomeNewtons,
    SomePlain,
    Speed,
)
from twoturn.job.entries.read import ReadingEntry


class Part(BaseModel):
    """A table inside an entry."""

    model_config = ConfigDict(frozen=True, extra="forbid", strict=True, allow_inf_nan=False)


class PluckReading(Part):
    """What was read from a pluck recording."""

    frequency_hz: Annotated[SomeHertz, Field(description="the note in Hz")]
    u_hz: Annotated[SomePlain, Field(description="its standard uncertainty in Hz")]
    dof: Annotated[float | None, Field(ge=1, description="degrees of freedom")] = None
    tension_n: Annotated[SomeNewtons | None, Field(description="the tension in N")] = None
    u_n: Annotated[SomePlain | None, Field(description="its standard uncertainty in N")] = None
    tension_dof: Annotated[float | None, Field(ge=1, description="degrees of freedom")] = None
    plucks: Annotated[int, Field(ge=1, description="how many plucks were heard")] = 1
    doubts: Annotated[
        tuple[Text, ...],
        BeforeValidator(lambda value: tuple(value) if isinstance(value, list) else value),
        Field(description="sentences on what makes it less sure"),
    ] = ()


class Pluck(ReadingEntry):
    """A recording of a plucked span."""

    kind: Literal["pluck"]
    file: Annotated[File, Field(description="the name of a file in the job folder")]
    span: Annotated[Name | None, Field(description='the span, such as "crankshaft:tensioner"')] = None
    length_mm: Annotated[
        SomeMillimetres | None,
        Field(ge=20, le=2000, description="the free span as measured in mm"),
    ] = None
    sha256: Annotated[Sha256 | None, Field(description="64 hexadecimal digits")] = None
    reading: Annotated[PluckReading | None, Field(description="what was read from the file")] = None
    reader: Annotated[Name | None, Field(description="the version of the reader")] = None


class EdgeReading(Part):
    """One edge of a cam sensor, in crank degrees after angle 0 of the recording."""

    shaft: Annotated[Name, Field(description="the id of a shaft")]
    edge: Annotated[Literal["rising", "falling"], Field(description='"rising" or "falling"')]
    angle_deg: Annotated[Degrees, Field(description="the angle in crank degrees")]
    u_deg: Annotated[SomeDegrees, Field(description="its standard uncertainty in crank degrees")]
    dof: Annotated[float | None, Field(ge=1, description="degrees of freedom")] = None


Edges = Annotated[
    tuple[EdgeReading, ...],
    BeforeValidator(lambda value: tuple(value) if isinstance(value, list) else value),
    Field(min_length=1, description="a list of edges"),
]


class Regime(Part):
    """How the engine turned while it was recorded; only like is compared with like."""

    rpm: Annotated[Speed | None, Field(description="the mean speed in rpm")] = None
    temperature_c: Annotated[Celsius | None, Field(description="the temperature in °C")] = None
    cranking: Annotated[bool | None, Field(description="true or false")] = None
    phaser_locked: Annotated[
        bool | None, Field(description="true where every timing adjuster (phaser) stood locked")
    ] = None


class WaveReading(Part):
    """The compression wave in the cranking speed, in crank degrees after angle 0 of the recording."""

    per_cycle: Annotated[int, Field(ge=1, le=24, description="waves in two turns")]
    slowest_deg: Annotated[Degrees, Field(description="where the speed is least")]
    u_deg: Annotated[SomeDegrees, Field(description="its standard uncertainty in crank degrees")]


class CaptureReading(Part):
    """What was read from a sensor recording."""

    edges: Edges
    rpm: Annotated[Speed | None, Field(description="the mean speed in rpm")] = None
    zeros: Annotated[
        int, Field(ge=1, le=400, description="how many places of the crank wheel could be its zero, in two turns")
    ] = 2
    wheel: Annotated[Name | None, Field(description='the crank wheel, such as "60-2"')] = None
    place_deg: Annotated[SomeDegrees | None, Field(description="one place of the crank wheel in degrees")] = None
    wave: Annotated[WaveReading | None, Field(description="the compression wave in the cranking speed")] = None
    bare: Annotated[bool | None, Field(description="true where the file lists bare times of one kind of edge")] = None
    doubts: Annotated[
        tuple[Text, ...],
        BeforeValidator(lambda value: tuple(value) if isinstance(value, list) else value),
        Field(description="sentences on what makes it less sure"),
    ] = ()


class Capture(ReadingEntry):
    """A recording of the crankshaft's and camshafts' sensors."""

    kind: Literal["capture"]
    file: Annotated[File, Field(description="the name of a file in the job folder")]
    crank: Annotated[Name | None, Field(description="the name of the crank channel")] = None
    cams: Annotated[
        dict[Name, Name] | None, Field(description='shafts and their channels, such as { camshaft = "CH2" }')
    ] = None
    edge: Annotated[
        Literal["rising", "falling"] | None, Field(description='which edges bare edge times are: "rising" or "falling"')
    ] = None
    regime: Annotated[Regime, Field(description="rpm and temperature_c")] = Regime()
    sha256: Annotated[Sha256 | None, Field(description="64 hexadecimal digits")] = None
    reading: Annotated[CaptureReading | None, Field(description="what was read from the file")] = None
    reader: Annotated[Name | None, Field(description="the version of the reader")] = None
    text: Annotated[Text | None, Field(description="a text")] = None
