"""Setting the tension, tightening the hubs, pins out."""

from __future__ import annotations

from collections.abc import Iterator

from twoturn.drive.model.tensioners import Tensioner
from twoturn.drive.parts import Belt
from twoturn.plan.acts import HOLD_CAUTIONS, is_fixed, last_position, tell, tightening_way
from twoturn.plan.facts import SETTING_QUANTITIES, Facts
from twoturn.plan.geometry import HAND_WARM_C, hand_warm
from twoturn.plan.model import Record, Step, Value
from twoturn.plan.sequence import Round, Sequence, sequence_of
from twoturn.plan.wording import (
    SEEN,
    article,
    capital,
    clock_face,
    fastener_name,
    fastener_remarks,
    fastener_words,
    names,
    pin_id,
    slug,
)
from twoturn.words.numbers import count_words, plain, turns_words
from twoturn.words.terms import TENSIONER_KINDS

RIGHT_WAY = {"locked eccentric": "eccentric-right-way", "double eccentric": "adjust-right-way"}
TARGET = "Belt tension to set"


def first_round(facts: Facts, belt: Belt) -> Iterator[Step]:
    """The first round of setting every tensioner of a belt."""
    for tensioner in belt.tensioners:
        sequence = sequence_of(tensioner)
        yield set_step(facts, belt, tensioner, sequence, 0)


def later_rounds(facts: Facts, belt: Belt) -> Iterator[Step]:
    """Turns by hand and further rounds, where a setting sequence asks for them; the last turns are not among them."""
    longest = max((len(sequence_of(tensioner).rounds) for tensioner in belt.tensioners), default=1)
    for number in range(1, longest):
        turns = max(
            sequence.rounds[number - 1].turns
            for sequence in map(sequence_of, belt.tensioners)
            if len(sequence.rounds) > number
        )
        yield _settle(facts, belt, turns or 2, number)
        for tensioner in belt.tensioners:
            sequence = sequence_of(tensioner)
            if number < len(sequence.rounds):
                yield set_step(facts, belt, tensioner, sequence, number)


def step_id(facts: Facts, belt: Belt, tensioner: Tensioner, number: int) -> str:
    """Id of a round of setting: ``set-tensioner``, then ``finish-setting``, ``finish-setting.3``; ``@`` the belt."""
    base = "set-tensioner" if number == 0 else "finish-setting"
    if tensioner is not belt.tensioners[0]:
        base += f".{slug(tensioner.pulley)}"
    if number > 1:
        base += f".{number + 1}"
    return facts.at(base, belt)


def set_step(facts: Facts, belt: Belt, tensioner: Tensioner, sequence: Sequence, number: int) -> Step:
    """One round of setting one tensioner."""
    one = sequence.rounds[number]
    start = None
    for earlier in sequence.rounds[:number]:
        start = last_position(earlier.acts, start)
    last = number == len(sequence.rounds) - 1
    asked = any(act.to == "target" for act in one.acts)
    values = _values(facts, belt, tensioner, one, last or asked)
    acts = tell(facts, tensioner, one.acts, start, _target_words(facts, values))
    if sequence.usual:
        acts.insert(0, "The drive file gives no sequence; this is the usual one of this kind (common practice).")
    if last:
        acts += _shape_of_it(tensioner)
    more = (", first part", ", second part", ", third part")[min(number, 2)] if len(sequence.rounds) > 1 else ""
    way = tightening_way(tensioner)
    return Step(
        step_id(facts, belt, tensioner, number),
        "set",
        f"Set the {tensioner.pulley}{more}",
        tuple(acts or [_without_acts(tensioner)]),
        f"{facts.belt_words(belt)} is set by {article(TENSIONER_KINDS[tensioner.kind])}"
        + (f"; tightens {way}" if way else ""),
        precondition=_precondition(tensioner, number),
        cautions=facts.cautions(*_cautions(tensioner)),
        tools=_tools(tensioner),
        values=values,
        records=_records(facts, belt, tensioner, one, last),
        belt=belt.id,
    )


def _target_words(facts: Facts, values: tuple[Value, ...]) -> str:
    """How to see that the tension asked for is reached, by the values that the step prints; empty without any."""
    quantities = {item.quantity for item in facts.drive.file.requirement if item.id in {v.id for v in values if v.id}}
    if any(value.what == TARGET for value in values) or "tension" in quantities:
        return "the tension below is reached"
    return "the value below is reached" if quantities & set(SETTING_QUANTITIES) else ""


def _shape_of_it(tensioner: Tensioner) -> list[str]:
    said = []
    if tensioner.hex_finish_deg is not None:
        said.append(
            f"The hexagon hole of the eccentric must finish about {clock_face(tensioner.hex_finish_deg)}, {SEEN}; "
            "anywhere else it was turned the wrong way round."
        )
    if tensioner.applied_torque_nm is not None:
        said.append(f"The maker sets it with {plain(tensioner.applied_torque_nm, 2)} N·m applied.")
    return said


def _without_acts(tensioner: Tensioner) -> str:
    return "As the vehicle maker says." if is_fixed(tensioner) else "Let the spring take up the slack."


def _precondition(tensioner: Tensioner, number: int) -> str:
    if is_fixed(tensioner):
        return "Engine cold: block at the temperature of the set value."
    return "All the slack is at the tensioner." if number == 0 else "Back in the setting position."


def _cautions(tensioner: Tensioner) -> list[str]:
    found = []
    if is_fixed(tensioner):
        found.append("not-warm")
    if tensioner.kind in ("locked eccentric", "double eccentric"):
        found += [RIGHT_WAY[tensioner.kind], HOLD_CAUTIONS[tensioner.kind]]
    if tensioner.tang:
        found.append("tang-seated")
    if tensioner.kind == "hydraulic":
        found.append("ram-slow")
    if tensioner.kind in ("sprung arm", "slide"):
        found.append("spring-energy")
    if tensioner.kind in ("double eccentric", "sprung arm"):
        found.append("read-straight")
    return found


def _tools(tensioner: Tensioner) -> tuple[str, ...]:
    key = {"locked eccentric": "key for the eccentric", "double eccentric": "key for the setting eccentric"}
    first = (key[tensioner.kind],) if tensioner.kind in key else ()
    locks = any(act.fastener is not None for act in tensioner.setting) or is_fixed(tensioner)
    return (*first, *(("torque tool",) if locks else ()))


def _values(facts: Facts, belt: Belt, tensioner: Tensioner, one: Round, last: bool) -> tuple[Value, ...]:
    values = list(facts.torque_values(facts.tightened(one.acts, tensioner)))
    if not last:
        return tuple(values)
    wanted = facts.requirements(*SETTING_QUANTITIES, belt=belt, states=("as set",))
    mine = tuple(item for item in wanted if _belongs(belt, tensioner, item.at))
    values += facts.requirement_values(mine)
    if is_fixed(tensioner) or any(act.to == "target" for act in one.acts):
        later = facts.requirements(*SETTING_QUANTITIES, belt=belt, states=(None, "after turns"))
        values += facts.requirement_values(tuple(r for r in later if _belongs(belt, tensioner, r.at)))
    target = getattr(tensioner, "target_n", None)
    if target is not None and tensioner.kind == "locked eccentric":
        values.append(Value(TARGET, f"{plain(target)} N", facts.drive.source))
    rest = facts.rests.get(belt.id)
    warm = hand_warm(facts.drive, belt, tensioner, rest) if rest else ""
    if warm:
        what = f"The same setting on a hand-warm engine ({plain(HAND_WARM_C)} °C) reads"
        values.append(Value(what, warm, "computed"))
    return tuple(values)


def _belongs(belt: Belt, tensioner: Tensioner, place: str | None) -> bool:
    """Whether a requirement is this tensioner's: it names it, or names no other tensioner of the belt."""
    others = {other.pulley for other in belt.tensioners if other is not tensioner}
    return not place or place not in others


def _records(facts: Facts, belt: Belt, tensioner: Tensioner, one: Round, last: bool) -> tuple[Record, ...]:
    fasteners = facts.tightened(one.acts, tensioner)
    records = [Record("adjuster moved", f"{tensioner.pulley} set by the sequence", id=tensioner.pulley)]
    if tensioner.hex_finish_deg is not None and last:
        records.append(Record("step done", "Hexagon where it must finish"))
    records += facts.torque_records(fasteners)
    if last:
        wanted = facts.requirements(*SETTING_QUANTITIES, belt=belt, states=("as set",))
        records += facts.requirement_records(tuple(item for item in wanted if _belongs(belt, tensioner, item.at)))
    return tuple(records)


def _settle(facts: Facts, belt: Belt, turns: float, number: int) -> Step:
    base = "turn-to-settle" + (f".{number}" if number > 1 else "")
    words = turns_words(turns)
    return Step(
        facts.at(base, belt),
        "set",
        f"Turn the crankshaft {words} {facts.turn_way} by hand",
        (f"{capital(facts.turn_way)}, {SEEN}; so the belt seats itself. End on the setting position.",),
        "the setting sequence of this drive asks for it",
        precondition="Every pin is out." if facts.pins else "",
        cautions=facts.cautions("turn-at-crank", "never-backwards", "overshot", "hard-stop"),
        tools=("socket and long handle on the crankshaft bolt",),
        values=(Value("Turns", f"{words} {facts.turn_way}", facts.drive.source),),
        records=(Record("turned", "Turned", "number", "turns"),),
        belt=belt.id,
    )


def hubs(facts: Facts) -> Iterator[Step]:
    """Hubs tightened with the tools in, the crankshaft's friction joint, then every pin out."""
    loose = facts.with_hub("slotted", "taper", "friction")
    bolts = facts.fasteners["hub"]
    if loose or bolts:
        yield _tighten_hubs(facts)
    if facts.drive.crankshaft.hub in ("friction", "taper"):
        yield _crank_now(facts)
    if facts.pins:
        yield _pins_out(facts)
    if facts.unpinned:
        yield Step(
            "cam-holders-off",
            "set",
            "Camshaft holders off, counted",
            (f"Off: what held {names(map(facts.name, facts.unpinned))}. The belt holds the camshafts now.",),
            "the camshafts were held while the belt was off",
            cautions=facts.cautions("pins-counted"),
            records=(Record("step done", "Holders off"),),
        )


def _tighten_hubs(facts: Facts) -> Step:
    bolts = facts.fasteners["hub"]
    held = [pin_id(pin) for pin in facts.pins if pin.purpose == "hold"]
    loose = facts.with_hub("slotted", "taper", "friction")
    which = names(map(facts.name, loose)) or "the hubs"
    wheels = "sprocket" if len(loose) == 1 else "sprockets"
    acts = [
        f"Tighten in their stages, the wheel held by its holder: {names(fastener_name(b) for b in bolts) or which}."
    ]
    if held:
        acts.append(f"Still in place, without load: {names(held)}.")
    acts += [remark for bolt in bolts for remark in fastener_remarks(bolt)]
    if not bolts:
        acts.append("The drive file gives no torque: the vehicle maker's value.")
    cautions = ["pins-carry-no-torque", "never-backwards"]
    cautions += ["left-hand-thread"] if any(bolt.left_hand for bolt in bolts) else []
    return Step(
        "tighten-hubs",
        "set",
        f"Tighten the {wheels} of {which}, tools in, counterheld" if loose else "Tighten the hubs",
        tuple(acts),
        f"the {wheels} of {which} could turn on the hub until now" if loose else "these fasteners hold a hub",
        precondition="Tension is set, all the slack is out.",
        cautions=facts.cautions(*cautions),
        tools=("wheel holder", "torque tool"),
        values=facts.torque_values(bolts),
        records=facts.torque_records(bolts),
    )


def _crank_now(facts: Facts) -> Step:
    bolts = facts.fasteners["crank"]
    hold = facts.drive.file.access.hold_crank_at or "where the vehicle maker says"
    said = names(f"{bolt.id}: {fastener_words(bolt)}" for bolt in bolts) or "the vehicle maker's value"
    acts = [
        "Faces clean and dry as told; damper or its stand-in on, so that the sprocket is clamped.",
        f"Hold the crankshaft: {hold}. Tighten now, to the end: {said}.",
        *(remark for bolt in bolts for remark in fastener_remarks(bolt)),
    ]
    return Step(
        "tighten-crank-joint",
        "set",
        "Crankshaft bolt to its final value now, before the turns",
        tuple(acts),
        "the crankshaft sprocket is held by friction alone",
        precondition="Tension is set.",
        cautions=facts.cautions("friction-joint", "hold-crank-not-by-pin", "dry-threads"),
        tools=(f"holder: {hold}", "torque tool", "angle gauge"),
        values=facts.torque_values(bolts),
        records=facts.torque_records(bolts),
    )


def _pins_out(facts: Facts) -> Step:
    number = len(facts.pins)
    return Step(
        "pins-out",
        "set",
        f"Every pin out: {count_words(number, 'piece')}",
        (f"Out, counted on the bench: {names(pin_id(pin) for pin in facts.pins)}.",),
        "pins went in",
        cautions=facts.cautions("pins-counted"),
        values=(Value("Pins out", f"{number}, as many as went in", facts.drive.source),),
        records=(
            *(Record("pin out", f"{pin_id(pin)} out", id=pin_id(pin)) for pin in facts.pins),
            Record("pin out", "Number out", "number", "pins"),
        ),
    )
