"""Questions on settings: pointers, gauges, plucked spans, sensor recordings, anything measured."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

from twoturn.job.asked.fields import (
    CAPTURE_MORE,
    NOTE,
    gauge_fields,
    number,
    pointer_fields,
    yes_no,
)
from twoturn.job.asked.homes import AS_FOUND, PROVING, found_key, home_is
from twoturn.job.asked.model import Asked, Field
from twoturn.job.asked.sheet import Sheet, base_of, quick_of
from twoturn.job.needs import Need, own_id
from twoturn.job.places import check_slug
from twoturn.plan.model import Record, Step
from twoturn.words.terms import DEFAULT_UNITS, QUANTITIES

POINTED = ("double eccentric", "sprung arm", "slide")
Records = tuple[Record, ...]


def needed_readings(sheet: Sheet, step: Step) -> Iterator[Asked]:
    """What is required of readings at a step, marks and pins left out; two requirements on one reading ask once."""
    found: dict[tuple[str, str], Asked] = {}
    for need in sheet.needs:
        if need.quantity in ("mark", "pin", "pin depth") or not home_is(sheet, need, step):
            continue
        asks = [reading(sheet, step, need.quantity, need.place, need)]
        asks += [_other_meter(sheet, step, need)] if need.quantity in ("frequency", "tension") else []
        for one in asks:
            key = (one.id, repr(one.fixed))
            found[key] = _both(found[key], one) if key in found else one
    yield from found.values()
    if base_of(step) == "prove-setting":
        yield from _by_kind(sheet, step)
        if any(record.kind == "twist" and not record.id for record in step.records):
            yield reading(sheet, step, "hand twist", sheet.belt(step).id, None)


def _both(one: Asked, other: Asked) -> Asked:
    """One question for two requirements."""
    checks = tuple(dict.fromkeys([*one.checks, *other.checks]))
    why = " ".join(dict.fromkeys([one.why, other.why]))
    return replace(one, checks=checks, why=why.strip(), needed=one.needed or other.needed)


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
        step, kind, title, {**where, **extra, **found_key(found)}, fields, more=more, name=f"{quantity} {place or ''}",
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
        {**_quantity(need.quantity, need), **({"at": need.place} if need.place else {}), **found_key(found)}, fields,
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
        step, "capture", f"Sensor recording as {'found' if found else 'left'}", found_key(found),
        (Field("file", "File", "capture"),), more=CAPTURE_MORE,
        checks=() if found else [f"phase-{check_slug(shaft)}" for shaft in shafts],
        why="Shows the timing without opening anything; compared only in the same way of running.",
    )  # fmt: skip
