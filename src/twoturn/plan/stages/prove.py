"""Proving: turned by hand, timing and setting proven, final torque, static pump timing."""

from __future__ import annotations

import math
from collections.abc import Iterator

from twoturn.drive.model.work import RequirementTable
from twoturn.drive.parts import Belt, Pulley
from twoturn.drive.turning import deg_per_tooth, lines_meet_after, marks_return, realign
from twoturn.plan.acts import HOLD_CAUTIONS, is_fixed
from twoturn.plan.facts import SETTING_QUANTITIES, TIMING_QUANTITIES, Facts
from twoturn.plan.model import Record, Step, Value
from twoturn.plan.sequence import sequence_of
from twoturn.plan.wording import (
    SEEN,
    capital,
    fastener_name,
    fastener_remarks,
    names,
    pin_id,
    pin_words,
    setting_position,
    shaft_name,
    wheel_name,
)
from twoturn.words.numbers import list_words, plain, range_words, turns_words, window_words

READ_WORDS = {
    "frequency": "the note of the plucked span",
    "protrusion": "how far the ram stands out",
    "pointer": "the pointer",
    "deflection": "the deflection",
    "hand twist": "how far the span twists by hand",
    "tension": "the tension",
}


def prove(facts: Facts, belt: Belt) -> Iterator[Step]:
    """Steps from the turns by hand to the final torque, on one belt."""
    yield turn_by_hand(facts, belt)
    yield timing_step(facts, belt)
    yield from setting_step(facts, belt)
    yield from final_torque(facts, belt)


def turns_needed(facts: Facts, belt: Belt) -> int:
    """Turns by hand [-]: at least those the readings need, and a number that brings every mark back."""
    asked = [sequence_of(tensioner).rounds[-1].turns for tensioner in belt.tensioners]
    least = max([facts.after_turns, *map(math.ceil, asked)])
    back = marks_return(facts.drive).turns
    if back is None:
        return least
    return math.ceil(least / int(back)) * int(back)


def turn_by_hand(facts: Facts, belt: Belt, step_id: str = "turn-by-hand") -> Step:
    """The turns by hand after which readings count."""
    turns = turns_needed(facts, belt)
    words = turns_words(turns)
    acts = [f"At the crankshaft bolt, slowly, {facts.turn_way}, {SEEN}; feel for a hard stop.", _end_on(facts)]
    acts += [
        f"Turn with the old {bolt.id}; the new one goes in at the end."
        for bolt in facts.fasteners["crank"]
        if bolt.single_use and facts.drive.crankshaft.hub not in ("friction", "taper")
    ]
    acts.append("Overshot: go round again by as many turns. Turned back by mistake: the turns begin anew.")
    if turns > facts.after_turns:
        acts.append(f"{capital(turns_words(facts.after_turns))} settle the belt, but {words} bring every mark back.")
    on = (*facts.inner, belt) if belt is facts.main else (belt,)
    meet = [_meeting(facts, one, turns) for one in on]
    pins = "Every pin is out and counted." if facts.pins else ""
    hubs = "Every hub is tight." if facts.with_hub("slotted", "taper", "friction") else ""
    return Step(
        facts.at(step_id, belt),
        "prove",
        f"Turn the crankshaft {words} {facts.turn_way} by hand",
        (*acts, *[said for said in meet if said]),
        "every job",
        precondition=" ".join(word for word in (pins, hubs) if word),
        cautions=facts.cautions("turn-at-crank", "never-backwards", "hard-stop", "overshot"),
        tools=("socket and long handle on the crankshaft bolt",),
        values=(Value("Turns", f"{words} {facts.turn_way}", facts.drive.source),),
        records=(
            Record("turned", "Turned", "number", "turns"),
            Record("turned", "No hard stop, not turned back"),
        ),
        belt=belt.id,
    )


def _end_on(facts: Facts) -> str:
    angle = facts.drive.file.timing.setting_crank_deg
    where = setting_position(angle)
    return f"End on {where}." if angle is None else f"End on the setting position: {where}."


def _meeting(facts: Facts, belt: Belt, turns: int) -> str:
    back = realign(facts.drive, belt).turns
    if back is None:
        return ""
    which = facts.belt_words(belt)
    if lines_meet_after(facts.drive, belt, turns):
        return f"Painted lines of {which} meet the marks again after these turns."
    number = plain(float(back), 2)
    return f"Painted lines of {which} need not meet the marks now: they do so only after {number} turns."


def timing_step(facts: Facts, belt: Belt, step_id: str = "prove-timing") -> Step:
    """Marks, pins as a check, rods: is the timing right?"""
    marked = belt.marked if step_id != "prove-timing" or belt is not facts.main else _marks_now(facts)
    records = [Record("mark", f"Mark of {wheel_name(facts.drive, p)} on", id=p.id) for p in marked]
    acts = []
    if marked:
        acts.append(f"Marks of {names(wheel_name(facts.drive, pulley) for pulley in marked)}: each on its fixed mark.")
    checks = facts.pins if belt is facts.main else ()
    for pin in checks:
        acts.append(f"{capital(pin_words(pin, facts.drive))}: slides in by hand, then out again at once.")
        records.append(Record("pin in", f"{pin_id(pin)} in freely, as a check", id=pin_id(pin)))
    if checks:
        records.append(Record("pin out", "All out again: number", "number", "pins"))
    rods = facts.rods if _carries_rods(facts, belt) else ()
    for pin in rods:
        acts.append(f"{capital(pin_words(pin, facts.drive))}: to full depth, then out again.")
        records.append(Record("measured", f"Depth of {pin_id(pin)}", "number", "mm", pin_id(pin)))
    acts.append("Not on the mark: do not turn back to see better. Belt off again, from the setting position on.")
    wanted = facts.requirements(*TIMING_QUANTITIES, belt=belt, states=(None, "after turns", "as set"))
    depth = facts.requirements("pin depth", states=(None, "after turns", "as set"))
    depth = tuple(item for item in depth if (bool(rods) if _is_rod(facts, item.at) else belt is facts.main))
    wanted = (*wanted, *depth)
    cautions = ["marks-straight", "painted-lines", *(["pin-is-the-check", "pins-counted"] if checks else [])]
    cautions += ["rod-depth"] if rods else []
    return Step(
        facts.at(step_id, belt),
        "prove",
        "Prove the timing" + (": pins slide in by hand" if checks else ": marks on"),
        tuple(acts),
        _why_timing(facts, belt),
        precondition="After the turns by hand, nothing moved since.",
        cautions=facts.cautions(*cautions),
        tools=("lamp", *(pin_id(pin) for pin in (*checks, *rods))),
        values=(*facts.requirement_values(wanted), *_tooth_values(facts, belt)),
        records=(
            *records,
            *facts.requirement_records(wanted),
            Record("photo", "Photo: marks or pins in place", "photo"),
        ),
        belt=belt.id,
    )


def _marks_now(facts: Facts) -> tuple[Pulley, ...]:
    return tuple(pulley for belt in (facts.main, *facts.inner) for pulley in belt.marked)


def _is_rod(facts: Facts, place: str | None) -> bool:
    return place in {pin.shaft for pin in facts.rods} | {pin.id for pin in facts.rods}


def _carries_rods(facts: Facts, belt: Belt) -> bool:
    """Whether this belt (or a link behind it) times a shaft whose rod is checked."""
    if not facts.rods:
        return False
    on_belts = {pulley.shaft for one in facts.drive.belts if one is not belt for pulley in one.pulleys}
    mine = {pulley.shaft for pulley in belt.pulleys}
    rods = {pin.shaft for pin in facts.rods}
    return bool(rods & mine) or (belt is facts.main and bool(rods - on_belts))


def _why_timing(facts: Facts, belt: Belt) -> str:
    shafts = [shaft for shaft in facts.phased if shaft in facts.on_belt(belt) or belt is facts.main]
    said = names(shaft_name(facts.drive, shaft) for shaft in shafts)
    return f"{said} must agree with the crankshaft" if said else "every job"


def _tooth_values(facts: Facts, belt: Belt) -> tuple[Value, ...]:
    """What one belt tooth is in crank degrees, at every phased sprocket of the belt."""
    rows = []
    for pulley in belt.pulleys:
        shaft = facts.drive.shaft(pulley.shaft)
        step = deg_per_tooth(facts.drive, pulley)
        if shaft.phased and step is not None:
            rows.append((wheel_name(facts.drive, pulley), f"{plain(float(step), 2)}° crank"))
    alike = {value for _, value in rows}
    if len(alike) == 1:
        return (Value("One belt tooth out is", alike.pop(), "computed"),)
    return tuple(Value(f"One belt tooth at {name} is", value, "computed") for name, value in rows)


def setting_step(facts: Facts, belt: Belt) -> Iterator[Step]:
    """Is the setting still right after the turns?"""
    wanted = facts.requirements(*SETTING_QUANTITIES, belt=belt)
    if not belt.tensioners and not wanted:
        return
    values = [*facts.requirement_values(wanted)]
    records = [*facts.requirement_records(wanted)]
    for name, what, limits, kind, unit in _windows(belt, {item.quantity for item in wanted}):
        values.append(Value(f"{what} of the {name}", limits, facts.drive.source))
        records.append(Record(kind, f"{what} of the {name}", "number" if unit else "tick", unit, name))
    settle = max([0.0, *(sequence_of(tensioner).settle_min for tensioner in belt.tensioners)])
    fixed = any(is_fixed(tensioner) for tensioner in belt.tensioners)
    cautions = ["read-straight"] if any(t.kind != "locked eccentric" for t in belt.tensioners) else []
    where = names(f"the {tensioner.pulley}" for tensioner in belt.tensioners)
    acts = [f"Read at {where}: {_reads(belt)}."] if where else []
    if not values:
        acts.append("The drive file gives no value for it: the vehicle maker's value, or yes or no by hand.")
        records.append(Record("twist", "Tension felt right by hand"))
    acts.append("Not met: back to setting the tensioner, then the turns again.")
    wait = f"Wait {plain(settle)} min after the last turn." if settle else ""
    yield Step(
        facts.at("prove-setting", belt),
        "prove",
        f"Prove the setting of {facts.belt_words(belt)}",
        tuple(acts),
        "a setting counts only after the turns by hand",
        precondition=" ".join(word for word in (wait, "Engine cold." if fixed else "") if word),
        cautions=facts.cautions(*cautions, *(["not-warm"] if fixed else [])),
        tools=_prove_tools(wanted),
        values=tuple(values),
        records=(*records, Record("photo", "Photo: pointer or gauge", "photo")),
        belt=belt.id,
    )


def _reads(belt: Belt) -> str:
    said = [READ_WORDS.get(read, read) for tensioner in belt.tensioners for read in sequence_of(tensioner).reads]
    return list_words(list(dict.fromkeys(said))) or "as the vehicle maker says"


def _windows(belt: Belt, covered: set[str]) -> Iterator[tuple[str, str, str, str, str]]:
    """Allowed ranges that a tensioner table gives and no requirement replaces."""
    for tensioner in belt.tensioners:
        reads = sequence_of(tensioner).reads
        window = getattr(tensioner, "window_deg", None)
        if window and tensioner.kind not in ("locked eccentric", "hydraulic") and "pointer" not in covered:
            yield tensioner.pulley, "Pointer", window_words(window[0], window[1]), "pointer", ""
        window_mm = getattr(tensioner, "window_mm", None)
        if window_mm and tensioner.kind == "slide" and "pointer" not in covered:
            yield tensioner.pulley, "Pointer", window_words(window_mm[0], window_mm[1], "mm"), "pointer", ""
        if window_mm and tensioner.kind == "hydraulic" and "protrusion" not in covered:
            yield (
                tensioner.pulley,
                "Ram standing out",
                range_words(window_mm[0], window_mm[1], "mm"),
                "protrusion",
                "mm",
            )
        if tensioner.kind == "double eccentric" and not window and "pointer" not in covered and "pointer" in reads:
            yield tensioner.pulley, "Pointer", "in the notch", "pointer", ""


def _prove_tools(wanted: tuple[RequirementTable, ...]) -> tuple[str, ...]:
    tools = {
        "frequency": "phone or recorder",
        "tension": "phone or recorder",
        "deflection": "spring balance and rule",
        "protrusion": "calliper or gauge rod",
        "pointer": "mirror and lamp",
    }
    found = [tools[item.quantity] for item in wanted if item.quantity in tools]
    return tuple(dict.fromkeys(found))


def final_torque(facts: Facts, belt: Belt) -> Iterator[Step]:
    """Fasteners of the tensioner that get their value only after the proof."""
    bolts = facts.final_fasteners(belt)
    if not bolts:
        return
    which = names(f"the {bolt.id}" for bolt in bolts)
    cautions = [HOLD_CAUTIONS[t.kind] for t in belt.tensioners if t.kind in HOLD_CAUTIONS]
    yield Step(
        facts.at("final-torque", belt),
        "prove",
        f"Final torque of {which}, then stripe",
        (
            f"{names(fastener_name(bolt) for bolt in bolts)}: hold still what they lock, tighten, stripe across.",
            *(remark for bolt in bolts for remark in fastener_remarks(bolt)),
            "Did anything move? Then turn by hand and prove again.",
        ),
        "the sequence tightens it only after the reading",
        precondition="Timing and setting are proven.",
        cautions=facts.cautions(*cautions, *(["left-hand-thread"] if any(b.left_hand for b in bolts) else [])),
        tools=("torque tool", "paint pen"),
        values=facts.torque_values(bolts),
        records=(*facts.torque_records(bolts), Record("step done", "Nothing moved, striped")),
        belt=belt.id,
    )


def pump_timing(facts: Facts) -> Iterator[Step]:
    """Static timing of a rotary injection pump, then the turns and the proof again."""
    lift = facts.requirements("pump lift", states=(None, "as set", "after turns"))
    bolts = facts.fasteners["injection pump"]
    if not lift and not bolts:
        return
    back = f"Turn the crankshaft {facts.back_way} by 20 to 30° until the gauge stands still, set it to zero"
    acts = [
        "Plug out, dial gauge in with 1 to 2 mm of preload; cold-start device out of action.",
        f"{back}; then {facts.turn_way} to the setting position and read the lift.",
        "Outside the limits: loosen the pump's flange, turn its body until the lift is right, tighten, measure again.",
        *(remark for bolt in bolts for remark in fastener_remarks(bolt)),
        "Measure twice. Gauge out, new sealing ring under the plug.",
    ]
    records = [
        Record("turned", "Turned back until the gauge stood still, forward again"),
        *(Record("pump lift", f"Lift, reading {number}", "number", "mm") for number in (1, 2)),
        *facts.torque_records(bolts),
    ]
    yield Step(
        "static-pump-timing",
        "prove",
        "Static timing of the injection pump by dial gauge",
        tuple(acts),
        "a rotary injection pump is timed by its lift",
        precondition="Timing and belt setting are proven; no pin is in.",
        cautions=facts.cautions("turn-back-here-only", "cold-start-device", "fuel-clean"),
        tools=("dial gauge with its holder",),
        values=(*facts.requirement_values(lift), *facts.torque_values(bolts)),
        records=tuple(records),
    )
    yield turn_by_hand(facts, facts.main, "turn-after-pump-timing")
    yield timing_step(facts, facts.main, "prove-after-pump-timing")
