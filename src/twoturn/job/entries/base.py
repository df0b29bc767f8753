"""What every entry shares: who entered it, when it was typed, and what was done when."""

from __future__ import annotations

from datetime import date, datetime
from typing import Annotated, Any

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, WithJsonSchema

from twoturn.drive.model.base import refusal


def _names(value: Any) -> Any:
    if isinstance(value, str):
        return (value,)
    return tuple(value) if isinstance(value, list) else value


Name = Annotated[str, Field(min_length=1, max_length=80, pattern=r"^[^\x00-\x1f]+$")]
Text = Annotated[str, Field(min_length=1, max_length=2000)]
Names = Annotated[
    tuple[Name, ...],
    BeforeValidator(_names),
    Field(min_length=1),
    WithJsonSchema({"anyOf": [{"type": "string"}, {"type": "array", "minItems": 1, "items": {"type": "string"}}]}),
]
Pointed = Annotated[Name | Annotated[int, Field(ge=1, le=100000)], Field()]


def _moment(value: Any) -> Any:
    if isinstance(value, str):
        try:
            return datetime.fromisoformat(value)
        except ValueError:
            raise refusal("", f'"{value}"', "a date and time such as 2026-03-02T17:40:00") from None
    if isinstance(value, date) and not isinstance(value, datetime):
        return datetime(value.year, value.month, value.day)
    return value


def _day(value: Any) -> Any:
    if isinstance(value, str):
        try:
            return date.fromisoformat(value)
        except ValueError:
            raise refusal("", f'"{value}"', "a date such as 2026-03-02") from None
    return value.date() if isinstance(value, datetime) else value


Moment = Annotated[datetime, BeforeValidator(_moment)]
Day = Annotated[date, BeforeValidator(_day)]


class EntryBase(BaseModel):
    """Keys that every entry may carry.

    Attributes
    ----------
    kind
        What the entry says.
    id
        A name of its own, so that a correction or "left out" can point at it; its number in the list serves as well.
    done
        The step of the plan at which it was done; without it the entry was done where it stands in the list.
    pass_
        Which round of that step: who goes back to an earlier step writes 2 from there on.
    entered
        When it was typed; without it as the entry before.
    by
        Who stands for it; without it as the entry before.
    replaces
        Id or number of the entry that this one corrects.
    note
        Anything worth saying.
    """

    model_config = ConfigDict(frozen=True, extra="forbid", strict=True, allow_inf_nan=False)

    kind: Annotated[str, Field(description="a kind of the table above")]
    id: Annotated[Name | None, Field(description="a short name of its own")] = None
    done: Annotated[Name | None, Field(description="the id of a step of the plan")] = None
    pass_: Annotated[
        int, Field(alias="pass", ge=1, le=99, description="which round of the step: 1, or 2 from where you went back")
    ] = 1
    entered: Annotated[Moment | None, Field(description="a date and time such as 2026-03-02T17:40:00")] = None
    by: Annotated[Name | None, Field(description="the name of the person")] = None
    replaces: Annotated[Pointed | None, Field(description="the id or number of the entry it corrects")] = None
    note: Annotated[Text | None, Field(description="a text")] = None
