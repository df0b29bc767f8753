"""Questions on what is read: marks, pointers, pins, gauges, plucked spans, sensor recordings, anything measured."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from twoturn.drive.parts import Shaft
from twoturn.drive.turning import timed_sprocket
from twoturn.job.asked.fields import (
    CAPTURE_MORE,
    NOTE,
    gauge_fields,
    mark_fields,
    number,
    pointer_fields,
    same,
    yes_no,
)
from twoturn.job.asked.model import Asked, Choice, Field
from twoturn.job.asked.sheet import Sheet, base_of, quick_of
from twoturn.job.entries.read import PinIn
from twoturn.job.needs import Need, own_id
from twoturn.job.places import check_slug
from twoturn.plan.model import Record, Step
from twoturn.plan.wording import pin_words, place_name
from twoturn.words.numbers import count_words, with_unit
from twoturn.words.terms import DEFAULT_UNITS, QUANTITIES

AS_FOUND = "record-as-found"
POINTED = ("double eccentric", "sprung arm", "slide")
PROVING = ("prove-timing", "prove-after-pump-timing")
Records = tuple[Record, ...]


# marks and pins -----------------------------------------------------------------------------------------------------
def marks(sheet: Sheet, step: Step, records: Records) -> Iterator[Asked]:
    """Every timing mark of a step, in one question."""
    names = [record.id for record in records if sheet.places.shaft_of(record.id) is not None]
    found = base_of(step) == AS_FOUND
    needs = [need for need in sheet.needs if need.quantity == "mark" and _home_is(sheet, need, step)]
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
        step, "mark", "Timing marks as found" if found else "Timing marks after the turns", _found(found), fields,
        more=more, needed=bool(checks), quick="on" if len(wheels) == 1 else "all marks on",
        quick_values=quick_of(fields, reads="on"), checks=checks,
        why="Whether the engine arrived in time." if found else "Each on its fixed mark.",
    )  # fmt: skip


def _wheel(sheet: Sheet, name: str) -> str:
    return place_name(sheet.drive, name).removeprefix("the ")


def _found(as_found: bool) -> dict[str, Any]:
    return {"as_found": True} if as_found else {}


def _unmarked(sheet: Sheet, step: Step) -> Iterator[Shaft]:
    """Shafts that must agree with the crankshaft and carry neither a mark nor a pin: looked at all the same."""
    marked, pinned = sheet.places.marked_shafts(), {pin.shaft for pin in sheet.drive.file.pin}
    for shaft in sheet.drive.shafts:
        bare = shaft.phased and shaft.id not in marked and shaft.id not in pinned
        if bare and timed_sprocket(sheet.drive, shaft) is not None and step.id in proving_steps(sheet, shaft.id):
            yield shaft


def proving_steps(sheet: Sheet, shaft: str | None) -> tuple[str, ...]:
    """Ids of the steps at which the timing of a shaft is proven."""
    belts = sheet.places.belts_of_shaft(shaft) if shaft else frozenset()
    steps = [step for step in sheet.plan.steps if base_of(step) in PROVING]
    mine = [step.id for step in steps if sheet.belt(step).id in belts]
    return tuple(mine or [step.id for step in steps if sheet.belt(step) is sheet.facts.main])


def pins(sheet: Sheet, step: Step, records: Records) -> Iterator[Asked]:
    """Pins of a step: those that hold, those that check, and rods with their depth."""
    ids = list(dict.fromkeys(record.id for record in records if record.id in sheet.places.pins))
    base = base_of(step)
    if base in PROVING:
        ids += [one for one in _lost_pins(sheet, step) if one not in ids]
    if base == "pins-in":
        ids = [one for one in ids if sheet.places.pins[one].purpose == "hold"]
    if not ids:
        return
    if base == "pins-in":
        yield _pins_held(sheet, step, ids)
        return
    deep = [one for one in ids if needs_depth(sheet, one)]
    flat = [one for one in ids if one not in deep]
    if flat:
        yield _pins_checked(sheet, step, flat)
    for one in deep:
        yield _rod(sheet, step, one)


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
    return {"use": "check", **_found(step.stage == "strip")}


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


# settings -----------------------------------------------------------------------------------------------------------
def _home_is(sheet: Sheet, need: Need, step: Step) -> bool:
    return home_of(sheet, need) == step.id


def home_of(sheet: Sheet, need: Need) -> str:
    """Id of the step at which a requirement is read."""
    if need.id not in sheet.homes:
        sheet.homes[need.id] = _home_of(sheet, need)
    return sheet.homes[need.id]


def _home_of(sheet: Sheet, need: Need) -> str:
    if need.state == "as found":
        return _first(sheet, AS_FOUND)
    if need.quantity in ("mark", "pin", "pin depth", "cam phase"):
        steps = proving_steps(sheet, need.shaft)
        return steps[0] if steps else _first(sheet, "prove-timing")
    row = row_id(sheet, need)
    told = [step.id for step in sheet.plan.steps if any(record.id == row for record in step.records)]
    if told and not (need.quantity in DEFAULT_HOME and base_of(sheet.plan.step(told[0])) == "prove-timing"):
        return told[0]
    belts = [step.id for step in sheet.plan.steps if step.id.startswith(DEFAULT_HOME.get(need.quantity, "-"))]
    mine = [one for one in belts if sheet.belt(sheet.plan.step(one)).id in need.belts]
    return (mine or belts or told or [sheet.plan.steps[-1].id])[0]


DEFAULT_HOME = dict.fromkeys(
    ("pointer", "protrusion", "frequency", "tension", "deflection", "hand twist"), "prove-setting"
) | {"pump lift": "static-pump-timing"}
"""Where a reading belongs that the plan puts at no step of its own."""


def row_id(sheet: Sheet, need: Need) -> str:
    """The id of the requirement behind a need, as the plan has it; of a tensioner's own window its place."""
    return sheet.row_ids.get((need.id, need.quantity), need.place or "")


def _first(sheet: Sheet, step_id: str) -> str:
    return step_id if sheet.has_step(step_id) else sheet.plan.steps[0].id


def needed_readings(sheet: Sheet, step: Step) -> Iterator[Asked]:
    """What is required of readings at a step, marks and pins left out."""
    for need in sheet.needs:
        if need.quantity not in ("mark", "pin", "pin depth") and _home_is(sheet, need, step):
            yield reading(sheet, step, need.quantity, need.place, need)
            if need.quantity in ("frequency", "tension"):
                yield _other_meter(sheet, step, need)
    if base_of(step) == "prove-setting":
        yield from _by_kind(sheet, step)
        if any(record.kind == "twist" and not record.id for record in step.records):
            yield reading(sheet, step, "hand twist", sheet.belt(step).id, None)


def _by_kind(sheet: Sheet, step: Step) -> Iterator[Asked]:
    """The pointer of a tensioner for which nothing else is required."""
    belt = sheet.belt(step)
    pointed = {need.place for need in sheet.needs if need.quantity == "pointer" and need.state != "as found"}
    for tensioner in belt.tensioners:
        if tensioner.kind in POINTED and not pointed & {tensioner.pulley, belt.id, None}:
            yield reading(sheet, step, "pointer", tensioner.pulley, None)


def as_found(sheet: Sheet, step: Step) -> Iterator[Asked]:
    """Pointers and rams as found."""
    for belt in sheet.drive.belts:
        for tensioner in belt.tensioners:
            quantity = "protrusion" if tensioner.kind == "hydraulic" else "pointer"
            required = any(
                need.state == "as found" and need.quantity == quantity and need.place == tensioner.pulley
                for need in sheet.needs
            )
            if tensioner.kind != "locked eccentric" and not required:
                yield reading(sheet, step, quantity, tensioner.pulley, None)
    spans = sheet.drive.file.access.reachable
    for span in spans[:1]:
        if not any(need.state == "as found" and need.quantity == "frequency" for need in sheet.needs):
            yield reading(sheet, step, "frequency", span, None)


def reading(sheet: Sheet, step: Step, quantity: str, place: str | None, need: Need | None) -> Asked:
    """The question for one reading, whether required or not."""
    found = base_of(step) == AS_FOUND
    kind, key, fields, more, quick, values = _form(quantity, need)
    where = {key: place} if key and place else {}
    extra: dict[str, Any] = (
        {"force_n": need.at_n} if need is not None and quantity == "deflection" and need.at_n else {}
    )
    if kind == "measured":
        extra |= _quantity(quantity, need)
    name = need.title if need else f"{QUANTITIES[quantity].capitalize()}" + (f", {place}" if place else "")
    title = f"{name} as found" if found and "as found" not in name else name
    return sheet.ask(
        step, kind, title, {**where, **extra, **_found(found)}, fields, more=more, name=f"{quantity} {place or ''}",
        needed=_binds(sheet, quantity, place, need, found), quick=quick, quick_values=quick_of(fields, **values),
        checks=_checks(sheet, quantity, place, need, found),
        why=f"Required: {need.text}." if need and need.text else "",
    )  # fmt: skip


def _binds(sheet: Sheet, quantity: str, place: str | None, need: Need | None, found: bool) -> bool:
    """Whether a required check hangs on a reading: a requirement, or the pointer that alone shows its tensioner."""
    if need is not None:
        return need.kind != "default"
    tensioner = sheet.places.tensioners.get(place or "")
    return quantity == "pointer" and not found and tensioner is not None and tensioner[0].kind == "double eccentric"


def _checks(sheet: Sheet, quantity: str, place: str | None, need: Need | None, found: bool) -> list[str]:
    checks = [need.id] if need else []
    if quantity == "cam phase":
        checks += [f"phase-{check_slug(need.shaft)}"] if need and need.shaft else []
    if found or place is None:
        return checks
    if quantity == "pointer" and place in sheet.places.tensioners:
        checks.append(own_id("tensioner", *sheet.places.tensioners[place], sheet.places))
    belt = sheet.places.belt(place)
    if quantity == "hand twist" and belt is not None:
        felt = [tensioner for tensioner in belt.tensioners if tensioner.kind in ("slide", "locked eccentric")]
        checks += [own_id("tensioner", tensioner, belt, sheet.places) for tensioner in felt]
    return checks


Form = tuple[str, str, tuple[Field, ...], tuple[Field, ...], str | None, dict[str, Any]]


def _form(quantity: str, need: Need | None) -> Form:
    """Kind, key of the place, fields, one-tap answer and its values of a quantity."""
    if quantity == "pointer":
        asked, more = pointer_fields(need.limits.unit if need and need.limits else "°")
        return "pointer", "at", asked, more, "in the notch", {"reads": "in the notch"}
    if quantity == "hand twist":
        asked = (yes_no("as_prescribed", "As prescribed"),)
        return "twist", "at", asked, (NOTE,), "as prescribed", {"as_prescribed": "yes"}
    if quantity in ("frequency", "tension"):
        sound = Field("file", "Recording of the plucked span", "sound")
        length = number("length_mm", "Free span as measured", "mm", required=False, within=(20, 2000))
        return "pluck", "span", (sound,), (length, NOTE), None, {}
    if quantity == "cam phase":
        return "capture", "", (Field("file", "Sensor recording", "capture"),), CAPTURE_MORE, None, {}
    if quantity in GAUGED:
        kind, key, label = GAUGED[quantity]
        forced = quantity == "deflection" and not (need and need.at_n)
        force = (number("force_n", "Force", "N", required=False, within=(0, None)),) if forced else ()
        asked, more = gauge_fields(number(key, label, "mm", hint=need.text if need else ""), *force)
        return kind, "at", asked, more, None, {}
    if need is not None and need.limits is None:
        return "measured", "at", (yes_no("as_prescribed", "As required"),), (NOTE,), "yes", {"as_prescribed": "yes"}
    return "measured", "at", *_measured(quantity, need), None, {}


GAUGED = {
    "deflection": ("deflection", "deflection_mm", "Deflection"),
    "pump lift": ("pump lift", "lift_mm", "Lift"),
    "protrusion": ("protrusion", "protrusion_mm", "Stands out"),
}


def _quantity(quantity: str, need: Need | None) -> dict[str, Any]:
    """The quantity of a number, and its unit where it has one."""
    unit = _unit_of(quantity, need)
    number_wanted = need is None or need.limits is not None or quantity in ("frequency", "tension")
    return {"quantity": quantity, **({"unit": unit} if number_wanted and unit != "-" else {})}


def _unit_of(quantity: str, need: Need | None) -> str:
    return need.limits.unit if need and need.limits else DEFAULT_UNITS.get(quantity, "-")


def _measured(quantity: str, need: Need | None) -> tuple[tuple[Field, ...], tuple[Field, ...]]:
    unit = _unit_of(quantity, need)
    value = number("value", QUANTITIES[quantity].capitalize(), unit, hint=need.text if need else "")
    more = (
        number("u", "Standard uncertainty", unit, required=False, within=(0, None)),
        Field("instrument", "Read with", "text", required=False),
        NOTE,
    )
    return (value,), more


def _other_meter(sheet: Sheet, step: Step, need: Need) -> Asked:
    """The same as a number that another instrument showed."""
    found = base_of(step) == AS_FOUND
    fields, more = _measured(need.quantity, need)
    return sheet.ask(
        step, "measured", f"{need.title}, as another instrument shows it",
        {**_quantity(need.quantity, need), **({"at": need.place} if need.place else {}), **_found(found)}, fields,
        more=more,
        name=f"{need.quantity} {need.place or ''}", checks=(need.id,), why=f"Required: {need.text}.",
    )  # fmt: skip


def capture(sheet: Sheet, step: Step, _records: Records) -> Iterator[Asked]:
    """The sensor recording as found or as left."""
    found = step.stage == "strip"
    if base_of(step) in PROVING:
        return
    shafts = [shaft.id for shaft in sheet.drive.shafts if shaft.phased and shaft.role != "crankshaft"]
    yield sheet.ask(
        step, "capture", f"Sensor recording as {'found' if found else 'left'}", _found(found),
        (Field("file", "File", "capture"),), more=CAPTURE_MORE,
        checks=() if found else [f"phase-{check_slug(shaft)}" for shaft in shafts],
        why="Shows the timing without opening anything; compared only in the same way of running.",
    )  # fmt: skip
