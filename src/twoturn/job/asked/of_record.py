"""Questions of the record: vehicle, distance, temperature, findings and cures, photos, remarks, steps, signatures."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

from twoturn.findings.catalogue import finding
from twoturn.job.asked.fields import (
    BLOCK_WORDS,
    NOTE,
    VEHICLE_MORE,
    choices,
    finding_choices,
    number,
    same,
    temperature_field,
    yes_no,
)
from twoturn.job.asked.model import Asked, Choice, Field, Given
from twoturn.job.asked.sheet import Sheet, base_of, quick_of
from twoturn.job.entries.found import FindingEntry
from twoturn.plan.model import Record, Step
from twoturn.words.numbers import list_words, plain

Records = tuple[Record, ...]
ORDINARY = "belt-ordinary"


def vehicle(sheet: Sheet, step: Step, _records: Records) -> Iterator[Asked]:
    """Which vehicle it is; filled in from the record of the shop."""
    known = sheet.known
    from_where = "from the shop's record" if known.registration else ""
    drive_fuel = sheet.drive.file.engine.fuel
    fields = (
        Field("registration", "Registration", "text", value=known.registration, from_where=from_where),
        Field("fuel", "Fuel", "choice", choices=same(("petrol", "diesel", "gas")), value=known.fuel, required=False,
              hint=f"by the drive file {drive_fuel}" if drive_fuel and not known.fuel else ""),
    )  # fmt: skip
    more = [
        Field(key, label, "text", value=getattr(known, key), from_where=from_where, required=False)
        for key, label in VEHICLE_MORE
    ]
    first = known.first_registered
    more += [
        Field("first_registered", "First registered", "date", value=first.isoformat() if first else None,
              required=False),
        yes_no("hybrid", "Hybrid", _said(known.hybrid), required=False),
        yes_no("stop_start", "Stop-start", _said(known.stop_start), required=False),
        NOTE,
    ]  # fmt: skip
    quick = f"{known.registration}, this drive" if known.registration else None
    yield sheet.ask(
        step, "vehicle", "The vehicle", {}, fields, more=tuple(more), quick=quick,
        quick_values=quick_of((*fields, *more)),
    )  # fmt: skip


def _said(value: bool | None) -> str | None:
    return None if value is None else "yes" if value else "no"


def odometer(sheet: Sheet, step: Step, _records: Records) -> Iterator[Asked]:
    """The distance the vehicle has run."""
    last = sheet.known.odometer_km
    hint = f"last time {plain(last, 0)} km" if last is not None else ""
    field = replace(number("km", "Odometer", "km", hint=hint, within=(0, 5e6)), likely=(last or 1000.0, 2e6))
    yield sheet.ask(step, "odometer", "Odometer", {}, (field,), more=(NOTE,))


def temperatures(sheet: Sheet, step: Step, _records: Records) -> Iterator[Asked]:
    """The shop's air, once a day, and the block: by a word or as a number."""
    air = sheet.known.shop_air_c
    shop = temperature_field((), None if air is None else f"{air:g}", "asked today already" if air is not None else "")
    shop_quick = f"{air:g} °C, as today already" if air is not None else None
    yield sheet.ask(
        step, "temperature", "The shop's air today", {"of": "shop air"}, (shop,), more=(NOTE,), name="shop air",
        quick=shop_quick, quick_values=quick_of((shop,)), why="Asked once a day: it is what “overnight” means.",
    )  # fmt: skip
    block = temperature_field(BLOCK_WORDS)
    asked = [need.id for need in sheet.needs if need.temperature_c is not None]
    yield sheet.ask(
        step, "temperature", "The engine block", {}, (block,), more=(NOTE,), needed=bool(asked),
        quick="stood overnight", quick_values={"temperature_c": "overnight"}, checks=asked,
        why="Set values hold for a cold engine.",
    )  # fmt: skip


def findings(sheet: Sheet, step: Step, _records: Records) -> Iterator[Asked]:
    """What the old belt shows, and whether what stays is clear."""
    in_oil = sheet.facts.in_oil
    base = base_of(step)
    more = (Field("text", "In words", "text", required=False), NOTE)
    if base == "check-what-stays":
        picked = Field("except", "All clear except", "many", choices=finding_choices(None, in_oil), required=False)
        yield sheet.ask(
            step, "finding", "What stays in the engine", {"finding": "all", "present": False}, (picked,), more=more,
            quick="all clear", quick_values={}, why="Found rough, loose, leaking or worn: cure first, then sign it.",
        )  # fmt: skip
        yield from _cures(sheet, step)
        return
    of_belt = base == "look-at-old-belt"
    seen = Field("finding", "Seen", "many", choices=finding_choices(True if of_belt else None, in_oil))
    yield sheet.ask(
        step, "finding", "The old belt" if of_belt else "What is found", {}, (seen,), more=more,
        quick="ordinary" if of_belt else None, quick_values={"finding": (ORDINARY,)} if of_belt else {},
    )  # fmt: skip


def _cures(sheet: Sheet, step: Step) -> Iterator[Asked]:
    """One question for each severe finding that is present: what cured it."""
    present: dict[str, None] = {}
    for act in sheet.timeline.acts:
        if isinstance(act.entry, FindingEntry):
            present |= dict.fromkeys(name for name, yes in act.entry.said.items() if yes and finding(name).severe)
    for name in present:
        known = finding(name)
        how = Field("how", "Cured by", "choice", choices=same(known.cured_by), or_typed=True)
        yield sheet.ask(
            step, "cured", f"Cure first: {known.words}", {"finding": name}, (how,), more=(NOTE,), name=name,
            needed=True, checks=(f"finding-{name}",), why="Signed before the belt goes on.",
        )  # fmt: skip


def photos(sheet: Sheet, step: Step, records: Records) -> Iterator[Asked]:
    """The photos of a step, each its own question."""
    for record in records:
        shows = record.what.removeprefix("Photos: ").removeprefix("Photo: ").removeprefix("Photo of ")
        shows = shows[:1].lower() + shows[1:]
        yield sheet.ask(
            step, "photo", f"Photo: {shows}", {}, (Field("file", "Photo", "photo"),),
            more=(Field("shows", "It shows", "text", value=shows, required=False), NOTE), name=shows,
        )  # fmt: skip


def remarks(sheet: Sheet, step: Step, records: Records) -> Iterator[Asked]:
    """What is only written down: litres drained, pressure held, sound at the first start."""
    for record in records:
        label = record.what + (f" [{record.unit}]" if record.unit else "")
        only = record.shape == "tick"
        lead = "" if only else f"{record.what}: "
        text = Field("text", label, "text", value=record.what if only else None, lead=lead)
        unit = f" {record.unit}" if record.unit else ""
        yield sheet.ask(
            step, "remark", record.what, {}, (text,), more=(), name=record.what,
            quick="yes" if only else None, quick_values=quick_of((text,)), why=f"in{unit}" if unit else "",
        )  # fmt: skip


def decided(sheet: Sheet, step: Step, records: Records) -> Iterator[Asked]:
    """A decision, such as "renew now"."""
    text = Field("text", records[0].what, "text")
    yield sheet.ask(
        step, "decided", "Renew now?", {}, (text,), more=(NOTE,), quick="renew now", quick_values={"text": "renew now"}
    )


def signed(sheet: Sheet, step: Step, records: Records) -> Iterator[Asked]:
    """A signature."""
    role = Field("role", "As", "choice", choices=same(("technician", "lead")), value="technician")
    text = Field("text", "With the words", "text", required=False, hint=records[0].what)
    handing = base_of(step) == "hand-over"
    values: dict[str, Given] = quick_of((role,), **({} if handing else {"text": records[0].what}))
    yield sheet.ask(step, "signed", "Signed", {}, (role, text), more=(NOTE,), quick="signed", quick_values=values)


def last_question(sheet: Sheet, step: Step, _records: Records) -> Iterator[Asked]:
    """The one question at the end."""
    places = [*sheet.places.tensioners, *sheet.places.fasteners]
    fields = (
        yes_no("moved", "After the last turns, was anything moved, or the crankshaft turned back?"),
        Field("what", "What", "choice", choices=same(places), required=False, or_typed=True,
              only_if=("moved", ("yes",)), hint="what is named voids only what hangs on it"),
    )  # fmt: skip
    yield sheet.ask(
        step, "moved at end", "After the last turns, was anything moved, or the crankshaft turned back?", {}, fields,
        more=(NOTE,), needed=True, quick="no, nothing moved", quick_values={"moved": "no"}, checks=("nothing-moved",),
    )  # fmt: skip


def step_done(sheet: Sheet, step: Step, said: tuple[str, ...], *, by_its_acts: bool) -> Asked:
    """A step done, or left with its reason.

    Parameters
    ----------
    sheet, step, said
        The job, the step, and what it means that it is done.
    by_its_acts
        True where its other entries say that it is done, so that only leaving it is asked for.
    """
    yes: tuple[Choice, ...] = () if by_its_acts else choices(("yes", "done"))
    fields = (
        Field("yes", step.title, "yes/no", choices=(*yes, *choices(("no", "skipped, with a reason")))),
        Field("note", "Reason", "text", only_if=("yes", ("no",))),
    )
    more: tuple[Field, ...] = ()
    fixed: dict[str, Any] = {"step": step.id}
    words = list_words(list(said))
    return sheet.ask(
        step, "step done", "Skip this step" if by_its_acts else words or step.title, fixed, fields, more=more,
        quick=None if by_its_acts else "done", quick_values={} if by_its_acts else {"yes": "yes"},
    )  # fmt: skip
