"""Fitting: pump and seals, rollers, the new belt compared, shafts placed, the belt threaded."""

from __future__ import annotations

from collections.abc import Iterator

from twoturn.drive.parts import Belt
from twoturn.drive.threading import thread_order
from twoturn.plan.facts import Facts
from twoturn.plan.geometry import counts_between_marks, is_whole
from twoturn.plan.model import Record, Step, Value
from twoturn.plan.stages.strip import rod_step
from twoturn.plan.wording import (
    SEEN,
    clock_face,
    fastener_name,
    fastener_remarks,
    names,
    pin_id,
    setting_position,
    teeth_count_words,
    wheel_name,
)
from twoturn.timing.counts import ToothCount
from twoturn.words.numbers import plain
from twoturn.words.terms import TENSIONER_KINDS


def fit(facts: Facts) -> Iterator[Step]:
    """Steps from the renewed pump to the shafts in their places."""
    yield from _pump(facts)
    yield from _wheels(facts)
    yield _rollers(facts)
    yield _compare(facts)
    yield _set_shafts(facts)
    if facts.rods:
        yield rod_step(facts, "balance-rod-before-belt", "fit")


def _pump(facts: Facts) -> Iterator[Step]:
    pumps = facts.wheels("coolant pump")
    bolts = facts.fasteners["pump"]
    if not pumps and not bolts:
        return
    pressure = facts.drive.file.access.pump_press_bar
    values = facts.torque_values(bolts)
    usual = "1 to 1.4 bar for 10 min (common practice)"
    pressed = f"{plain(pressure)} bar for 10 min" if pressure else usual
    source = facts.drive.source if pressure else "common practice"
    acts = [
        "Clean the face, new gasket or seal, sealant only where the vehicle maker says; respect its curing time.",
        *(remark for bolt in bolts for remark in fastener_remarks(bolt)),
        "Fill the cooling system far enough to press it and look at the pump's foot and weep hole: dry?",
    ]
    yield Step(
        "renew-pump-and-seals",
        "fit",
        "Renew the coolant pump, then press the system before the belt goes on",
        tuple(acts),
        "the coolant pump runs on the belt",
        cautions=facts.cautions("pump-before-belt", "leak-first"),
        tools=("pressure tester for the cooling system",),
        values=(*values, Value("Pressure test", pressed, source)),
        records=(
            Record("part fitted", "Pump: number", "text"),
            *facts.torque_records(bolts),
            Record("measured", "Pressed at", "number", "bar"),
            Record("measured", "held for", "number", "min"),
        ),
    )


def _wheels(facts: Facts) -> Iterator[Step]:
    bolts = facts.fasteners["wheel"]
    if not bolts:
        return
    yield Step(
        "fit-keyed-wheels",
        "fit",
        "Wheels that came off: back on their keys, tightened",
        (
            "Faces, keys and keyways clean and whole; guide plates the same side out. Hold the wheel by its holder.",
            *(remark for bolt in bolts for remark in fastener_remarks(bolt)),
        ),
        f"this drive lists {names(fastener_name(bolt) for bolt in bolts)}",
        cautions=facts.cautions("plate-side", "pins-carry-no-torque"),
        tools=("wheel holder",),
        values=facts.torque_values(bolts),
        records=facts.torque_records(bolts),
    )


def _rollers(facts: Facts) -> Step:
    tensioners = facts.drive.file.tensioner
    bolts = facts.fasteners["roller"]
    kinds = names(f"the {t.pulley} ({TENSIONER_KINDS[t.kind]})" for t in tensioners)
    idlers = names(f"the {pulley.id}" for pulley in facts.wheels("idler"))
    acts = [f"New: {kinds or 'the rollers'}" + (f"; {idlers}" if idlers else "") + "."]
    cautions = ["plate-side"]
    for tensioner in tensioners:
        if tensioner.tang:
            acts.append(f"Tang of the {tensioner.pulley} into its seat; feel that the plate cannot turn.")
            cautions.append("tang-seated")
        if tensioner.preset_deg is not None:
            acts.append(f"The {tensioner.pulley} is pinned or preset as it comes: leave it so until the belt is on.")
        if tensioner.kind == "hydraulic":
            acts.append(f"The ram of the {tensioner.pulley} stays pinned and upright until the belt is on.")
            cautions.append("ram-slow")
    acts += [remark for bolt in bolts for remark in fastener_remarks(bolt)]
    acts.append("Fasteners of what is still to be set only hand-tight.")
    return Step(
        "fit-rollers-and-tensioner",
        "fit",
        "New rollers and tensioner on clean seats",
        tuple(acts),
        "tensioner and rollers are renewed with the belt",
        cautions=facts.cautions(*cautions),
        values=facts.torque_values(bolts),
        records=(Record("part fitted", "Tensioner and rollers: numbers", "text"), *facts.torque_records(bolts)),
    )


def _compare(facts: Facts) -> Step:
    values, records = [], []
    for belt in facts.drive.belts:
        table = belt.table
        size = [f"{table.teeth} teeth"]
        size += [f"{plain(table.pitch_mm, 3)} mm pitch"] if table.pitch_mm else []
        size += [f"{plain(table.width_mm, 1)} mm wide"] if table.width_mm else []
        size += [f"printed {table.designation}"] if table.designation else []
        which = facts.belt_words(belt)
        values.append(Value(which, ", ".join(size), facts.drive.source))
        records.append(Record("belt fitted", f"Teeth of {which}, by print or count", "number", "teeth", belt.id))
    return Step(
        "compare-new-belt",
        "fit",
        "New belt beside the old: teeth, profile, width, arrow",
        ("Count or read the print; lay the profiles into each other; arrow along travel: " + facts.turn_way + ".",),
        "every job",
        cautions=facts.cautions("clean-hands", "no-folding", "no-reuse"),
        values=tuple(values),
        records=(*records, Record("photo", "Photo: print and batch", "photo")),
    )


def _set_shafts(facts: Facts) -> Step:
    timing = facts.drive.file.timing
    where = setting_position(timing.setting_crank_deg)
    marked = [
        f"{wheel_name(facts.drive, pulley)} at {clock_face(pulley.table.mark_deg)}"
        for belt in facts.drive.belts
        for pulley in belt.marked
        if pulley.table.mark_deg is not None
    ]
    moved = timing.safe_crank_deg is not None and facts.drive.file.engine.interference != "no"
    acts = [f"Crankshaft: {where}. It may be turned back to it only while every belt is off."]
    if moved:
        acts.append("Was it moved away? Camshafts on their marks first, then the crankshaft back.")
    if marked:
        acts.append(f"Marks, {SEEN}: {names(marked)}, each against its fixed mark.")
    if facts.pins:
        acts.append(f"In: {names(pin_id(pin) for pin in facts.pins)}.")
    loose = facts.with_hub("slotted", "taper", "friction")
    records = [Record("step done", "Shafts in their places")]
    for shaft in loose:
        acts.append(_loose_hub(facts, shaft.id))
        records.append(Record("step done", f"Sprocket of {facts.name(shaft)} free to turn on its hub", id=shaft.id))
    acts += [f"Timing adjuster of {facts.name(shaft)} still in its locked place." for shaft in facts.phasers]
    cautions = ["valves-meet-pistons"] if facts.drive.file.engine.interference != "no" else []
    return Step(
        "set-shafts",
        "fit",
        "Every shaft in its setting position" + ("; hubs loose" if loose else ""),
        tuple(acts),
        "every job"
        if not loose
        else f"the sprocket of {names(map(facts.name, loose))} turns on its hub until tension is set",
        cautions=facts.cautions(*cautions),
        records=tuple(records),
    )


def _loose_hub(facts: Facts, shaft_id: str) -> str:
    shaft = facts.drive.shaft(shaft_id)
    name = facts.name(shaft)
    if shaft.hub == "slotted":
        end = shaft.table.slot_end if shaft.table else None
        where = f"against {end}" if end else "in the middle of its slots"
        return f"Sprocket of {name}: bolts finger-tight, sprocket {where}, free to turn."
    bolt = "break the taper with a puller" if shaft.hub == "taper" else "loosen its bolt"
    return f"Sprocket of {name}: {bolt} (held by its holder), then just free to turn, without rock."


def thread(facts: Facts, belt: Belt) -> Step:
    """Threading one belt, from the taut side, with the tooth counts where they are known."""
    threading = thread_order(facts.drive, belt)
    which = facts.belt_words(belt)
    acts = []
    if threading.order:
        acts.append(
            "In this order: " + " → ".join(_bare(facts, belt, pulley_id) for pulley_id in threading.order) + "."
        )
        acts.append("Keep each span tight as you go; all the slack ends at the tensioner.")
    else:
        acts.append(f"Order: as the vehicle maker says ({threading.why}). All the slack ends at the tensioner.")
    if belt.table.marks:
        lines = ", ".join(str(number) for number in belt.table.marks)
        acts.append(f"Painted lines stand at teeth {lines}, counted along travel from the crankshaft's mark.")
    loose = [shaft for shaft in facts.with_hub("slotted") if shaft in facts.on_belt(belt)]
    if loose:
        acts.append(
            f"Turn the sprocket of {names(map(facts.name, loose))} along travel, less than a tooth, to let the belt in."
        )
    rest = facts.rests.get(belt.id)
    counts = counts_between_marks(facts.drive, belt, rest) if rest else ()
    values = tuple(_count_value(facts, belt, row) for row in counts)
    records = [Record("belt fitted", f"{which} on, arrow along travel", id=belt.id)]
    records += (
        [Record("remark", "Teeth counted from mark to mark: as above")]
        if counts and all(is_whole(belt, row) for row in counts)
        else []
    )
    cautions = ["no-lever", "no-folding", "slack-to-tensioner", "clean-hands"]
    return Step(
        facts.at("thread-belt", belt),
        "fit",
        f"Thread {which}: taut side first, slack to the tensioner",
        tuple(acts),
        "every job" if belt is facts.main else f"{which} is a further belt of this engine",
        cautions=facts.cautions(*cautions),
        tools=("clips for the belt",),
        values=values,
        records=tuple(records),
        belt=belt.id,
    )


def _count_value(facts: Facts, belt: Belt, row: ToothCount) -> Value:
    what = f"{_bare(facts, belt, row.start)} to {_bare(facts, belt, row.end)}"
    said = teeth_count_words(row.teeth)
    if not is_whole(belt, row):
        said = f"not known: the geometry gives {plain(row.teeth)}, no whole number; check the drive file"
    return Value(what, said, "computed, along travel")


def _bare(facts: Facts, belt: Belt, pulley_id: str) -> str:
    pulley = next((pulley for pulley in belt.pulleys if pulley.id == pulley_id), None)
    return wheel_name(facts.drive, pulley).removeprefix("the ") if pulley else pulley_id
