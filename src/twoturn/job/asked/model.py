"""What is asked: a question with its fields, what is known before anyone answers, and the units a person uses."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Any, Literal

Shape = Literal[
    "number",
    "whole",
    "choice",
    "many",
    "tick",
    "yes/no",
    "text",
    "date",
    "photo",
    "sound",
    "capture",
    "mark picture",
    "pointer picture",
    "torque row",
    "stages",
]
Given = str | tuple[str, ...] | None
"""What stands in a field: a text, the texts picked of several, or nothing."""


@dataclass(frozen=True)
class Choice:
    """One of the answers to pick.

    Attributes
    ----------
    value, label
        What is entered, and what a person reads.
    picture
        Id of the picture that shows it; None where words do.
    """

    value: str
    label: str
    picture: str | None = None


@dataclass(frozen=True)
class Field:
    """One blank of a question.

    Attributes
    ----------
    key
        Key of the entry; ``regime.rpm`` and ``row.nut`` name one inside a table.
    label, hint
        The words beside it, and what helps to fill it in.
    shape
        How it is drawn and read.
    unit
        Unit of a number as the entry takes it; empty for a plain one.
    choices
        What to pick from; a field of shape "choice" or "many" with ``or_typed`` takes anything else as well.
    value, from_where
        What is filled in, and where that comes from.
    required
        Whether the entry cannot do without it.
    low, high
        Least and greatest sensible number [unit]; they also settle what 1.234 means where only one meaning lies inside.
    likely
        Where the number lies as far as anyone knows [unit]: settles what 1.234 means as well, and refuses nothing.
    only_if
        Key of another field and the values of it with which this one is asked at all.
    lead
        Words put before a typed text, so that a short answer stays understandable in the record.
    """

    key: str
    label: str
    shape: Shape
    unit: str = ""
    choices: tuple[Choice, ...] = ()
    value: Given = None
    from_where: str = ""
    hint: str = ""
    required: bool = True
    low: float | None = None
    high: float | None = None
    likely: tuple[float | None, float | None] = (None, None)
    only_if: tuple[str, tuple[str, ...]] | None = None
    or_typed: bool = False
    lead: str = ""


@dataclass(frozen=True)
class Asked:
    """One question; its answer is one entry.

    Attributes
    ----------
    id
        Its own name on the page, the same in every round.
    step
        Id of the step it belongs to.
    kind
        Kind of the entry that answers it.
    title, why
        The question, and why it is asked.
    fixed
        Keys of the entry that are settled: its place, ``done`` and ``pass``.
    fields, more
        What is asked, and what may be said besides.
    needed
        Whether a required check hangs on it and nothing answers that check yet in another way.
    quick, quick_values
        The words of the answer given by one tap, and what it puts into the fields; None where there is none.
    done
        Numbers of the entries that answer it in the round the step is in.
    answered
        Whether those entries answer all of it (every mark, every fastener).
    words
        What those entries say.
    checks
        Ids of the checks it can answer.
    earlier
        What the last jobs of this drive read here; empty where there are none, and where no number is read.
    """

    id: str
    step: str
    kind: str
    title: str
    fixed: Mapping[str, Any]
    fields: tuple[Field, ...]
    more: tuple[Field, ...] = ()
    why: str = ""
    needed: bool = False
    quick: str | None = None
    quick_values: Mapping[str, Given] = field(default_factory=dict)
    done: tuple[int, ...] = ()
    answered: bool = False
    words: tuple[str, ...] = ()
    checks: tuple[str, ...] = ()
    earlier: str = ""

    @property
    def every_field(self) -> tuple[Field, ...]:
        """The fields asked and those that may be said besides."""
        return (*self.fields, *self.more)

    @property
    def filled(self) -> dict[str, Given]:
        """What stands in the fields before anyone types."""
        return {one.key: one.value for one in self.every_field if one.value is not None}

    @property
    def round(self) -> int:
        """Which round of its step an answer given now belongs to [-], from 1."""
        return int(self.fixed.get("pass", 1))


def reading_key(quantity: str, place: str) -> str:
    """What a reading is kept by: its quantity and its place, a span from either end alike."""
    return f"{quantity} {':'.join(sorted(place.split(':')))}"


@dataclass(frozen=True)
class KnownTool:
    """A torque tool in the drawer.

    Attributes
    ----------
    low_nm, high_nm
        Its range [N·m].
    calibrated, valid_months
        Day of its last calibration, and how long that holds [months].
    """

    tool: str
    low_nm: float | None = None
    high_nm: float | None = None
    calibrated: date | None = None
    valid_months: int = 12
    type: str = "torque wrench"
    class_: str | None = None
    number: str | None = None


@dataclass(frozen=True)
class Known:
    """What vehicle, drawer and earlier jobs say already; every attribute may be left out.

    Attributes
    ----------
    odometer_km
        The last distance known of the vehicle [km].
    shop_air_c
        The shop's air of today, where it was asked already [°C].
    tools
        The torque tools in the drawer, the usual one first.
    arrow, teeth_from
        As the last job of this drive entered them.
    earlier
        What the last jobs of this drive read, in words, by quantity and place (:func:`reading_key`).
    """

    registration: str | None = None
    vin: str | None = None
    model: str | None = None
    engine: str | None = None
    fuel: str | None = None
    hybrid: bool | None = None
    stop_start: bool | None = None
    first_registered: date | None = None
    customer: str | None = None
    odometer_km: float | None = None
    shop_air_c: float | None = None
    tools: tuple[KnownTool, ...] = ()
    arrow: str | None = None
    teeth_from: str | None = None
    earlier: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class Units:
    """The units a person types and reads; a number without a unit is taken in them.

    Attributes
    ----------
    torque, length, temperature, distance
        ``N·m`` or ``lbf·ft``, ``mm`` or ``in``, ``°C`` or ``°F``, ``km`` or ``mi``.
    """

    torque: str = "N·m"
    length: str = "mm"
    temperature: str = "°C"
    distance: str = "km"

    def of(self, unit: str) -> str:
        """The person's unit for numbers that an entry takes in ``unit``."""
        mine = {"N·m": self.torque, "mm": self.length, "°C": self.temperature, "km": self.distance}
        return mine.get(unit, unit)
