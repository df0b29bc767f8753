"""Readings taken by eye, hand and gauge: marks, pointer, pins, deflection, twist, lift, anything measured."""

from __future__ import annotations

import math
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, WithJsonSchema, model_validator

from twoturn.drive.model.base import refusal
from twoturn.drive.model.work import Quantity
from twoturn.errors import QuantityError
from twoturn.job.entries.base import EntryBase, Name, Names
from twoturn.job.entries.found import either
from twoturn.job.entries.numbers import (
    Millimetres,
    SomeDegrees,
    SomeMillimetres,
    SomeNewtons,
    SomePlain,
)
from twoturn.quantity.parse import parse, parse_number
from twoturn.quantity.units import convert, find_unit
from twoturn.words.terms import DEFAULT_UNITS

NO_MEASURE = frozenset({"teeth", "° crank", "-"})
"""Units that nothing is converted to or from."""
_STANDARD_U = 'the standard uncertainty, such as 0.05 or "0,05 mm"'
MARK_WORDS = {"on": 0.0, "quarter": 0.25, "half": 0.5, "one": 1.0}
Instrument = Literal[
    "rule", "calliper", "micrometer", "dial gauge", "feeler gauge", "depth gauge", "belt gauge", "other"
]
_INSTRUMENTS = '"rule", "calliper", "micrometer", "dial gauge", "feeler gauge", "depth gauge", "belt gauge" or "other"'


class ReadingEntry(EntryBase):
    """A reading: it counts only in the state it was taken in."""

    as_found: Annotated[bool, Field(description="true when it was taken before anything was loosened")] = False


class Mark(ReadingEntry):
    """Where timing marks stand: on, or off by a quarter, half or one tooth, and which way."""

    kind: Literal["mark"]
    at: Annotated[Names, Field(description='the id of a pulley or shaft, a list of them, or "all"')]
    reads: Annotated[
        Literal["on", "quarter", "half", "one"] | None, Field(description='"on", "quarter", "half" or "one" (tooth)')
    ] = None
    teeth: Annotated[SomePlain | None, Field(le=20, description="how many teeth off")] = None
    off_mm: Annotated[SomeMillimetres | None, Field(description="how many mm off")] = None
    off_deg: Annotated[SomeDegrees | None, Field(description="how many degrees off, at that sprocket")] = None
    way: Annotated[Literal["early", "late"] | None, Field(description='"early" or "late"')] = None

    @model_validator(mode="after")
    def _says_where(self) -> Mark:
        either(self, "reads", "teeth", "off_mm", "off_deg")
        return self


class Pointer(ReadingEntry):
    """Where a tensioner's pointer stands against its notch."""

    kind: Literal["pointer"]
    at: Annotated[Name | None, Field(description="the id of the tensioner's pulley")] = None
    reads: Annotated[
        Literal["in the notch", "in the window", "outside the window", "short", "past"],
        Field(description='"in the notch", "in the window", "outside the window", "short" or "past"'),
    ]
    widths: Annotated[SomePlain | None, Field(le=50, description="how many pointer widths")] = None
    off_deg: Annotated[SomeDegrees | None, Field(le=180, description="how many degrees")] = None
    off_mm: Annotated[SomeMillimetres | None, Field(description="how many mm (a slide)")] = None

    @model_validator(mode="after")
    def _says_how_far(self) -> Pointer:
        given = [key for key in ("widths", "off_deg", "off_mm") if getattr(self, key) is not None]
        if self.reads in ("short", "past") and len(given) != 1:
            raise refusal("reads", f'"{self.reads}"', "how far beside it: widths, off_deg or off_mm, one of them")
        if self.reads not in ("short", "past") and given:
            raise refusal(given[0], f'{given[0]} beside "{self.reads}"', 'reads = "short" or "past" for it')
        return self


class PinIn(ReadingEntry):
    """A locking pin, bar or rod put in: as a check (by hand, nothing moved, out again) or to hold."""

    kind: Literal["pin in"]
    pin: Annotated[Names, Field(description='the id of a pin or its shaft, a list of them, or "all"')]
    use: Annotated[Literal["check", "hold"], Field(description='"check" or "hold"')]
    freely: Annotated[bool, Field(description="true when it went in by hand, else false")] = True
    depth_mm: Annotated[SomeMillimetres | None, Field(description="how deep it went, in mm")] = None


class PinOut(EntryBase):
    """A locking pin taken out and counted."""

    kind: Literal["pin out"]
    pin: Annotated[Names, Field(description='the id of a pin or its shaft, a list of them, or "all"')]
    count: Annotated[int | None, Field(ge=0, le=50, description="how many lie on the bench")] = None


class Gauged(ReadingEntry):
    """What readings with a gauge share."""

    at: Annotated[Name | None, Field(description="where: a span from:to, or the id of a pulley or shaft")] = None
    u_mm: Annotated[SomeMillimetres | None, Field(description="the standard uncertainty in mm")] = None
    instrument: Annotated[Instrument | None, Field(description=_INSTRUMENTS)] = None


class Deflection(Gauged):
    """How far a span gives under a known force in its middle."""

    kind: Literal["deflection"]
    deflection_mm: Annotated[SomeMillimetres, Field(description="the deflection in mm")]
    force_n: Annotated[SomeNewtons | None, Field(description="the force in N")] = None


class Twist(ReadingEntry):
    """A span twisted with thumb and finger: as prescribed or not."""

    kind: Literal["twist"]
    at: Annotated[Name | None, Field(description="the span from:to")] = None
    as_prescribed: Annotated[bool, Field(description="true or false")]


class PumpLift(Gauged):
    """Lift of the pump's plunger at the setting position."""

    kind: Literal["pump lift"]
    lift_mm: Annotated[SomeMillimetres, Field(description="the lift in mm")]


class Protrusion(Gauged):
    """How far a ram stands out."""

    kind: Literal["protrusion"]
    protrusion_mm: Annotated[Millimetres, Field(description="how far the ram stands out, in mm")]


def _value(value: Any) -> Any:
    return float(value) if isinstance(value, int) and not isinstance(value, bool) else value


class Measured(ReadingEntry):
    """Anything measured: a number with unit, standard uncertainty and instrument; or a plain yes or no."""

    kind: Literal["measured"]
    quantity: Annotated[Quantity, Field(description='a quantity of the drive file, such as "width"')]
    at: Annotated[Name | None, Field(description="where: a span from:to, or an id of the drive")] = None
    value: Annotated[
        float | str | None,
        BeforeValidator(_value),
        Field(description='the value, such as 25.3 or "25,3 mm"'),
        WithJsonSchema({"type": ["number", "string"]}),
    ] = None
    as_prescribed: Annotated[bool | None, Field(description="true or false")] = None
    unit: Annotated[Name | None, Field(description="the unit of value and u")] = None
    u: Annotated[
        float | str | None,
        BeforeValidator(_value),
        Field(description='the standard uncertainty, in the unit of the value, or with its own: "0,05 mm"'),
        WithJsonSchema({"anyOf": [{"type": "number", "minimum": 0}, {"type": "string"}]}),
    ] = None
    dof: Annotated[float | None, Field(ge=1, description="degrees of freedom of u")] = None
    instrument: Annotated[Name | None, Field(description="the name of the instrument")] = None

    @model_validator(mode="after")
    def _one_answer(self) -> Measured:
        either(self, "value", "as_prescribed")
        if self.value is not None:
            _ = self.number
        if self.u is not None:
            _ = self.standard_u
        return self

    @property
    def number(self) -> tuple[float, str]:
        """The value and its unit as printed."""
        unit = self.unit or DEFAULT_UNITS.get(self.quantity)
        if isinstance(self.value, str):
            try:
                if unit is None or unit in NO_MEASURE:
                    return parse_number(self.value), unit or "-"
                typed = parse(self.value, unit)
            except QuantityError as error:
                raise refusal("value", f'"{self.value[:60]}"', f"a number with its unit ({error.message})") from None
            return typed.value, typed.unit
        if unit is None:
            raise refusal("unit", "nothing", "the unit of the value")
        return float(self.value or 0.0), unit

    @property
    def standard_u(self) -> float | None:
        """The standard uncertainty in the unit of ``number``; None where none is told."""
        if self.u is None or self.value is None:
            return None
        unit = self.number[1]
        try:
            u = self._own_u(unit)
        except QuantityError as error:
            raise refusal("u", f'"{self.u}"'[:60], f"{_STANDARD_U} ({error.message})") from None
        if not 0 <= u < math.inf:
            raise refusal("u", f"{self.u}"[:60], f"{_STANDARD_U}, not below 0")
        return u

    def _own_u(self, unit: str) -> float:
        """The uncertainty in ``unit``: without a unit of its own it is in the one that the value was typed in."""
        if unit in NO_MEASURE:
            return parse_number(self.u) if isinstance(self.u, str) else float(self.u or 0.0)
        wanted = find_unit(unit).symbol
        own = self.unit or (parse(self.value, wanted).typed_unit if isinstance(self.value, str) else wanted)
        typed = parse(self.u, find_unit(own).symbol) if isinstance(self.u, str) else None
        number, source = (float(self.u or 0.0), own) if typed is None else (typed.value, typed.unit)
        return convert(number, source, wanted) - convert(0.0, source, wanted)
