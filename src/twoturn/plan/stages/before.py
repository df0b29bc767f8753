"""Before anything is touched: which vehicle, is it due, what is laid out."""

from __future__ import annotations

from collections.abc import Iterator

from twoturn.plan.facts import Facts
from twoturn.plan.model import Record, Step, Value
from twoturn.plan.wording import fastener_name
from twoturn.words.numbers import count_words, list_words, plain


def before(facts: Facts) -> Iterator[Step]:
    """Steps of the stages Due and Plan."""
    yield _identify(facts)
    yield _due(facts)
    yield _lay_out(facts)


def _identify(facts: Facts) -> Step:
    belts = [f"{facts.belt_words(belt)}: {belt.table.teeth} teeth" for belt in facts.drive.belts]
    printed = [belt.table.designation for belt in facts.drive.belts if belt.table.designation]
    acts = [f"Compare with this plan: {facts.drive.name}; {list_words(belts)}."]
    if printed:
        acts.append(f"Printed on the belt: {list_words(printed)}. A count or print on the engine is never overruled.")
    return Step(
        "identify-vehicle",
        "due",
        "Identify the vehicle and the engine's variant",
        tuple(acts),
        "every job",
        records=(
            Record("vehicle", "Registration", "text"),
            Record("odometer", "Odometer", "number", "km"),
            Record("photo", "Photo of the vehicle's plate", "photo"),
        ),
    )


def _due(facts: Facts) -> Step:
    interval = facts.drive.file.interval
    values: list[Value] = []
    if interval is not None:
        said = _interval(interval.km, interval.months, interval.hours)
        if said:
            values.append(Value("Interval", f"{said}, whichever comes first", facts.drive.source))
        if interval.severe:
            hard = interval.severe
            said = _interval(hard.get("km"), hard.get("months"), hard.get("hours"))
            values.append(Value("Under hard use", said or "shorter, by the schedule", facts.drive.source))
    return Step(
        "check-due",
        "due",
        "Is it due? Ask for the last renewal",
        ("An unknown history counts as due. Count from the day the belt was fitted, not from the vehicle's age.",),
        "every job",
        values=tuple(values),
        records=(Record("decided", "Renew now: decision and date of the last renewal", "text"),),
    )


def _interval(km: float | None, months: float | None, hours: float | None) -> str:
    said = [
        f"{plain(amount)} {unit}".replace("000 km", " 000 km")
        for amount, unit in ((km, "km"), (months, "months"), (hours, "h"))
        if amount
    ]
    return list_words(said, "or")


def _lay_out(facts: Facts) -> Step:
    file = facts.drive.file
    once = [fastener_name(item) for item in file.fastener if item.single_use]
    acts = [
        "Lay out the parts, tools and data listed above; compare each part with the old one's number where you can."
    ]
    if once:
        acts.append(f"New because they serve once: {list_words(once)}.")
    pins = [*facts.pins, *facts.rods]
    cautions = ["part-set-complete", *(["single-use"] if once else [])]
    records = [Record("photo", "Label and batch of the belt", "photo")]
    if any(stage.torque_nm for item in file.fastener for stage in item.stages):
        acts.append("Check each torque tool: range, date of calibration, letter.")
        cautions.append("lower-range")
        records.append(Record("tool", "Torque tools: letter, range, calibrated on", "text"))
    if pins:
        acts.append(f"Count the pins, bars and rods: {count_words(len(pins), 'piece')}.")
    return Step(
        "lay-out-parts",
        "plan",
        "Lay out parts, tools and data",
        tuple(acts),
        "every job",
        cautions=facts.cautions(*cautions),
        tools=("the lists at the head of this plan",),
        records=tuple(records),
    )
