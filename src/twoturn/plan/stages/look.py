"""The old belt and what stays in the engine."""

from __future__ import annotations

import math
from collections.abc import Iterator

from twoturn.drive.parts import Belt
from twoturn.plan.facts import LOOK_QUANTITIES, Facts
from twoturn.plan.model import Record, Step
from twoturn.plan.wording import names, wheel_name

ANY_STATE = (None, "as found", "as set", "after turns")


def look(facts: Facts) -> Iterator[Step]:
    """Steps of the stage Look."""
    yield _old_belt(facts)
    yield _what_stays(facts)


def _old_belt(facts: Facts) -> Step:
    acts = [
        "Before any cleaning: teeth, flanks, back, both edges; width at three places; oil, coolant, foreign bodies.",
        "Turn every loose end once under the lamp; photograph what is not ordinary.",
    ]
    for belt in facts.drive.belts:
        acts += _spacing(facts, belt)
    wide = facts.requirements("width", states=ANY_STATE)
    cautions = ["leak-first"] if facts.in_oil else []
    return Step(
        "look-at-old-belt",
        "look",
        "Read the old belt before it is cleaned",
        tuple(acts),
        "every job",
        cautions=facts.cautions(*cautions),
        tools=("lamp", "calliper"),
        values=facts.requirement_values(wide),
        records=(
            Record("finding", "Ordinary wear for its age"),
            Record("finding", "What else is seen", "text"),
            Record("measured", "Width, least of three places", "number", "mm"),
            Record("photo", "Photos: teeth, back, edges", "photo"),
            *facts.requirement_records(wide),
        ),
    )


def _spacing(facts: Facts, belt: Belt) -> list[str]:
    """What the spacing of damage says of a sprocket: a nick meets N/gcd(N, z) places of the belt, for ever."""
    teeth = belt.table.teeth
    said = []
    for pulley in belt.pulleys:
        if pulley.teeth is None:
            continue
        places = teeth // math.gcd(teeth, pulley.teeth)
        if places < teeth:
            said.append(
                f"A nick in the sprocket of {wheel_name(facts.drive, pulley)} ({pulley.teeth} teeth) "
                f"hurts {facts.belt_words(belt)} at {places} places, every {teeth // places} teeth."
            )
    return said


def _what_stays(facts: Facts) -> Step:
    sprung = [tensioner.pulley for tensioner in facts.drive.file.tensioner if tensioner.kind != "locked eccentric"]
    acts = [
        "Seals dry; every shaft that no pin or holder holds turned a little by hand, free of play; sprocket teeth, "
        "flanges, wheel faces; studs straight; wheels in line by straightedge.",
    ]
    if sprung:
        acts.append(f"Spring and arm of {names(f'the {name}' for name in sprung)}: even return over the whole travel.")
    acts.append("Found rough, loose, leaking, worn or out of line: cure it first, then sign what cured it.")
    wanted = facts.requirements(*LOOK_QUANTITIES, states=ANY_STATE)
    wanted = tuple(item for item in wanted if item.quantity != "width")
    return Step(
        "check-what-stays",
        "look",
        "Check what stays: seals, shafts, wheels, studs, alignment",
        tuple(acts),
        "every job",
        precondition="With the belt off, turn a camshaft only when the crankshaft is off TDC."
        if facts.drive.file.engine.interference != "no"
        else "",
        cautions=facts.cautions("leak-first", "no-oil"),
        tools=("straightedge", "mirror", "feeler gauge"),
        values=facts.requirement_values(wanted),
        records=(
            Record("finding", "All clear"),
            Record("finding", "Not clear: what (cure first)", "text"),
            Record("cured", "Cured by", "text"),
            *facts.requirement_records(wanted),
        ),
    )
