"""Bounds of what may be sent and asked: every number and every text of a request has them."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import AfterValidator, BaseModel, ConfigDict, Field
from pydantic_core import PydanticCustomError

from twoturn.web.security.numbers import MOST_ID


def _no_nul(text: str) -> str:
    if "\x00" in text:
        raise PydanticCustomError("nul", "a text without the sign of number 0")
    return text


def _one_line(text: str) -> str:
    if any(ord(sign) < 32 for sign in text):
        raise PydanticCustomError("one_line", "one line without signs that cannot be printed")
    return text


Id = Annotated[int, Field(ge=1, le=MOST_ID, description="number in the record")]
Line = Annotated[str, Field(max_length=200), AfterValidator(_one_line)]
Name = Annotated[str, Field(min_length=1, max_length=80), AfterValidator(_one_line)]
Lines = Annotated[str, Field(max_length=2000), AfterValidator(_no_nul)]
DriveText = Annotated[str, Field(max_length=1_000_000, description="a drive file, TOML"), AfterValidator(_no_nul)]
Day = Annotated[str, Field(pattern=r"^[0-9]{4}-[0-9]{2}-[0-9]{2}$", description="a day such as 2026-03-02")]


class Asked(BaseModel):
    """What a request holds: nothing but the keys named, numbers as numbers."""

    model_config = ConfigDict(extra="forbid", strict=True, frozen=True, allow_inf_nan=False)


class Query(BaseModel):
    """What stands behind the question mark of an address: nothing but the keys named."""

    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False)


class Told(BaseModel):
    """What an answer holds: nothing but the keys named."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class ErrorTold(Told):
    """What was refused: one clear sentence, and its parts."""

    status: Annotated[int, Field(ge=400, le=599, description="the answer's status")]
    sentence: Annotated[str, Field(description="what is wrong, what is allowed, what to do next")]
    message: Annotated[str, Field(description="what is wrong")]
    allowed: Annotated[str, Field(description="what would be right; empty where the message says it")]
    next_step: Annotated[str, Field(description="what to do next; empty where it is plain")]
    fields: Annotated[dict[str, str], Field(description="a sentence for each field at fault")]


class ErrorAnswer(Told):
    """The one shape of an error."""

    error: ErrorTold


Anything = dict[str, Any]
"""A table whose keys another document tells (a job's entry, a drive)."""
