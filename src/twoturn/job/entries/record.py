"""Entries about the record itself: references, overrides, readings left out, remarks, the last question, signatures."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BeforeValidator, Field, WithJsonSchema, model_validator

from twoturn.drive.model.base import refusal
from twoturn.job.entries.base import EntryBase, Names, Pointed, Text
from twoturn.job.entries.recordings import Edges, Regime


class Reference(EntryBase):
    """Cam edges of a proven job of the same engine type: what a recording is compared with."""

    kind: Literal["reference"]
    edges: Edges
    regime: Annotated[Regime, Field(description="rpm and temperature_c")] = Regime()
    proven_by: Annotated[
        Literal["marks", "pins", "maker"], Field(description='"marks", "pins" or "maker": what proved that job')
    ]
    source: Annotated[Text, Field(description="the job or paper it comes from")]


class Override(EntryBase):
    """A lead hands over in spite of a check, and says why; the verdict stays as it is."""

    kind: Literal["override"]
    check: Annotated[Names, Field(description="the id of a check, or a list of them")]
    reason: Annotated[Text, Field(description="the reason")]


class LeftOut(EntryBase):
    """A reading left out, with the reason; what was done cannot be left out."""

    kind: Literal["left out"]
    entry: Annotated[
        tuple[Pointed, ...],
        BeforeValidator(lambda value: tuple(value) if isinstance(value, list) else (value,)),
        Field(min_length=1, description="the id or number of an entry, or a list of them"),
        WithJsonSchema({"type": ["integer", "string", "array"], "description": "id or number of an entry, or a list"}),
    ]
    reason: Annotated[Text, Field(description="the reason")]


class Struck(EntryBase):
    """An entry made by mistake, struck out; both stay on record."""

    kind: Literal["struck out"]
    reason: Annotated[Text, Field(description="the reason")]

    @model_validator(mode="after")
    def _says_which(self) -> Struck:
        if self.replaces is None:
            raise refusal("replaces", "nothing", "the id or number of the entry that is struck out")
        return self


class Remark(EntryBase):
    """A remark."""

    kind: Literal["remark"]
    text: Annotated[Text, Field(description="a text")]


class LastQuestion(EntryBase):
    """The answer to "After the last turns, was anything moved, or the crank turned back?"."""

    kind: Literal["moved at end"]
    moved: Annotated[bool, Field(description="true or false")]
    what: Annotated[Text | None, Field(description="what was moved")] = None


class Signed(EntryBase):
    """A signature: the technician's or the lead's."""

    kind: Literal["signed"]
    role: Annotated[Literal["technician", "lead"], Field(description='"technician" or "lead"')] = "technician"
    text: Annotated[Text | None, Field(description="a text")] = None


class Decided(EntryBase):
    """A decision, such as "renew now", or handed over with checks not shown."""

    kind: Literal["decided"]
    text: Annotated[Text, Field(description="what was decided")]
