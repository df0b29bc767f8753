"""What the API tells of a job: its head, what is proven, its entries, its record number."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated

from pydantic import Field

from twoturn.quantity.conformity import Verdict
from twoturn.web.api.bounds import Told


class HeadTold(Told):
    """What a job is about."""

    id: int
    number: int
    registration: str
    vehicle_id: int
    model: str | None
    drive_name: str
    drive_id: int
    version_id: int
    opened_at: datetime
    opened_by: str
    closed_at: datetime | None
    note: str | None


class ClosedTold(HeadTold):
    """A closed job."""


class JobLineTold(HeadTold):
    """An open job in the list."""

    waits_for: Annotated[str, Field(description="what it waits for, in words")]
    verdict: Verdict
    done: Annotated[int, Field(description="required checks that are proven")]
    needed: Annotated[int, Field(description="required checks")]
    last_by: str
    last_at: Annotated[str | None, Field(description="when the last entry was typed, on the wall's clock")]


class NowTold(Told):
    """The one thing to do now."""

    step: str | None
    title: str
    words: list[str]


class NumberTold(Told):
    """A measured quantity with its standard uncertainty and the interval that holds 95 in 100."""

    value: float
    u: float
    low: float
    high: float
    unit: str


class LimitsTold(Told):
    """The limits of a requirement; null where there is none on that side."""

    low: float | None
    high: float | None
    unit: str


class CheckTold(Told):
    """One requirement compared with what the entries show."""

    id: str
    title: str
    stage: str
    required: bool
    verdict: Verdict
    reading: str | None
    requirement: str | None
    why: str
    next: str | None
    value: NumberTold | None
    limits: LimitsTold | None
    source: str | None
    kind: str | None
    method: str | None
    entries: list[int]
    notes: list[str]


class ValueOnlyTold(Told):
    """A number measured without a requirement."""

    entry: int
    title: str
    reading: str
    value: NumberTold | None
    note: str | None


class OverrideTold(Told):
    """A check that a lead hands over in spite of."""

    check: str
    reason: str
    by: str
    entry: int
    known: bool


class LeftOutTold(Told):
    """A reading left out."""

    entry: int
    reason: str


class CorrectionTold(Told):
    """An entry and the one that corrects it."""

    entry: int
    by_entry: int


class ReadNowTold(Told):
    """A recording of the job that was read without an entry of its reading."""

    entry: int
    words: str
    sha256: str | None


class ToAddTold(Told):
    """A recording whose SHA-256 its entry does not say yet."""

    entry: int
    sha256: str


class RecordNumberTold(Told):
    """How many entries there are, the hash of the last, and both as printed on a sheet."""

    entries: int
    last_hash: str
    record_number: str


class ProofTold(Told):
    """What the entries of a job prove; the keys that ``twoturn prove --json`` prints."""

    verdict: Verdict
    checks: list[CheckTold]
    not_shown: list[str]
    not_met: list[str]
    value_only: list[ValueOnlyTold]
    overrides: list[OverrideTold]
    left_out: list[LeftOutTold]
    corrections: list[CorrectionTold]
    read_now: list[ReadNowTold]
    to_add: list[ToAddTold]
    warnings: list[str]
    checkpoint: RecordNumberTold
    drive: str
    proof_sheet: str | None


class EntryTold(Told):
    """An entry as the list shows it."""

    number: int
    kind: str
    words: str
    step: str
    by: str
    entered: Annotated[str | None, Field(description="when it was typed, on the wall's clock")]
    corrected_by: int | None
    struck: bool
    left_out: Annotated[str, Field(description="why its reading is left out; empty where it counts")]
    marks: list[str]


class JobTold(Told):
    """A job as it stands."""

    job: HeadTold
    now: NowTold
    proof: ProofTold
    entries: list[EntryTold]
    record: RecordNumberTold


class OtherTold(Told):
    """An entry of somebody else that came meanwhile."""

    number: int
    kind: str | None
    by: str


class AddedPlainTold(Told):
    """What became of a sending."""

    first: int
    count: int
    repeated: Annotated[bool, Field(description="it had been written before; nothing was written again")]
    others: Annotated[list[OtherTold], Field(description="what others entered since the last one the sender knew")]
    reopened: bool


class AddedTold(AddedPlainTold):
    """What became of a sending, and how the job stands now."""

    view: JobTold
