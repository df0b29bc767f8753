"""Acts that void earlier readings: belt fitted, tensioner or hub moved, crankshaft turned back, a pin as holder."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import cast

from twoturn.job.entries.read import PinIn, PinOut
from twoturn.job.entries.record import LastQuestion
from twoturn.job.entries.work import (
    AdjusterMoved,
    BeltFitted,
    Loosened,
    PartFitted,
    StepDone,
    TorqueEntry,
    Turned,
)
from twoturn.job.order import Act, Timeline
from twoturn.job.places import Belts, Places
from twoturn.plan.wording import slug
from twoturn.words.terms import way_of_sense

PUMP_TIMING_STEP = "static-pump-timing"
"""The one step of the plan at which the crankshaft may be turned back."""
SETTING_READINGS = frozenset({"pointer", "protrusion", "frequency", "tension", "deflection", "hand twist"})
MOVING_STEPS = frozenset(
    {
        "unload-tensioner",
        "belt-off",
        "pins-in",
        "fit-keyed-wheels",
        "fit-rollers-and-tensioner",
        "set-shafts",
        "thread-belt",
        "set-tensioner",
        "tighten-hubs",
        "tighten-crank-joint",
        "pins-out",
        "finish-setting",
    }
)
"""Steps whose "done" says that a belt, tensioner or hub was moved; on further belts followed by ``@`` and the belt."""

_MOVING_PARTS = {"belt", "tensioner", "idler", "roller", "sprocket", "wheel", "ram", "pump", "damper"}
_SMALL_PARTS = {"bolt", "bolts", "nut", "nuts", "screw", "screws", "gasket", "seal", "seals", "cap", "caps", "cover"}


@dataclass(frozen=True)
class Reset:
    """An act after which earlier readings count no more.

    Attributes
    ----------
    act
        The entry.
    belts
        Belts it touches.
    shafts
        Shafts it touches when only those; None when it touches everything on its belts.
    spares
        Quantities it leaves alone.
    keeps
        Quantities whose earlier readings still count; later ones need the turns by hand again.
    what
        What was done, in words.
    """

    act: Act
    belts: Belts
    what: str
    shafts: frozenset[str] | None = None
    spares: frozenset[str] = frozenset()
    keeps: frozenset[str] = frozenset()

    def touches(self, quantity: str, belts: Belts, shaft: str | None) -> bool:
        """Whether readings of a quantity at a shaft or on belts taken before count no more."""
        if quantity in self.spares:
            return False
        if self.shafts is not None:
            return shaft in self.shafts
        return bool(self.belts & belts)


def reset_of(act: Act, timeline: Timeline, places: Places) -> Reset | None:
    """The reset that an entry is, or None when it moves nothing.

    Parameters
    ----------
    act
        The entry at its place.
    timeline
        All entries: a pin taken out only ends a hold if it was in as a holder.
    places
        Who is meant by names.
    """
    entry = act.entry
    if isinstance(entry, PinOut):
        return _held(act, entry.pin, places) if _ends_hold(act, entry, timeline, places) else None
    told = _MAKERS.get(entry.kind)
    return None if told is None else told(act, places)


def tightened(entry: TorqueEntry, places: Places) -> tuple[str, ...]:
    """Ids of the fasteners an entry tightens."""
    if entry.row is not None:
        return tuple(entry.row)
    if entry.fastener == ("all",):
        return tuple(places.fasteners)
    return entry.fastener or ()


def is_belt(entry: PartFitted) -> bool:
    """Whether the part fitted is a belt that times the engine."""
    words = set(re.findall(r"[a-z]+", entry.part.lower()))
    return "belt" in words and not words & {"auxiliary", "accessory", "alternator", "cover", *_SMALL_PARTS}


def _belt(act: Act, places: Places) -> Reset | None:
    entry = cast(BeltFitted, act.entry)
    return Reset(act, places.belts_of(entry.belt), "belt fitted")


def _adjuster(act: Act, places: Places) -> Reset | None:
    entry = cast(AdjusterMoved, act.entry)
    return Reset(act, places.belts_of(entry.at), "tensioner moved")


def _loosened(act: Act, places: Places) -> Reset | None:
    entry = cast(Loosened, act.entry)
    if entry.nothing_moved:
        return None
    found = _fasteners(act, entry.fastener, "loosened", places)
    holding = [name for name in entry.fastener if name in places.tensioner_fasteners]
    if found is None and holding:  # it holds a tensioner, though the drive file does not say that it locks it
        return Reset(act, places.every_belt, f"{', '.join(holding[:3])} loosened")
    return found


def _tightened(act: Act, places: Places) -> Reset | None:
    entry = cast(TorqueEntry, act.entry)
    return None if entry.nothing_moved else _fasteners(act, tightened(entry, places), "tightened", places)


def _pin_in(act: Act, places: Places) -> Reset | None:
    entry = cast(PinIn, act.entry)
    return _held(act, entry.pin, places) if entry.use == "hold" else None


def _part(act: Act, places: Places) -> Reset | None:
    entry = cast(PartFitted, act.entry)
    words = set(re.findall(r"[a-z]+", entry.part.lower()))
    where = entry.at or entry.belt
    if is_belt(entry):
        return Reset(act, places.belts_of(where), f"{entry.part} fitted")
    known = entry.at is not None and places.is_place(entry.at) and entry.at not in places.fasteners
    if known or (words & _MOVING_PARTS and not words & _SMALL_PARTS and "auxiliary" not in words):
        return Reset(act, places.belts_of(where), f"{entry.part} fitted")
    return None


def _fasteners(act: Act, ids: tuple[str, ...], did: str, places: Places) -> Reset | None:
    belts: Belts = frozenset()
    shafts: frozenset[str] = frozenset()
    names = []
    for fastener_id in ids:
        fastener = places.fasteners.get(fastener_id)
        if fastener is None or fastener.locks is None:
            continue
        names.append(fastener_id)
        pump = _timed_pump(fastener.locks, places)
        if pump is None:
            belts |= places.belts_of(fastener.locks)
        else:
            shafts |= {pump}
    what = f"{', '.join(names[:3])} {did}"
    if belts:  # a pump's own readings hang on its belt too
        return Reset(act, belts | _belts_of_shafts(shafts, places), what)
    return Reset(act, _belts_of_shafts(shafts, places), what, shafts) if shafts else None


def _timed_pump(locks: str, places: Places) -> str | None:
    """The injection pump that turns in its flange when this is loose: only its own timing moves, not the belt."""
    shaft = places.shaft_of(locks)
    if shaft is None:
        return None
    found = places.drive.shaft(shaft)
    return shaft if found.role == "injection pump" and found.hub == "keyed" else None


def _belts_of_shafts(shafts: frozenset[str], places: Places) -> Belts:
    return frozenset(belt for shaft in shafts for belt in places.belts_of_shaft(shaft))


def _turned(act: Act, places: Places) -> Reset | None:
    entry = cast(Turned, act.entry)
    if not turned_back(entry, places):
        return None
    at_pump = (entry.done or "").split("@")[0] == PUMP_TIMING_STEP
    spares = frozenset({"pump lift"}) if at_pump else frozenset()
    keeps = SETTING_READINGS if at_pump else frozenset()
    return Reset(act, places.every_belt, "crankshaft turned back", spares=spares, keeps=keeps)


def turned_back(entry: Turned, places: Places) -> bool:
    """Whether the crankshaft was turned against its running direction."""
    running = way_of_sense(places.drive.crank_sense)
    return bool(entry.turned_back) or (entry.way is not None and entry.way != running)


def _held(act: Act, pins: tuple[str, ...], places: Places) -> Reset:
    belts = frozenset(belt for pin in places.pins_meant(pins) for belt in places.belts_of(pin))
    did = "in to hold" if isinstance(act.entry, PinIn) else "out, was in to hold"
    return Reset(act, belts, f"pin {did}")


def _ends_hold(act: Act, entry: PinOut, timeline: Timeline, places: Places) -> bool:
    """Whether a pin taken out may have been in as a holder: its last time in was, or no entry tells what it was."""
    for pin in places.pins_meant(entry.pin):
        moves = [one for one in timeline.acts if one is not act and _moves(one, pin, places)]
        earlier = [one for one in moves if not timeline.before(act, one)]
        last = [
            one
            for one in earlier
            if not any(timeline.before(one, other) and timeline.before(other, act) for other in earlier)
        ]
        if not last or any(isinstance(one.entry, PinIn) and one.entry.use == "hold" for one in last):
            return True
    return False


def _moves(act: Act, pin: str, places: Places) -> bool:
    entry = act.entry
    return isinstance(entry, PinIn | PinOut) and pin in places.pins_meant(entry.pin)


def _moved(act: Act, places: Places) -> Reset | None:
    entry = cast(LastQuestion, act.entry)
    if not entry.moved:
        return None
    known = entry.what is not None and places.is_place(entry.what)
    belts = places.belts_of(entry.what) if known else places.every_belt
    return Reset(act, belts, entry.what if entry.what and len(entry.what) < 40 else "something moved at the end")


def _step(act: Act, places: Places) -> Reset | None:
    """A step done that moves tensioner, belt or hub, even where no entry of its own says so."""
    entry = cast(StepDone, act.entry)
    base, _, suffix = (entry.step or entry.done or "").partition("@")
    if not entry.yes or base.split(".")[0] not in MOVING_STEPS:
        return None
    belts = frozenset(belt.id for belt in places.drive.belts if slug(belt.id) == suffix)
    return Reset(act, belts or places.every_belt, f"step {entry.step or entry.done} done")


_MAKERS: dict[str, Callable[[Act, Places], Reset | None]] = {
    "belt fitted": _belt,
    "part fitted": _part,
    "adjuster moved": _adjuster,
    "loosened": _loosened,
    "torque": _tightened,
    "turned": _turned,
    "pin in": _pin_in,
    "moved at end": _moved,
    "step done": _step,
}
