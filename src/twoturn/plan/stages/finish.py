"""Finishing: closing up, fluids, first start, road test, handing over."""

from __future__ import annotations

from collections.abc import Iterator

from twoturn.plan.facts import Facts
from twoturn.plan.model import Record, Step, Value
from twoturn.plan.wording import fastener_remarks, shaft_name
from twoturn.words.numbers import list_words, plain


def finish(facts: Facts) -> Iterator[Step]:
    """Steps from the covers to the hand-over."""
    yield _covers(facts)
    yield from _coolant(facts)
    yield from _fuel(facts)
    yield from _crank(facts)
    yield _start(facts)
    yield _road(facts)
    yield _hand_over(facts)


def _covers(facts: Facts) -> Step:
    groups = ["cover", "rest", "mount"]
    if facts.drive.crankshaft.hub not in ("friction", "taper"):
        groups.insert(1, "crank")
    bolts = tuple(bolt for group in groups for bolt in facts.fasteners[group])
    mount = facts.drive.file.access.mount_in_loop or bool(facts.fasteners["mount"])
    crank = any(bolt in facts.fasteners["crank"] for bolt in bolts)
    hold = facts.drive.file.access.hold_crank_at
    acts = ["Lower cover, damper, upper cover, auxiliary belt, in the reverse order. Right screw in the right hole."]
    if crank:
        acts.append(f"Hold the crankshaft: {hold or 'where the vehicle maker says'}.")
    acts += [remark for bolt in bolts for remark in fastener_remarks(bolt)]
    if mount:
        acts.append("Mount and bracket back, engine let down; the support comes off last.")
    cautions = ["no-rubbing", *(["hold-crank-not-by-pin"] if crank else []), *(["support-engine"] if mount else [])]
    cautions += ["left-hand-thread"] if any(bolt.left_hand for bolt in bolts) else []
    return Step(
        "fit-covers",
        "hand over",
        "Covers, damper, " + ("mount, " if mount else "") + "auxiliary belt",
        tuple(acts),
        "every job",
        precondition="Timing and setting of every belt are proven.",
        cautions=facts.cautions(*cautions),
        tools=("torque tool", *(("holder for the crankshaft",) if crank else ())),
        values=facts.torque_values(bolts),
        records=(*facts.torque_records(bolts), Record("step done", "Covers clear of the belt")),
    )


def _coolant(facts: Facts) -> Iterator[Step]:
    fluids = facts.drive.file.fluids
    if not facts.wheels("coolant pump") and fluids.coolant_l is None:
        return
    order = fluids.bleed_order
    values = [Value("Coolant", f"{plain(fluids.coolant_l)} l", facts.drive.source)] if fluids.coolant_l else []
    if fluids.coolant_type:
        values.append(Value("Type", fluids.coolant_type, facts.drive.source))
    bleed = f"Bleed in this order: {', then '.join(order)}." if order else "Bleed as the vehicle maker says."
    yield Step(
        "fill-coolant",
        "hand over",
        "Fill and bleed the coolant",
        (bleed, "Heater on hot; top up when the level has stopped falling."),
        "coolant was drained",
        cautions=facts.cautions("bleed-first"),
        values=tuple(values),
        records=(Record("measured", "Filled", "number", "l"),),
    )


def _fuel(facts: Facts) -> Iterator[Step]:
    if not facts.drive.file.fluids.fuel_opened:
        return
    yield Step(
        "prime-fuel",
        "hand over",
        "Fuel lines on, primed, dry",
        ("Caps off one by one, new seals, tighten; prime by hand pump or feed pump; look at every union.",),
        "fuel lines were opened",
        cautions=facts.cautions("fuel-clean", "fuel-fire"),
        records=(Record("step done", "Primed, dry"),),
    )


def _crank(facts: Facts) -> Iterator[Step]:
    timing = facts.drive.file.timing
    known = bool(timing.cam_edges) or timing.gap_to_tdc_deg is not None
    values = []
    for edge in timing.cam_edges:
        shaft = next((s for s in facts.drive.shafts if s.id == edge.shaft), None)
        name = shaft_name(facts.drive, shaft) if shaft else "the camshaft"
        said = f"{plain(edge.angle_deg)}° crank ± {plain(edge.tolerance_deg)}°"
        values.append(Value(f"{edge.edge.capitalize()} edge of {name}", said, facts.drive.source))
    yield Step(
        "crank-injection-off",
        "hand over",
        "Tools counted; crank with injection off and record the sensors",
        (
            "Count tools and pins first. 12 V battery back on; on a hybrid as the vehicle maker says.",
            "Injection and ignition out of action as the vehicle maker says.",
            "Same way of running and same temperature as the recording as found, or the two cannot be compared.",
        ),
        "this drive knows its sensor edges" if known else "a recording shows the timing without opening anything",
        only_if="" if known else "If the sensors can be reached",
        precondition="Nobody near the belt drive, covers on.",
        cautions=facts.cautions("injection-off", "rotating-parts", "tools-counted"),
        tools=("recorder with leads for crank and cam sensor",),
        values=tuple(values),
        records=(
            Record("step done", "Tools and pins complete"),
            Record("capture", "Sensor recording as left: file", "text"),
        ),
    )


def _start(facts: Facts) -> Step:
    relearn = [step if step.endswith(".") else step + "." for step in facts.drive.file.relearn.steps]
    acts = ["Battery on, injection and ignition back in action. Start for five seconds, listen, stop."]
    acts.append("Then idle: sound, leaks, fault codes.")
    if facts.vehicle.hybrid is not False:
        by = "High voltage back on by the qualified person."
        acts.insert(0, by if facts.vehicle.hybrid else f"If the vehicle is a hybrid: {by[0].lower()}{by[1:]}")
    acts += [f"Relearn: {step}" for step in relearn]
    return Step(
        "first-start",
        "hand over",
        "Battery on, first start five seconds, then idle",
        tuple(acts),
        "every job",
        cautions=facts.cautions("first-start", "rotating-parts", "hot-parts"),
        records=(
            Record("remark", "Sound, codes, leaks", "text"),
            *((Record("step done", "Relearnt"),) if relearn else ()),
        ),
    )


def _road(facts: Facts) -> Step:
    fixed = any(tensioner.kind == "locked eccentric" for tensioner in facts.drive.file.tensioner)
    acts = ["10 to 15 minutes, let it cool, levels, leaks, codes once more."]
    if fixed:
        acts.append(
            "Fixed roller: does the vehicle maker ask for re-tensioning after some distance? Tell the customer."
        )
    return Step(
        "road-test",
        "hand over",
        "Road test, cool, levels, leaks",
        tuple(acts),
        "every job",
        cautions=facts.cautions("hot-parts"),
        records=(Record("odometer", "Odometer", "number", "km"), Record("step done", "Levels right, dry")),
    )


def _hand_over(facts: Facts) -> Step:
    interval = facts.drive.file.interval
    said = []
    if interval is not None:
        pairs = ((interval.km, "km"), (interval.months, "months"), (interval.hours, "h"))
        said = [f"{plain(amount)} {unit}".replace("000 km", " 000 km") for amount, unit in pairs if amount]
    values = (Value("Next due after", list_words(said, "or"), facts.drive.source),) if said else ()
    return Step(
        "hand-over",
        "hand over",
        "Hand over: label, sheet, customer's note",
        (
            "Label under the bonnet: date, odometer, next due, your name.",
            "Note for the customer: what was done, by which values, what is not shown, which noise means stop.",
            "Offer the old parts.",
        ),
        "every job",
        values=values,
        records=(
            Record(
                "moved at end",
                "After the last turns, was anything moved or the crankshaft turned back? (yes or no)",
                "text",
            ),
            Record("signed", "Signature", "text"),
        ),
    )
