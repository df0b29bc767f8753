"""Questions on the timing: marks on, pins in by hand, rods and their depth, pins counted out."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from twoturn.drive.parts import Shaft
from twoturn.drive.turning import timed_sprocket
from twoturn.job.asked.fields import NOTE, mark_fields, number, same, yes_no
from twoturn.job.asked.homes import AS_FOUND, PROVING, found_key, home_is, proving_steps
from twoturn.job.asked.model import Asked, Choice, Field
from twoturn.job.asked.sheet import Sheet, base_of, quick_of
from twoturn.job.entries.read import PinIn
from twoturn.job.places import check_slug
from twoturn.plan.model import Record, Step
from twoturn.plan.wording import pin_words, place_name
from twoturn.words.numbers import count_words, with_unit

Records = tuple[Record, ...]


def marks(sheet: Sheet, step: Step, records: Records) -> Iterator[Asked]:
    """Every timing mark of a step, in one question."""
    names = [record.id for record in records if sheet.places.shaft_of(record.id) is not None]
    found = base_of(step) == AS_FOUND
    needs = [need for need in sheet.needs if need.quantity == "mark" and home_is(sheet, need, step)]
    names += [need.place for need in needs if need.place]
    if not found:
        names += [shaft.id for shaft in _unmarked(sheet, step)]
    shafts: dict[str, str] = {}
    for name in names:
        shafts.setdefault(sheet.places.shaft_of(name) or name, name)
    if not shafts:
        return
    wheels = tuple(Choice(name, _wheel(sheet, name)) for name in shafts.values())
    fields, more = mark_fields(wheels)
    checks = [need.id for need in needs]
    checks += [] if found else [f"timing-{check_slug(shaft)}" for shaft in shafts]
    yield sheet.ask(
        step, "mark", "Timing marks as found" if found else "Timing marks after the turns", found_key(found), fields,
        more=more, needed=bool(checks), quick="on" if len(wheels) == 1 else "all marks on",
        quick_values=quick_of(fields, reads="on"), checks=checks,
        why="Whether the engine arrived in time." if found else "Each on its fixed mark.",
    )  # fmt: skip


def _wheel(sheet: Sheet, name: str) -> str:
    return place_name(sheet.drive, name).removeprefix("the ")


def _unmarked(sheet: Sheet, step: Step) -> Iterator[Shaft]:
    """Shafts that must agree with the crankshaft and carry neither a mark nor a pin: looked at all the same."""
    marked, pinned = sheet.places.marked_shafts(), {pin.shaft for pin in sheet.drive.file.pin}
    for shaft in sheet.drive.shafts:
        bare = shaft.phased and shaft.id not in marked and shaft.id not in pinned
        if bare and timed_sprocket(sheet.drive, shaft) is not None and step.id in proving_steps(sheet, shaft.id):
            yield shaft


def pins(sheet: Sheet, step: Step, records: Records) -> Iterator[Asked]:
    """Pins of a step: those that hold, those that check, and rods with their depth."""
    ids = list(dict.fromkeys(record.id for record in records if record.id in sheet.places.pins))
    base = base_of(step)
    if base in PROVING:
        ids += [one for one in _lost_pins(sheet, step) if one not in ids]
    if base == "pins-in":
        ids = [one for one in ids if sheet.places.pins[one].purpose == "hold"]
    if base == "pins-in":
        if ids:
            yield _pins_held(sheet, step, ids)
        return
    deep = [one for one in ids if needs_depth(sheet, one)]
    flat = [one for one in ids if one not in deep]
    if flat:
        yield _pins_checked(sheet, step, flat)
    for one in deep:
        yield _rod(sheet, step, one)
    if base in (*PROVING, AS_FOUND):
        yield from _unlisted(sheet, step)


def _lost_pins(sheet: Sheet, step: Step) -> Iterator[str]:
    """Pins of phased shafts that the plan checks at no step of their belt."""
    told = {record.id for one in sheet.plan.steps if base_of(one) in PROVING for record in one.records}
    for name, table in sheet.places.pins.items():
        if name not in told and sheet.drive.shaft(table.shaft).phased and step.id in proving_steps(sheet, table.shaft):
            yield name


def _pins_held(sheet: Sheet, step: Step, ids: list[str]) -> Asked:
    fields = (
        Field("pin", "In by hand", "many", choices=same(ids), value=tuple(ids)),
        yes_no("freely", "By hand, not forced", "yes"),
    )
    return sheet.ask(
        step, "pin in", "Pins in to hold", {"use": "hold"}, fields, more=(NOTE,),
        quick=f"{count_words(len(ids), 'pin')} in by hand", quick_values=quick_of(fields),
        why="Each pin that goes in is counted out again.",
    )  # fmt: skip


def _pins_checked(sheet: Sheet, step: Step, ids: list[str]) -> Asked:
    fields = (
        Field("pin", "Tried", "many", choices=same(ids), value=tuple(ids), hint="untick those that stand otherwise"),
        yes_no("freely", "Slides in by hand"),
    )
    shafts = {sheet.places.pins[one].shaft for one in ids}
    needs = [need.id for need in sheet.needs if need.quantity == "pin" and need.shaft in shafts]
    proving = base_of(step) in PROVING
    return sheet.ask(
        step, "pin in", "Pins as a check: in by hand, out again", _use(step), fields,
        more=(number("depth_mm", "How deep", "mm", required=False, within=(0, 1000)), NOTE), needed=proving,
        quick="slides in by hand" if len(ids) == 1 else "all slide in by hand",
        quick_values=quick_of(fields, freely="yes"),
        checks=[*(f"timing-{check_slug(shaft)}" for shaft in shafts), *needs] if proving else (),
    )  # fmt: skip


def _use(step: Step) -> dict[str, Any]:
    return {"use": "check", **found_key(step.stage == "strip")}


def needs_depth(sheet: Sheet, pin: str) -> bool:
    """Whether only the depth of a pin shows its shaft: a rod, or one whose depth is required."""
    shaft = sheet.places.pins[pin].shaft
    needed = any(need.quantity == "pin depth" and need.shaft == shaft for need in sheet.needs)
    return needed or sheet.drive.shaft(shaft).role == "balance shaft"


def _rod(sheet: Sheet, step: Step, pin: str) -> Asked:
    table = sheet.places.pins[pin]
    least = f"at least {with_unit(table.min_depth_mm, 'mm')}" if table.min_depth_mm else ""
    fields = (
        number("depth_mm", "How deep it went", "mm", hint=least, within=(0, 1000)),
        yes_no("freely", "In by hand", "yes"),
    )
    needs = [need.id for need in sheet.needs if need.quantity in ("pin", "pin depth") and need.shaft == table.shaft]
    proving = base_of(step) in PROVING
    return sheet.ask(
        step, "pin in", f"{pin_words(table, sheet.drive)}: how deep", {"pin": pin, **_use(step)}, fields, more=(NOTE,),
        name=pin, needed=proving, checks=[f"timing-{check_slug(table.shaft)}", *needs] if proving else (),
        why="With its mark on a balance shaft can stand half a turn out; only the depth shows it."
        if sheet.drive.shaft(table.shaft).role == "balance shaft" else "",
    )  # fmt: skip


def _unlisted(sheet: Sheet, step: Step) -> Iterator[Asked]:
    """Pins that only a requirement names, as found or where the drive file has no table for them."""
    found = base_of(step) == AS_FOUND
    listed = {table.shaft: name for name, table in sheet.places.pins.items()}
    for need in sheet.needs:
        if need.quantity not in ("pin", "pin depth") or not home_is(sheet, need, step):
            continue
        if need.shaft in listed and not found:
            continue
        pin = listed.get(need.shaft or "", need.shaft or need.place or "all")
        deep = (number("depth_mm", "How deep it went", "mm", hint=need.text, within=(0, 1000)),)
        freely = yes_no("freely", "In by hand", "yes" if need.quantity == "pin depth" else None)
        fields = (*(deep if need.quantity == "pin depth" else ()), freely)
        yield sheet.ask(
            step, "pin in", need.title, {"pin": pin, "use": "check", **found_key(found)}, fields,
            more=(NOTE,), name=need.id, needed=need.kind != "default",
            quick=None if need.quantity == "pin depth" else "slides in by hand",
            quick_values=quick_of(fields, freely="yes"), checks=(need.id,), why=f"Required: {need.text}.",
        )  # fmt: skip


def pins_out(sheet: Sheet, step: Step, _records: Records) -> Iterator[Asked]:
    """Pins counted out: those that held, and after the proof those that were tried."""
    proving = base_of(step) in PROVING
    held = [name for name, pin in sheet.places.pins.items() if pin.purpose == "hold"]
    ids = _tried(sheet, step) if proving else held if base_of(step) == "pins-out" else []
    if not ids:
        return
    fields = (
        Field("pin", "Out", "many", choices=same(ids), value=tuple(ids)),
        Field("count", "On the bench", "whole", "pins", value=str(len(ids)), low=0, high=50),
    )
    yield sheet.ask(
        step, "pin out", "Pins out, counted", {}, fields, more=(NOTE,), needed=not proving,
        quick=f"{count_words(len(ids), 'pin')} out, counted", quick_values=quick_of(fields),
        checks=() if proving else ("pins-out",), why="An engine started with a pin in is destroyed.",
    )  # fmt: skip


def _tried(sheet: Sheet, step: Step) -> list[str]:
    """Pins that an entry of this step and round says were tried: a pin that nobody put in is not counted out."""
    here = (sheet.rounds.at(step.id), sheet.numbers.get(step.id))
    names: list[str] = []
    for act in sheet.timeline.acts:
        if isinstance(act.entry, PinIn) and act.key == here:
            names += sheet.places.pins_meant(act.entry.pin)
    return [name for name in sheet.places.pins if name in names]
