"""Stripping: setting position, as found, damper off, pins in, cams held, tensioner unloaded, belts off."""

from __future__ import annotations

from collections.abc import Iterator

from twoturn.drive.model.tensioners import Tensioner
from twoturn.drive.parts import Belt
from twoturn.plan.acts import MOVED, easing_way
from twoturn.plan.facts import SETTING_QUANTITIES, TIMING_QUANTITIES, Facts
from twoturn.plan.model import Record, Step, Value
from twoturn.plan.wording import (
    SEEN,
    capital,
    fastener_name,
    names,
    pin_id,
    pin_words,
    setting_position,
    slug,
    wheel_name,
)
from twoturn.words.numbers import count_words, list_words, plain
from twoturn.words.terms import HUBS, other_way


def strip(facts: Facts) -> Iterator[Step]:
    """Steps from the setting position to the belts in their bag."""
    yield _setting_position(facts)
    yield _as_found(facts)
    yield from _damper(facts)
    yield from _pins_in(facts)
    yield from _hold_cams(facts)
    for belt in reversed(facts.outer):
        yield from belt_off(facts, belt)
    yield from belt_off(facts, facts.main)
    for belt in reversed(facts.inner):
        yield from belt_off(facts, belt)
    yield from _rods(facts, "check-balance-rod", "strip")
    yield from _off_tdc(facts)


def _setting_position(facts: Facts) -> Step:
    timing = facts.drive.file.timing
    where = setting_position(timing.setting_crank_deg)
    acts = [f"Turn the crankshaft {facts.turn_way}, {SEEN}, to {where}."]
    acts.append(_shown_by(facts))
    cautions = ["turn-at-crank", "never-backwards", "overshot", "hard-stop"]
    if timing.setting_crank_deg is not None:
        cautions.append("firing-or-overlap")
    if facts.vehicle.belt_broken:
        acts.append("The belt is broken or has jumped: turn slowly and stop at the first resistance.")
        if facts.drive.file.engine.interference != "no":
            cautions.append("valves-meet-pistons")
            acts.append(
                "Open valves may stand in the way: no piston to TDC before the camshafts are on their marks; turn "
                "those only with the crankshaft off TDC."
            )
        cautions = ["turn-at-crank", "hard-stop"]
    return Step(
        "turn-to-setting-position",
        "strip",
        f"Turn to {where}" if timing.setting_crank_deg is None else f"Turn to the setting position: {where}",
        tuple(acts),
        "every job",
        precondition="Gearbox in neutral, spark or glow plugs may come out to ease turning.",
        cautions=facts.cautions(*cautions),
        tools=("socket and long handle on the crankshaft bolt",),
        values=(Value("Setting position", where, facts.drive.source),),
        records=(Record("step done", "In the setting position"),),
    )


def _shown_by(facts: Facts) -> str:
    marked = [wheel_name(facts.drive, pulley) for belt in facts.drive.belts for pulley in belt.marked]
    pinned = [pin_words(pin, facts.drive) for pin in facts.pins]
    said = []
    if marked:
        said.append(f"the marks of {names(marked)} show it")
    if pinned:
        said.append(f"the pins fit ({'; '.join(pinned)})")
    return capital(list_words(said) or "what shows it is in the vehicle maker's data") + "."


def _as_found(facts: Facts) -> Step:
    file = facts.drive.file
    pointed = any(tensioner.kind != "locked eccentric" for tensioner in file.tensioner)
    seen = "marks, pointer" if pointed else "marks"
    acts = ["Light and a straight view; write down what is there, not what should be."]
    records: list[Record] = []
    for belt in facts.drive.belts:
        records += [
            Record("mark", f"Mark of {wheel_name(facts.drive, p)}: on, or teeth out and which way", "text", id=p.id)
            for p in belt.marked
        ]
        for tensioner in belt.tensioners:
            kind = "protrusion" if tensioner.kind == "hydraulic" else "pointer"
            if tensioner.kind == "hydraulic":
                records.append(Record(kind, f"Ram at {tensioner.pulley} stands out", "number", "mm", tensioner.pulley))
            elif tensioner.kind != "locked eccentric":
                records.append(Record(kind, f"Pointer of {tensioner.pulley}: short of, in or past the notch", "text"))
    if file.access.reachable:
        spans = "; ".join(facts.reachable_notes)
        computed = "; cold, by the drive file, not what is required" if "Hz" in spans else ""
        acts.append(f"Pluck a span you can reach ({spans}{computed}) and record its note.")
        records.append(Record("pluck", "Note as found: file or Hz", "text"))
    found = facts.requirements(*SETTING_QUANTITIES, *TIMING_QUANTITIES, "pump lift", "pin depth", states=("as found",))
    records.append(Record("photo", f"Photo: {seen.replace(', ', ' and ')} as found", "photo"))
    return Step(
        "record-as-found",
        "strip",
        f"As found: {seen}, slack, before anything is loosened",
        tuple(acts),
        "every job" if not facts.vehicle.belt_broken else "what is left of the belt drive is recorded too",
        precondition="Nothing loosened yet.",
        cautions=facts.cautions("read-straight" if pointed else "marks-straight"),
        tools=("lamp", "phone for sound and photo"),
        values=facts.requirement_values(found),
        records=(*records, *facts.requirement_records(found)),
    )


def _damper(facts: Facts) -> Iterator[Step]:
    bolts = facts.fasteners["crank"]
    if not (facts.drive.file.access.damper_over_cover or bolts):
        return
    friction = facts.drive.crankshaft.hub in ("friction", "taper")
    hold = facts.drive.file.access.hold_crank_at or "where the vehicle maker says"
    what = names(f"the {fastener_name(bolt)}" for bolt in bolts) if bolts else "the damper's bolt"
    acts = [f"Hold the crankshaft: {hold}.", f"Loosen {what}."]
    acts += [f"The {bolt.id}: left-hand thread, loosens clockwise." for bolt in bolts if bolt.left_hand]
    acts += [
        f"The {bolt.id} goes back on only to turn the engine: it serves once." for bolt in bolts if bolt.single_use
    ]
    first = "Nip the bolt up again, or the loose sprocket stays behind. " if friction else ""
    cautions = ["hold-crank-not-by-pin"]
    cautions += ["left-hand-thread"] if any(bolt.left_hand for bolt in bolts) else []
    if friction:
        acts.append("From here on the crankshaft sprocket is loose on its shaft.")
        cautions.append("friction-joint")
    yield Step(
        "loosen-damper-bolt",
        "strip",
        f"Hold the crankshaft, loosen {what}",
        tuple(acts),
        "the damper covers the lower cover" if facts.drive.file.access.damper_over_cover else "it holds the sprocket",
        precondition="No pin is in.",
        cautions=facts.cautions(*cautions),
        tools=(f"holder: {hold}", "long handle"),
        records=tuple(Record("loosened", f"{bolt.id} loosened", id=bolt.id) for bolt in bolts),
    )
    yield Step(
        "remove-damper-and-lower-cover",
        "strip",
        "Damper and lower cover off; check the position again",
        (
            f"Has the setting position moved? {first}Bring it back in the running direction before going on.",
            "Compare the damper's notch with true TDC once: has its outer ring slipped?",
        ),
        "the damper covers the lower cover" if facts.drive.file.access.damper_over_cover else "every job",
        cautions=facts.cautions("damper-ring", "never-backwards"),
        records=(Record("step done", "Position checked again; damper ring true"),),
    )


def _pins_in(facts: Facts) -> Iterator[Step]:
    if not facts.pins:
        return
    acts = [capital(pin_words(pin, facts.drive)) + f" ({pin.purpose})." for pin in facts.pins]
    acts.append("By hand to full depth. If one does not go in, move the crankshaft a few degrees forward.")
    number = len(facts.pins)
    records = [Record("pin in", f"{pin_id(pin)} in by hand", id=pin_id(pin)) for pin in facts.pins]
    records += [
        Record("measured", f"Depth of {pin_id(pin)}", "number", "mm", pin_id(pin))
        for pin in facts.pins
        if pin.min_depth_mm
    ]
    yield Step(
        "pins-in",
        "strip",
        f"Pins in: {count_words(number, 'piece')}, counted",
        tuple(acts),
        f"this drive is held by {count_words(number, 'pin or bar', 'pins or bars')}",
        precondition="The setting position is checked; the crankshaft's bolt is already loose.",
        cautions=facts.cautions("pin-not-forced", "pins-counted", "pins-carry-no-torque"),
        tools=tuple(pin_id(pin) for pin in facts.pins),
        values=(Value("Pins in", str(number), facts.drive.source),),
        records=(*records, Record("pin in", "Number in", "number", "pins")),
    )


def _hold_cams(facts: Facts) -> Iterator[Step]:
    if not facts.springy and not facts.phasers:
        return
    acts, because = [], []
    for shaft in facts.springy:
        holder = next((pin_id(pin) for pin in facts.pins if pin.shaft == shaft.id and pin.purpose == "hold"), None)
        acts.append(f"{capital(facts.name(shaft))}: " + (f"held by the {holder}." if holder else "fit its holder."))
    if facts.springy:
        because.append(f"valve springs turn {names(map(facts.name, facts.springy))} when the belt leaves")
    for shaft in facts.phasers:
        phaser = shaft.table.phaser if shaft.table else None
        if phaser is None:
            continue
        place = f": {phaser.locked_at}" if phaser.locked_at else ""
        when = f" ({phaser.locked_when})" if phaser.locked_when else ""
        acts.append(
            f"Timing adjuster of {facts.name(shaft)}: in its locked place{place}{when}; feel that it does not give."
        )
        because.append(f"{facts.name(shaft)} has variable timing")
    yield Step(
        "hold-springy-cams",
        "strip",
        "Hold the camshafts" if facts.springy else "See that the timing adjuster is locked",
        tuple(acts),
        list_words(because),
        cautions=facts.cautions(*(("springy-cams",) if facts.springy else ())),
        tools=("camshaft holders",) if facts.unpinned else (),
        records=(Record("step done", "Held and locked"),),
    )


def belt_off(facts: Facts, belt: Belt) -> Iterator[Step]:
    """Unload a belt's tensioners and take it off.

    Parameters
    ----------
    facts, belt
        The facts and one of the drive's belts.
    """
    for tensioner in belt.tensioners:
        yield _unload(facts, belt, tensioner)
    which = facts.belt_words(belt)
    cautions = ["belt-off-stays", "no-reuse"]
    if facts.drive.file.engine.interference != "no":
        cautions.append("valves-meet-pistons")
    because = "every job"
    acts = [f"Draw travel arrow and OUTSIDE on {which}, slip it off, put it in a bag with the job's number."]
    if len(facts.drive.belts) > 1:
        because = f"this engine has {count_words(len(facts.drive.belts), 'belt')}"
        if not facts.belt_order_given:
            acts.append("The outer belt comes off first: if this engine has it the other way, change the order.")
    yield Step(
        facts.at("belt-off", belt),
        "strip",
        f"Take {which} off",
        tuple(acts),
        because,
        cautions=facts.cautions(*cautions),
        records=(Record("photo", f"Photo of {which}, with its arrow", "photo"), Record("step done", "Bagged")),
        belt=belt.id,
    )


def _unload(facts: Facts, belt: Belt, tensioner: Tensioner) -> Step:
    base = "unload-tensioner" if tensioner is belt.tensioners[0] else f"unload-tensioner.{slug(tensioner.pulley)}"
    acts, cautions, tools = _unload_acts(facts, tensioner)
    return Step(
        facts.at(base, belt),
        "strip",
        f"Let the tension off at the {tensioner.pulley}",
        tuple(acts),
        f"{facts.belt_words(belt)} has a tensioner",
        cautions=facts.cautions(*cautions),
        tools=tuple(tools),
        records=(Record("loosened", f"{tensioner.pulley} let off", id=tensioner.pulley),),
        belt=belt.id,
    )


def _unload_acts(facts: Facts, tensioner: Tensioner) -> tuple[list[str], list[str], list[str]]:
    locking = [f for f in facts.fasteners["tensioner"] if f.locks == tensioner.pulley] or [
        f for f in facts.fasteners["tensioner"] if any(act.fastener == f.id for act in tensioner.setting)
    ]
    loosen = f"Loosen {names(f'the {item.id}' for item in locking)}" if locking else "Loosen its fastener"
    way = easing_way(tensioner)
    turned = f"{way}, {SEEN}," if way in ("clockwise", "counter-clockwise") else way or "the slackening way"
    if tensioner.kind == "hydraulic":
        minutes = facts.drive.file.access.remarks.get("ram_press_min")
        slow = f"at least {plain(float(minutes))} min for the stroke" if isinstance(minutes, int | float) else "slowly"
        return (
            [
                f"{loosen} turn by turn, evenly, and take the ram off.",
                f"If the ram goes back on: press it in upright, {slow}, until its pin slides in.",
            ],
            ["ram-slow", "spring-energy", "eye-protection"],
            ["upright press or vice with soft jaws", "ram pin"],
        )
    if tensioner.kind in ("sprung arm", "slide"):
        moved = MOVED[tensioner.kind]
        return (
            [
                f"{loosen}.",
                f"Move {moved} {turned.rstrip(',')} against its spring; pin it there or nip its fastener up.",
            ],
            ["spring-energy", "eye-protection"],
            ["lever or key for the tensioner"],
        )
    part = MOVED[tensioner.kind]
    sprung = [] if tensioner.kind == "locked eccentric" else ["spring-energy"]
    return [f"{loosen}, turn {part} {turned} until the belt is slack."], sprung, [f"key for {part}"]


def _rods(facts: Facts, step_id: str, stage: str) -> Iterator[Step]:
    if facts.rods:
        yield rod_step(facts, step_id, "strip" if stage == "strip" else "fit")


def rod_step(facts: Facts, step_id: str, stage: str) -> Step:
    """The rod check of the balance shafts, as a step of that id and stage."""
    depth = facts.requirements("pin depth", "pin", states=(None, "as set", "after turns", "as found"))
    wanted = tuple(
        item for item in depth if item.at in {pin.shaft for pin in facts.rods} | {pin.id for pin in facts.rods}
    )
    acts = [capital(pin_words(pin, facts.drive)) + "." for pin in facts.rods]
    acts.append("Not deep enough: that shaft stands half a turn out. Turn what drives it one turn and try again.")
    return Step(
        step_id,
        "strip" if stage == "strip" else "fit",
        "Rod into the balance shaft, to full depth, then out again",
        tuple(acts),
        "a balance shaft can stand half a turn out with every mark aligned",
        cautions=facts.cautions("rod-depth", "pins-counted"),
        tools=tuple(pin_id(pin) for pin in facts.rods),
        values=facts.requirement_values(wanted),
        records=(
            *(Record("measured", f"Depth of {pin_id(pin)}", "number", "mm", pin_id(pin)) for pin in facts.rods),
            Record("pin out", "Rod out again"),
        ),
    )


def _off_tdc(facts: Facts) -> Iterator[Step]:
    engine, timing = facts.drive.file.engine, facts.drive.file.timing
    if engine.interference == "no" or timing.safe_crank_deg is None:
        return
    start = timing.setting_crank_deg or 0.0
    away = abs(timing.safe_crank_deg - start) or abs(timing.safe_crank_deg)
    way = timing.way or other_way(facts.turn_way)
    loose = [HUBS[shaft.hub] for shaft in facts.with_hub("slotted", "taper", "friction")]
    acts = [f"Only if a camshaft must be turned: crankshaft {plain(away)}° {way}, {SEEN}; no piston is then near TDC."]
    if any(pin.shaft == facts.drive.crankshaft.id for pin in facts.pins):
        acts.append("Take the crankshaft pin out first, and count it.")
    acts.append(f"Back {other_way(way)} only when the camshafts are on their marks again.")
    told = "valves meet pistons" if engine.interference == "yes" else "nobody knows whether valves meet pistons"
    yield Step(
        "crank-off-tdc",
        "strip",
        f"Before any camshaft is turned: crankshaft {plain(away)}° {way}",
        tuple(acts),
        told + (f"; {loose[0]}" if loose else ""),
        precondition="Every belt to the camshafts is off.",
        cautions=facts.cautions("valves-meet-pistons", "hard-stop"),
        values=(Value("Away from the setting position", f"{plain(away)}° {way}", engine.source or facts.drive.source),),
        records=(Record("measured", "Moved", "number", "°"),),
    )
