"""Checks of readings against requirements: state, decision rule, what would settle it."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from twoturn.errors import QuantityError
from twoturn.job.checks.base import Case, Check, sentence
from twoturn.job.checks.unread import unread_pluck
from twoturn.job.evidence import Evidence
from twoturn.job.needs import SETTING, Need
from twoturn.job.state import COUNTS, Standing
from twoturn.job.temperatures import LIKE_K
from twoturn.quantity.combine import combine
from twoturn.quantity.conformity import (
    Limits,
    Verdict,
    accept_simple,
    decide,
    settling_uncertainty,
    too_coarse,
    worst,
)
from twoturn.quantity.reading import Reading, coverage_factor
from twoturn.quantity.show import show
from twoturn.quantity.units import convert
from twoturn.words.numbers import list_words, plain, pointer_words, with_unit
from twoturn.words.terms import QUANTITIES

DOUBT = "Doubt: "
HOW_TO_READ = {
    "pointer": "Look straight at the pointer and enter where it stands.",
    "protrusion": "Measure how far the ram stands out and enter it.",
    "frequency": "Pluck the span, record it, and enter the recording.",
    "tension": "Pluck the span, record it, and enter the recording.",
    "deflection": "Press on the middle of the span with the force given and enter the deflection.",
    "hand twist": "Twist the span with thumb and finger and enter whether it is as prescribed.",
    "pump lift": "Measure the pump's lift at the setting position and enter it.",
    "cam phase": "Record the sensors and enter the recording.",
    "mark": "Look at the marks and enter how they stand.",
    "pin": "Put the pin in by hand as a check and enter it.",
    "pin depth": "Put the rod in and enter how deep it went.",
}


@dataclass(frozen=True)
class Valid:
    """The readings of one need that count, and the nearest reason of those that do not."""

    items: tuple[Evidence, ...]
    failing: Standing | None
    failing_numbers: tuple[int, ...]


def check_need(need: Need, case: Case) -> Check:
    """The check of one requirement.

    Parameters
    ----------
    need
        The requirement.
    case
        The job.
    """
    valid = valid_readings(need, case)
    check = Check(
        need.id,
        need.title,
        need.stage,
        need.kind != "default",
        Verdict.NOT_SHOWN,
        None,
        need.text,
        f"{QUANTITIES[need.quantity].capitalize()}: no reading entered.",
        HOW_TO_READ.get(need.quantity, f"Measure it and enter it: {need.title.lower()}."),
        limits=need.limits,
        source=need.source,
        kind=need.kind,
        method=need.method,
    )
    if not valid.items:
        unread = unread_pluck(need, case, matches)
        if unread is not None and unread[1] > max(valid.failing_numbers, default=0):
            return check.but(why=unread[0].why, next=unread[0].next, entries=(*valid.failing_numbers, unread[1]))
        if valid.failing is not None:
            return check.but(why=valid.failing.why, next=valid.failing.next, entries=valid.failing_numbers)
        return _elsewhere(check, need, case)
    check = check.but(
        entries=tuple(dict.fromkeys(item.act.number for item in valid.items)), notes=_spoken(need, valid.items)
    )
    if need.method == "as prescribed" or need.limits is None:
        return _prescribed(check, need, valid.items)
    return _measured(check, need, valid.items)


def _elsewhere(check: Check, need: Need, case: Case) -> Check:
    """A check of a span without a reading, with the readings that name a span of which nothing is required."""
    places = (
        case.places.span(row.at) for row in case.drive.file.requirement if row.quantity == need.quantity and row.at
    )
    asked = [place[0] for place in places if place is not None]
    others = [item for item in case.of(need.quantity) if item.span is not None and item.span not in asked]
    if need.span is None or not others:
        return check
    there = list(dict.fromkeys((item.act.number, item.place or "") for item in others))
    named = list_words([f"entry {number} is of {place}" for number, place in there])
    what = QUANTITIES[need.quantity]
    return check.but(
        why=f"{what[:1].upper()}{what[1:]}: no reading of {need.place} entered; {named}.",
        next=f"{check.next} Where the entry names the wrong span, correct it.",
        entries=tuple(number for number, _ in there),
    )


def valid_readings(need: Need, case: Case) -> Valid:
    """The readings that count for a need, converted to its unit."""
    found, failing, numbers = [], None, []
    for item in case.of(need.quantity):
        if not matches(need, item, case):
            continue
        standing = case.state.standing(item.act, item.touched, need.state, need.settle_min)
        if standing.counts:
            standing = _conditions(need, item, case)
        converted = _converted(item, need, case) if standing.counts else None
        if standing.counts and isinstance(converted, Standing):
            standing = converted
        if isinstance(converted, Evidence):
            found.append(converted)
        else:
            numbers.append(item.act.number)
            failing = standing if failing is None or standing.rank >= failing.rank else failing
    return Valid(tuple(found), failing, tuple(numbers))


def matches(need: Need, item: Evidence, case: Case) -> bool:
    """Whether a reading was taken where a requirement holds."""
    if need.place is None or need.quantity != item.quantity:
        return need.quantity == item.quantity
    if item.place is None:
        return _only_place(need, case)
    if need.span is not None or item.span is not None:
        return need.span == item.span
    if need.shaft is not None and item.shaft is not None:
        return need.shaft == item.shaft
    return need.place == item.place or {need.place} == set(item.belts) or {item.place} == set(need.belts)


def _only_place(need: Need, case: Case) -> bool:
    """Whether the drive asks for this quantity at one place only, so that a reading without place means it."""
    places = {row.at for row in case.drive.file.requirement if row.quantity == need.quantity} | {need.place}
    return len(places - {None}) == 1


def _conditions(need: Need, item: Evidence, case: Case) -> Standing:
    """Temperature and force under which a requirement holds."""
    if need.at_n is not None and item.force_n is not None and abs(item.force_n - need.at_n) > 0.1 * need.at_n:
        why = f"Read under {plain(item.force_n)} N; the requirement holds under {plain(need.at_n)} N."
        return Standing(False, why, f"Read it again under {plain(need.at_n)} N.", 9)
    if need.temperature_c is None:
        return COUNTS
    wanted = f"{plain(need.temperature_c)} °C"
    temperatures = case.temperatures.at(item.act)
    if not temperatures:
        why = f"No temperature of the engine entered; {wanted} is asked for."
        return Standing(False, why, "Enter the temperature.", 9)
    now = max(temperatures, key=lambda one: abs(one.value - (need.temperature_c or 0.0)))
    if abs(now.value - need.temperature_c) > LIKE_K:
        why = f"The engine was at {show(now)}; the requirement holds at {wanted}."
        colder = "Let the engine cool" if now.value > need.temperature_c else "Let the engine warm up"
        return Standing(False, why, f"{colder}, then read it again.", 9)
    return COUNTS


def _converted(item: Evidence, need: Need, case: Case) -> Evidence | Standing:
    """A reading in the unit of its requirement, or why that cannot be done."""
    if item.value is None or need.limits is None or item.value.unit == need.limits.unit:
        return item
    unit = need.limits.unit
    if item.quantity == "mark":
        scale = _tooth_in(unit, item, case)
        if scale is not None:
            return replace(item, value=item.value.scaled(scale, unit))
    elif item.quantity == "cam phase" and {unit, item.value.unit} == {"°", "° crank"}:
        return replace(item, value=item.value.scaled(1.0, unit))
    else:
        try:
            factor = convert(1.0, item.value.unit, unit) - convert(0.0, item.value.unit, unit)
            return replace(item, value=item.value.scaled(factor, unit))
        except QuantityError:
            pass
    why = f"The reading is in {item.value.unit}, the requirement in {unit}."
    return Standing(False, why, f"Enter it in {unit}.", 9)


def _tooth_in(unit: str, item: Evidence, case: Case) -> float | None:
    """One belt tooth in ``unit`` at the sprocket of a mark; None where the drive does not tell."""
    found = case.places.pulley_of(item.place or "", marked=True)
    if found is None:
        return None
    pulley, belt = found
    if unit == "mm":
        return belt.table.pitch_mm
    if unit == "°" and pulley.teeth:
        return 360 / pulley.teeth
    return 1.0 if unit in ("tooth", "teeth", "-") else None


def _prescribed(check: Check, need: Need, items: tuple[Evidence, ...]) -> Check:
    """Yes and no, and numbers by simple acceptance: any no wins."""
    verdicts = [_simple(item, need.limits) for item in items]
    verdict = worst(verdicts)
    shown = items[verdicts.index(verdict)]
    reading = reading_words(shown)
    notes = (*check.notes, *_apart(items))
    check = check.but(reading=reading, value=shown.value, verdict=verdict, notes=notes)
    if verdict is Verdict.PROVEN:
        why = f"{reading}, as required" if shown.value is not None else "Signed as required"
        return check.but(why=sentence(why), next="")
    if verdict is Verdict.NOT_SHOWN:
        return check.but(why="No limits are given for the number entered.", next="Enter whether it is as prescribed.")
    others = " Another reading says yes; a no wins." if Verdict.PROVEN in verdicts else ""
    said = "Signed as not as required" if shown.value is None else f"{reading}; required: {need.text}"
    return check.but(why=sentence(said) + others, next=_put_right(need))


def _apart(items: tuple[Evidence, ...]) -> tuple[str, ...]:
    """A note where several numbers, each decided by itself, lie further apart than their uncertainty."""
    numbers = [item.value for item in items if item.value is not None and item.u_told and not item.either_sign]
    if len(numbers) < 2 or len({one.unit for one in numbers}) > 1 or combine(numbers).consistent:
        return ()
    return (f"The {len(numbers)} readings lie further apart than their uncertainty.",)


def _simple(item: Evidence, limits: Limits | None) -> Verdict:
    if item.value is None:
        return Verdict.PROVEN if item.yes else Verdict.NOT_MET
    if limits is None:
        return Verdict.NOT_SHOWN
    ends = (item.value.value, -item.value.value) if item.either_sign else (item.value.value,)
    return worst(accept_simple(end, limits) for end in ends)


def _measured(check: Check, need: Need, items: tuple[Evidence, ...]) -> Check:
    """Numbers with their guard band; all that count are combined."""
    limits = need.limits
    numbers = [item for item in items if item.value is not None]
    if any(item.yes is False for item in items):
        return check.but(verdict=Verdict.NOT_MET, reading="no", why="Signed as not as required.", next=_put_right(need))
    if limits is None or not numbers:
        return check.but(why="A plain yes does not show a number.", next=f"Measure it: {need.text}.")
    if not all(item.u_told for item in numbers):
        told = next(item for item in numbers if not item.u_told)
        return check.but(
            reading=reading_words(told),
            value=told.value,
            why="The reading does not say how sure it is.",
            next="Enter its standard uncertainty u, or the instrument.",
        )
    combined = combine([item.value for item in numbers if item.value is not None])
    reading = _not_surer_than_one(combined.reading, numbers)
    notes = (*check.notes, *_notes(reading, limits, numbers))
    check = check.but(reading=show(reading), value=reading, notes=notes)
    if not combined.consistent:
        why = f"The {combined.count} readings disagree by more than their uncertainty."
        return check.but(why=why, next="Find out why; leave a wrong one out with its reason, or read again.")
    return _decided(check, need, reading, limits)


def _not_surer_than_one(mean: Reading, items: list[Evidence]) -> Reading:
    """The mean with an interval no narrower than the best single reading's, where readings share their uncertainty."""
    alone = [item.value.expanded for item in items if item.value is not None and item.shared_u]
    if len(alone) < len(items) or len(items) < 2 or mean.expanded >= min(alone):
        return mean
    half = min(alone)
    return replace(mean, u=half / coverage_factor(math.inf), interval=(mean.value - half, mean.value + half))


def _decided(check: Check, need: Need, reading: Reading, limits: Limits) -> Check:
    verdict = decide(reading, limits)
    if verdict is Verdict.PROVEN:
        return check.but(
            verdict=verdict, why=f"{show(reading)}, U included, lies inside the limits: {need.text}.", next=""
        )
    if verdict is Verdict.NOT_MET:
        why = f"{show(reading)}, U included, lies outside the limits: {need.text}."
        return check.but(verdict=verdict, why=why, next=_put_right(need))
    inside = limits.room(reading.value) >= 0
    needed = settling_uncertainty(reading, limits)
    why = f"{show(reading)} reaches over a limit: {need.text}."
    better = (
        f"Measure it with ± {with_unit(needed, limits.unit, 2)} or better" if needed > 0 else "Set it nearer the middle"
    )
    act = f"{better}, or set it nearer the middle." if inside and needed > 0 else f"{better}, or set it again."
    return check.but(verdict=verdict, why=why, next=act)


def _notes(reading: Reading, limits: Limits, items: list[Evidence]) -> tuple[str, ...]:
    notes = []
    if too_coarse(reading, limits):
        notes.append("Tool or method too coarse: U is over a quarter of the requirement's width.")
    assumed = sorted({item.value.source for item in items if item.value and "assumed" in item.value.source})
    notes.extend(f"Read with a {source.removesuffix(' (assumed)')}: assumed, not entered." for source in assumed)
    return tuple(notes)


def _spoken(need: Need, items: tuple[Evidence, ...]) -> tuple[str, ...]:
    """What makes the readings less sure, and what was taken for granted: the force of a deflection that names none."""
    doubts = tuple(dict.fromkeys(f"{DOUBT}{sentence(doubt)}" for item in items for doubt in item.doubts))
    if need.at_n is None or all(item.force_n is not None or item.value is None for item in items):
        return doubts
    return (*doubts, f"The force is not entered: taken as the {plain(need.at_n)} N asked for.")


def _put_right(need: Need) -> str:
    if need.quantity in SETTING:
        return "Set the tensioner again, turn again, then read again."
    if need.quantity == "cam phase":
        return "Do not crank: look at the marks first. Where they are out, take the belt off and fit it again."
    if need.quantity in ("mark", "pin", "pin depth"):
        return "Find the shaft that is out; take the belt off and fit it again before the engine is cranked."
    return "Put it right, then read it again."


def reading_words(item: Evidence) -> str:
    """A reading as a sheet prints it."""
    if item.value is None:
        return "yes" if item.yes else "no"
    if item.quantity == "pointer":
        return pointer_words(item.value.value, item.value.unit)
    if item.quantity == "mark":
        return mark_words(item)
    return with_unit(item.value.value, item.value.unit, 3) if not item.u_told else show(item.value)


def mark_words(item: Evidence) -> str:
    """A mark as a sheet prints it: ``on``, ``½ tooth late``."""
    value = item.value
    if value is None or value.value == 0:
        return "on the mark"
    if value.unit != "teeth":
        return f"{with_unit(abs(value.value), value.unit)} off the mark"
    size = {0.25: "¼ tooth", 0.5: "½ tooth", 1.0: "one tooth"}.get(
        abs(value.value), f"{plain(abs(value.value), 2)} teeth"
    )
    side = "off" if item.either_sign else "late" if value.value > 0 else "early"
    return f"{size} {side}"
