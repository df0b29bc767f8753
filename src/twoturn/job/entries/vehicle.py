"""The vehicle, its distance and its temperatures."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, WithJsonSchema

from twoturn.drive.model.base import refusal
from twoturn.job.entries.base import Day, EntryBase, Name
from twoturn.job.entries.numbers import Celsius, Kilometres, in_unit

TemperatureWord = Literal["overnight", "hand-warm", "hot"]
WORDS: dict[str, tuple[float, float]] = {"overnight": (20.0, 3.0), "hand-warm": (40.0, 7.0), "hot": (80.0, 10.0)}
"""Temperature [°C] and its standard uncertainty [K] of each word; "overnight" is the shop's air where that is known."""
U_OVERNIGHT_UNANSWERED_K = 8.0
U_MEASURED_K = 1.0


def _word_or_number(value: Any) -> Any:
    if isinstance(value, str):
        if value.strip().lower() in WORDS:
            return value.strip().lower()
        try:
            return in_unit("°C")(value)
        except ValueError:
            expected = 'a temperature such as 21, "21 °C", "overnight", "hand-warm" or "hot"'
            raise refusal("", f'"{value[:60]}"', expected) from None
    return float(value) if isinstance(value, int) and not isinstance(value, bool) else value


class Vehicle(EntryBase):
    """The vehicle: what the sheet prints and what the plan depends on."""

    kind: Literal["vehicle"]
    registration: Annotated[Name | None, Field(description="the registration")] = None
    vin: Annotated[Name | None, Field(description="the vehicle identification number")] = None
    model: Annotated[Name | None, Field(description="make and model")] = None
    engine: Annotated[Name | None, Field(description="the engine code")] = None
    fuel: Annotated[Literal["petrol", "diesel", "gas"] | None, Field(description='"petrol", "diesel" or "gas"')] = None
    hybrid: Annotated[bool | None, Field(description="true or false")] = None
    stop_start: Annotated[bool | None, Field(description="true or false")] = None
    first_registered: Annotated[Day | None, Field(description="a date such as 2016-05-30")] = None
    customer: Annotated[Name | None, Field(description="the customer, or the order number")] = None


class Odometer(EntryBase):
    """The distance the vehicle has run."""

    kind: Literal["odometer"]
    km: Annotated[Kilometres, Field(description='a distance such as 118400 or "74,000 mi"')]


class Temperature(EntryBase):
    """Temperature of the engine block, or of the shop's air (asked once a day)."""

    kind: Literal["temperature"]
    of: Annotated[Literal["engine", "shop air"], Field(description='"engine" or "shop air"')] = "engine"
    temperature_c: Annotated[
        TemperatureWord | Celsius,
        BeforeValidator(_word_or_number),
        Field(description='a temperature such as 21, "21 °C", "overnight", "hand-warm" or "hot"'),
        WithJsonSchema(
            {"type": ["number", "string"], "description": 'a number in °C, "overnight", "hand-warm", "hot"'}
        ),
    ]
