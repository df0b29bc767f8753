"""How the plan says things: names of shafts and wheels, stages of tightening, requirements, places on a clock face."""

from __future__ import annotations

import re
from collections.abc import Iterable

from twoturn.drive.model.work import FastenerTable, PinTable, RequirementTable, Stage
from twoturn.drive.parts import Drive, Pulley, Shaft
from twoturn.words.numbers import count_words, list_words, phase_words, plain, range_words, window_words
from twoturn.words.terms import DEFAULT_UNITS, QUANTITIES

SEEN = "seen facing the belt end"


def slug(text: str) -> str:
    """A name as it may stand in a step's id: small letters, digits and hyphens; ``"x"`` where nothing is left."""
    return re.sub(r"[^a-z0-9]+", "-", text.lower()).strip("-")[:40].strip("-") or "x"


def shaft_name(drive: Drive, shaft: Shaft) -> str:
    """A shaft as the plan calls it: its role where that is enough, else its own name."""
    if shaft.role == "crankshaft":
        return "the crankshaft"
    if shaft.role in ("idler", "tensioner"):
        return f"the {shaft.id}"
    words = shaft.id.lower()
    if shaft.role in words or words.endswith(("shaft", "pump")):
        return f"the {shaft.id}"
    alone = sum(other.role == shaft.role for other in drive.shafts) == 1
    return f"the {shaft.role}" if alone else f"the {shaft.role} “{shaft.id}”"


def place_name(drive: Drive, place: str) -> str:
    """A shaft, wheel, span ("from:to"), fastener or belt of a requirement's ``at``, in words."""
    if ":" in place:
        start, _, end = place.partition(":")
        return f"the span from {place_name(drive, start)} to {place_name(drive, end)}"
    for shaft in drive.shafts:
        if shaft.id == place:
            return shaft_name(drive, shaft)
    return f"the {place}"


def wheel_name(drive: Drive, pulley: Pulley) -> str:
    """A wheel of a belt as the plan calls it."""
    if pulley.id == pulley.shaft:
        return shaft_name(drive, drive.shaft(pulley.shaft))
    return f"the {pulley.id}"


def capital(text: str) -> str:
    """A text with its first letter large, the rest as it stands."""
    return text[:1].upper() + text[1:]


def article(text: str) -> str:
    """``a`` or ``an`` before a text, with the text."""
    return f"{'an' if text[:1].lower() in 'aeiou' else 'a'} {text}"


def names(items: Iterable[str]) -> str:
    """Names in a row, each once: ``the crankshaft, the inlet camshaft and the exhaust camshaft``."""
    return list_words(list(dict.fromkeys(items)))


def stage_words(stages: Iterable[Stage]) -> str:
    """Stages of tightening in words: ``25 N·m, then 90°``, ``80 N·m, then loosen by 180°, then 60 N·m``."""
    said = []
    for stage in stages:
        if stage.torque_nm is not None:
            said.append(f"{plain(stage.torque_nm, 2)} N·m")
        elif stage.angle_deg is not None:
            said.append(f"turn on by {plain(stage.angle_deg)}°")
        elif stage.loosen_deg is not None:
            said.append(f"loosen by {plain(stage.loosen_deg)}°")
    return ", then ".join(said)


def fastener_words(fastener: FastenerTable) -> str:
    """A fastener's tightening in words, or that the drive file gives none."""
    return stage_words(fastener.stages) or "value of the vehicle maker (not in this drive file)"


def fastener_name(fastener: FastenerTable) -> str:
    """A fastener with how many there are and its thread: ``mount bolts (4, M10)``."""
    extra = [word for word in (str(fastener.count) if fastener.count > 1 else "", fastener.thread or "") if word]
    return f"{fastener.id} ({', '.join(extra)})" if extra else fastener.id


def fastener_remarks(fastener: FastenerTable) -> list[str]:
    """What must be said of a fastener where it is tightened: left-hand thread, single use, lubrication."""
    said = []
    if fastener.left_hand:
        said.append(f"The {fastener.id}: left-hand thread, tightens counter-clockwise.")
    if fastener.single_use:
        several = fastener.count > 1 or fastener.id.endswith("s")
        new = "new ones, they serve once" if several else "a new one, it serves once"
        said.append(f"The {fastener.id}: {new}.")
    if fastener.lubrication:
        said.append(f"The {fastener.id}: {fastener.lubrication}.")
    return said


def pin_words(pin: PinTable, drive: Drive) -> str:
    """A pin in words: ``crankshaft pin, 8 mm, into the crankshaft, at least 45 mm deep``."""
    shaft = next((shaft for shaft in drive.shafts if shaft.id == pin.shaft), None)
    where = shaft_name(drive, shaft) if shaft else f"the {pin.shaft}"
    size = f", {plain(pin.size_mm, 2)} mm" if pin.size_mm else ""
    depth = f", at least {plain(pin.min_depth_mm)} mm deep" if pin.min_depth_mm else ""
    return f"{pin.id or 'pin'}{size}, into {where}{depth}"


def pin_id(pin: PinTable) -> str:
    """The pin's id, or one made from its shaft."""
    return pin.id or f"pin of {pin.shaft}"


def requirement_limits(requirement: RequirementTable) -> str:
    """A requirement's limits in words, with temperature and force where given."""
    unit = requirement.unit or DEFAULT_UNITS.get(requirement.quantity, "")
    low, high = requirement.low, requirement.high
    if requirement.quantity == "pointer" and low is not None and high is not None:
        said = window_words(low, high, unit or "°")
    elif requirement.quantity == "cam phase" and low is not None and high is not None:
        said = f"from {phase_words(low, 2)} to {phase_words(high, 2)}"
    elif low is None and high is None:
        said = "yes or no, as the source says"
    else:
        said = range_words(low, high, unit)
    if requirement.at_n is not None:
        said += f" under {plain(requirement.at_n)} N in the middle"
    if requirement.temperature_c is not None:
        said += f", at {plain(requirement.temperature_c)} °C"
    return said


def requirement_what(requirement: RequirementTable, drive: Drive) -> str:
    """What a requirement is about: quantity and place."""
    quantity = QUANTITIES[requirement.quantity]
    if not requirement.at:
        return quantity
    if ":" in requirement.at:
        start, _, end = requirement.at.partition(":")
        return f"{quantity}, {start} to {end}"
    return f"{quantity}, {place_name(drive, requirement.at).removeprefix('the ')}"


def clock_face(angle_deg: float) -> str:
    """A clock angle [°] as a place on a clock face: ``6 o'clock``, ``half past 10``."""
    halves = round((angle_deg % 360) / 15) % 24
    hour = halves // 2 or 12
    return f"half past {hour}" if halves % 2 else f"{hour} o'clock"


def setting_position(setting_crank_deg: float | None) -> str:
    """The setting position [crank degrees after firing TDC of cylinder 1] in words."""
    if setting_crank_deg is None:
        return "the vehicle maker's setting position"
    angle = (setting_crank_deg + 360) % 720 - 360
    if angle == 0:
        return "firing TDC of cylinder 1"
    if angle == -360:
        return "TDC of cylinder 1 at overlap (one turn from its firing TDC)"
    side = "after" if angle > 0 else "before"
    return f"{plain(abs(angle))}° {side} firing TDC of cylinder 1"


def teeth_count_words(teeth: float) -> str:
    """A count of belt teeth [-], with decimals only where it is no whole number."""
    return count_words(round(teeth), "tooth", "teeth") if abs(teeth - round(teeth)) < 0.1 else f"{plain(teeth)} teeth"
