"""From the vehicle's arrival to an engine that can be opened: checks, safety, fluids, access."""

from __future__ import annotations

from collections.abc import Iterator

from twoturn.plan.acts import is_fixed
from twoturn.plan.facts import Facts
from twoturn.plan.model import Record, Step, Value
from twoturn.words.numbers import list_words, plain


def arrival(facts: Facts) -> Iterator[Step]:
    """Steps from the arrival checks to the open covers."""
    yield from _arrival_checks(facts)
    yield from _after_break(facts)
    yield _secure(facts)
    yield _battery(facts)
    yield from _high_voltage(facts)
    yield from _fuel(facts)
    yield _cool(facts)
    yield from _coolant(facts)
    yield from _prop(facts)
    yield _covers(facts)


def _arrival_checks(facts: Facts) -> Iterator[Step]:
    if facts.vehicle.belt_broken:
        return
    firing = facts.drive.file.engine.firing_order
    sensors = bool(facts.drive.file.timing.cam_edges) or facts.drive.file.timing.gap_to_tdc_deg is not None
    acts = ["Listen to the belt drive, read the fault codes, look for leaks."]
    records = [
        Record("remark", "Sound, fault codes, leaks", "text"),
        Record("finding", "Leak seen (cure first)", "tick"),
    ]
    if sensors:
        acts.append("Record crank and cam sensor as found, at idle and while cranking, with the leads to hand.")
        records.append(Record("capture", "Sensor recording as found: file", "text"))
    if firing:
        acts.append(f"Firing order {'-'.join(map(str, firing))}.")
    early = facts.requirements("compression", states=(None, "as found", "as set", "after turns"))
    yield Step(
        "arrival-checks",
        "strip",
        "Listen and look before it is switched off",
        tuple(acts),
        "the engine arrives running" if facts.vehicle.belt_broken is False else "unless the belt is broken",
        only_if="" if facts.vehicle.belt_broken is False else "If the engine runs",
        cautions=facts.cautions("rotating-parts", "hot-parts"),
        values=facts.requirement_values(early),
        records=(*records, *facts.requirement_records(early)),
    )


def _after_break(facts: Facts) -> Iterator[Step]:
    if facts.vehicle.belt_broken is False:
        return
    touch = facts.drive.file.engine.interference
    meets = {
        "yes": "On this engine valves meet pistons: expect bent valves until shown otherwise.",
        "no": "By this drive's data valves and pistons do not meet; check all the same.",
        "unknown": "Whether valves meet pistons is not known here: take it that they do.",
    }[touch]
    source = facts.drive.file.engine.source
    yield Step(
        "check-after-break",
        "strip",
        "Broken or jumped belt: find the damage before any quotation",
        (
            "No starter, no towing start, no turning against resistance.",
            meets + (f" Source: {source}." if source else ""),
            "Leak-down test or borescope on every cylinder; only then quote.",
            "Keep every piece of the belt; note the distance, speed and what the driver heard.",
        ),
        "the belt broke or jumped" if facts.vehicle.belt_broken else "nothing is known of how the engine arrives",
        only_if="" if facts.vehicle.belt_broken else "If the belt is broken or has jumped",
        cautions=facts.cautions("do-not-crank"),
        tools=("leak-down tester or borescope",),
        records=(
            Record("finding", "Leak-down or borescope, by cylinder", "text"),
            Record("photo", "Photo of the belt as found", "photo"),
        ),
    )


def _secure(facts: Facts) -> Step:
    access = {
        str(key): value for key, value in facts.drive.file.access.remarks.items() if key not in ("belts_off", "screws")
    }
    remarks = [f"{key.replace('_', ' ').capitalize()}: {_said(value)}." for key, value in access.items()]
    return Step(
        "secure-vehicle",
        "strip",
        "Secure the vehicle, lift it, take the wheel off",
        ("Chocks, gearbox in neutral, stands under the points the vehicle maker names.", *remarks),
        "every job",
        cautions=facts.cautions("chocks-and-stands"),
        tools=("chocks", "lift or stands"),
        records=(Record("step done", "Stands on, safe"),),
    )


def _said(value: object) -> str:
    if isinstance(value, list):
        return list_words([str(item) for item in value])
    return "yes" if value is True else "no" if value is False else str(value)


def _battery(facts: Facts) -> Step:
    place = facts.drive.file.access.battery
    stop_start = facts.vehicle.stop_start
    acts = ["Earth lead off first and tied aside. Key away from the vehicle."]
    if place:
        acts.insert(0, f"Battery: {place}.")
    if stop_start is None:
        acts.append("If the vehicle has stop-start it can start by itself: key out of range, bonnet open.")
    return Step(
        "isolate-battery",
        "strip",
        "Take the 12 V battery off, key away",
        tuple(acts),
        "every job",
        cautions=facts.cautions("battery-off", *(("stop-start",) if stop_start else ())),
        records=(Record("step done", "Battery off, key away"),),
    )


def _high_voltage(facts: Facts) -> Iterator[Step]:
    if facts.vehicle.hybrid is False:
        return
    yield Step(
        "isolate-high-voltage",
        "strip",
        "High voltage: isolated, locked off, proven dead",
        ("By a qualified person, by the vehicle maker's procedure, signed before anyone works on.",),
        "the vehicle is a hybrid" if facts.vehicle.hybrid else "nobody has said whether it is a hybrid",
        only_if="" if facts.vehicle.hybrid else "If the vehicle is a hybrid",
        cautions=facts.cautions("high-voltage"),
        tools=("voltage tester and lock of the qualified person",),
        records=(Record("signed", "Dead, signed by the qualified person", "text"),),
    )


def _fuel(facts: Facts) -> Iterator[Step]:
    fluids = facts.drive.file.fluids
    if not fluids.fuel_opened:
        return
    wait = fluids.fuel_wait_min
    pressure = {"diesel": ["fuel-pressure"], None: ["fuel-pressure", "fuel-fire"]}.get(facts.fuel, ["fuel-fire"])
    yield Step(
        "let-fuel-pressure-fall",
        "strip",
        "Let the fuel pressure fall, then open and cap the lines",
        ("Wipe the unions clean, open slowly under a cloth, cap both ends at once.",),
        "fuel lines are opened on this engine",
        precondition="Engine stopped"
        + (f" for at least {plain(wait)} min." if wait else " for as long as the vehicle maker says."),
        cautions=facts.cautions(*pressure, "fuel-clean", "eye-protection"),
        tools=("caps for fuel lines", "cloths"),
        values=(Value("Wait", f"{plain(wait)} min", facts.drive.source),) if wait else (),
        records=(Record("waited", "Waited", "number", "min"),),
    )


def _cool(facts: Facts) -> Step:
    fixed = any(is_fixed(tensioner) for tensioner in facts.drive.file.tensioner)
    at = {r.temperature_c for r in facts.drive.file.requirement if r.temperature_c is not None}
    reference = facts.drive.file.drive.reference_temperature_c
    target = plain(min(at)) if at else plain(reference)
    values = (Value("Block temperature for setting", f"{target} °C", facts.drive.source),)
    because = (
        "a fixed roller set warm leaves the belt slack when cold" if fixed else "set values hold for a cold engine"
    )
    return Step(
        "cool-and-temperature",
        "strip",
        "Let it cool; take the block's temperature",
        ("Stood four hours or overnight, or measured at the block beside the belt.",),
        because,
        cautions=facts.cautions("engine-cold", *(("not-warm",) if fixed else ())),
        tools=("thermometer, where there is one",),
        values=values,
        records=(
            Record("temperature", "Block: overnight", "tick"),
            Record("temperature", "or measured", "number", "°C"),
        ),
    )


def _coolant(facts: Facts) -> Iterator[Step]:
    pumps = facts.wheels("coolant pump")
    litres = facts.drive.file.fluids.coolant_l
    if not pumps and litres is None:
        return
    because = "the coolant pump runs on the belt" if pumps else "coolant is drained on this engine"
    yield Step(
        "drain-coolant",
        "strip",
        "Drain the coolant",
        ("Cap off only when cold; catch all of it and measure it.",),
        because,
        precondition="The engine is cold.",
        cautions=facts.cautions("hot-parts", "coolant-poison"),
        tools=("clean measuring can",),
        values=(Value("Holds", f"{plain(litres)} l", facts.drive.source),) if litres else (),
        records=(Record("measured", "Drained", "number", "l"),),
    )


def _prop(facts: Facts) -> Iterator[Step]:
    in_loop = facts.drive.file.access.mount_in_loop
    if not in_loop and not facts.fasteners["mount"]:
        return
    acts = ["Carry the engine by a support bar, or a jack with a wide wooden block; then mount and bracket off."]
    if in_loop:
        acts.append("The bracket passes through the loop of the belt: nothing goes on or off while it is in place.")
    yield Step(
        "prop-engine",
        "strip",
        "Support the engine, take the mount off",
        tuple(acts),
        "an engine mount passes through the loop of the belt" if in_loop else "an engine mount comes off for access",
        cautions=facts.cautions("support-engine"),
        tools=("engine support bar",),
        records=(Record("step done", "Engine carried, mount off"),),
    )


def _covers(facts: Facts) -> Step:
    lengths = facts.drive.file.access.remarks.get("screws")
    acts = ["Liner, auxiliary belt (mark its travel if it goes back on), upper cover."]
    acts.append(f"Screws: {lengths}." if lengths else "Lay the screws out by place: their lengths differ.")
    return Step(
        "open-covers",
        "strip",
        "Liner, auxiliary belt and upper cover off",
        tuple(acts),
        "every job",
        cautions=facts.cautions("fan-may-start"),
        records=(Record("photo", "Photo of the belt drive as found", "photo"),),
    )
