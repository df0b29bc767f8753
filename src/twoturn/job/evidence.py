"""From entries to readings: what was read, where, with which uncertainty."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import Any, Final

from twoturn.job.entries.base import EntryBase
from twoturn.job.entries.read import (
    MARK_WORDS,
    Deflection,
    Gauged,
    Mark,
    Measured,
    PinIn,
    Pointer,
    Protrusion,
    PumpLift,
    Twist,
)
from twoturn.job.entries.recordings import Pluck
from twoturn.job.order import Act
from twoturn.job.places import Belts, Places
from twoturn.job.state import Touched
from twoturn.quantity.reading import Reading

U_MARK_TEETH: Final = 0.1
"""Standard uncertainty [teeth] of a mark judged by eye in quarters of a tooth (common practice, no source)."""
POINTER_WIDTH_DEG: Final = 4.6
"""One pointer width [°]: 2 mm at 25 mm radius (common practice, no source)."""
U_POINTER_DEG: Final = 1.15
"""Standard uncertainty [°] of a pointer judged by eye: ± 2.3° at 25 mm radius."""
INSTRUMENT_U_MM: Final[dict[str, float]] = {
    "rule": 0.3,
    "calliper": 0.05,
    "micrometer": 0.01,
    "dial gauge": 0.01,
    "feeler gauge": 0.03,
    "depth gauge": 0.1,
    "belt gauge": 0.1,
}
"""Standard uncertainty [mm] of a reading with a usual instrument (common practice, no source)."""
USUAL_INSTRUMENT: Final[dict[str, str]] = {
    "deflection": "rule",
    "pump lift": "dial gauge",
    "protrusion": "calliper",
    "pin depth": "rule",
}
"""What is taken where an entry names neither instrument nor uncertainty."""


@dataclass(frozen=True)
class Evidence:
    """One reading out of an entry.

    Attributes
    ----------
    act
        The entry it came from.
    quantity
        What was read.
    place
        Where, as the entry says; None where it does not.
    shaft
        The shaft it belongs to, where it belongs to one.
    span
        The two pulleys of its span, where it belongs to one.
    belts
        The belts it depends on.
    value
        The number with its uncertainty; None for a plain yes or no.
    yes
        A plain yes or no; None for a number.
    either_sign
        The number tells how far off, not which way.
    force_n
        Force of a deflection [N]; None where none is told.
    u_told
        False where a number was entered without saying how sure it is.
    shared_u
        True where several readings would share most of their uncertainty (one gauge, one belt mass), so that it does
        not average out.
    doubts
        Sentences on what makes the reading less sure.
    """

    act: Act
    quantity: str
    place: str | None
    belts: Belts
    shaft: str | None = None
    span: frozenset[str] | None = None
    value: Reading | None = None
    yes: bool | None = None
    either_sign: bool = False
    force_n: float | None = None
    u_told: bool = True
    shared_u: bool = False
    doubts: tuple[str, ...] = ()

    @property
    def touched(self) -> Touched:
        """What the reading depends on."""
        return Touched(self.quantity, self.belts, self.shaft)


def evidence_of(act: Act, places: Places) -> tuple[Evidence, ...]:
    """Every reading that an entry holds.

    Parameters
    ----------
    act
        The entry at its place.
    places
        Who is meant by names.
    """
    reader = _READERS.get(act.entry.kind)
    return () if reader is None else tuple(reader(act, act.entry, places))


def _marks(act: Act, entry: Mark, places: Places) -> Iterator[Evidence]:
    shafts: list[str] = []
    for name in entry.at:
        shafts.extend(_all_marked(places) if name == "all" else [places.shaft_of(name) or name])
    for shaft in dict.fromkeys(shafts):
        named = next((name for name in entry.at if places.shaft_of(name) == shaft), shaft)
        teeth = _mark_teeth(entry, named, places)
        if teeth is None:
            continue
        size = -teeth if entry.way == "early" else teeth
        value = Reading(size, U_MARK_TEETH, "teeth", source="mark by eye")
        yield Evidence(
            act,
            "mark",
            named,
            places.belts_of(named),
            shaft,
            value=value,
            either_sign=entry.way is None and teeth > 0,
        )


def _all_marked(places: Places) -> tuple[str, ...]:
    marked = places.marked_shafts()
    phased = {shaft.id for shaft in places.drive.shafts if shaft.phased}
    on_belts = {pulley.shaft for pulley, _ in places.pulleys.values() if pulley.toothed}
    return tuple(shaft for shaft in marked if shaft in phased) or tuple(sorted(phased & on_belts))


def _mark_teeth(entry: Mark, name: str, places: Places) -> float | None:
    if entry.reads is not None:
        return MARK_WORDS[entry.reads]
    if entry.teeth is not None:
        return entry.teeth
    found = places.pulley_of(name, marked=True)
    if found is None:
        return None
    pulley, belt = found
    if entry.off_deg is not None and pulley.teeth:
        return entry.off_deg / 360 * pulley.teeth
    if entry.off_mm is not None and belt.table.pitch_mm:
        return entry.off_mm / belt.table.pitch_mm
    return None


def _pointer(act: Act, entry: Pointer, places: Places) -> Iterator[Evidence]:
    found = places.tensioner_of(entry.at)
    place = found[0].pulley if found else entry.at
    belts = places.belts_of(place)
    if entry.reads in ("in the window", "outside the window"):
        yield Evidence(act, "pointer", place, belts, yes=entry.reads == "in the window")
        return
    sign = {"in the notch": 0.0, "short": -1.0, "past": 1.0}[entry.reads]
    if entry.off_mm is not None:
        value = Reading(sign * entry.off_mm, INSTRUMENT_U_MM["rule"], "mm", source="pointer by eye")
    else:
        off = entry.off_deg if entry.off_deg is not None else (entry.widths or 0.0) * POINTER_WIDTH_DEG
        value = Reading(sign * off, U_POINTER_DEG, "°", source="pointer by eye")
    yield Evidence(act, "pointer", place, belts, value=value)


def _pins(act: Act, entry: PinIn, places: Places) -> Iterator[Evidence]:
    if entry.use != "check":
        return
    for pin in places.pins_meant(entry.pin):
        table = places.pins.get(pin)
        shaft = table.shaft if table else places.shaft_of(pin)
        belts = places.belts_of_shaft(shaft) if shaft else places.every_belt
        yield Evidence(act, "pin", pin, belts, shaft, yes=entry.freely)
        if entry.depth_mm is not None:
            value = Reading(entry.depth_mm, INSTRUMENT_U_MM["rule"], "mm", source="rule")
            yield Evidence(act, "pin depth", pin, belts, shaft, value=value)


def _gauged(quantity: str, number: float, act: Act, entry: Gauged, places: Places) -> Evidence:
    instrument = entry.instrument or USUAL_INSTRUMENT[quantity]
    u = entry.u_mm or INSTRUMENT_U_MM.get(instrument, math.nan)  # no gauge is sure to the last digit: 0 tells nothing
    assumed = " (assumed)" if entry.instrument is None and not entry.u_mm else ""
    value = None if math.isnan(u) else Reading(number, u, "mm", source=instrument + assumed)
    value = value or Reading(number, INSTRUMENT_U_MM["rule"], "mm", source=f"{instrument}, taken like a rule")
    place, shaft, span, belts = where(entry.at, places)
    force = entry.force_n if isinstance(entry, Deflection) else None
    return Evidence(act, quantity, place, belts, shaft, span, value, force_n=force, shared_u=not entry.u_mm)


def where(at: str | None, places: Places) -> tuple[str | None, str | None, frozenset[str] | None, Belts]:
    """A place as named, its shaft, its span and its belts."""
    span = places.span(at) if at else None
    shaft = places.shaft_of(at) if at else None
    if shaft is None and at in places.pins:
        shaft = places.pins[at].shaft
    return at, shaft, span[0] if span else None, places.belts_of(at)


def _deflection(act: Act, entry: Deflection, places: Places) -> Iterator[Evidence]:
    yield _gauged("deflection", entry.deflection_mm, act, entry, places)


def _pump_lift(act: Act, entry: PumpLift, places: Places) -> Iterator[Evidence]:
    found = _gauged("pump lift", entry.lift_mm, act, entry, places)
    pumps = [shaft.id for shaft in places.drive.shafts if shaft.role == "injection pump"]
    if found.shaft is None and len(pumps) == 1:
        found = replace(found, place=pumps[0], belts=places.belts_of_shaft(pumps[0]), shaft=pumps[0])
    yield found


def _protrusion(act: Act, entry: Protrusion, places: Places) -> Iterator[Evidence]:
    found = _gauged("protrusion", entry.protrusion_mm, act, entry, places)
    tensioner = places.tensioner_of(entry.at)
    place = tensioner[0].pulley if tensioner else entry.at
    yield replace(found, place=place, belts=places.belts_of(place), shaft=None, span=None)


def _twist(act: Act, entry: Twist, places: Places) -> Iterator[Evidence]:
    place, shaft, span, belts = where(entry.at, places)
    yield Evidence(act, "hand twist", place, belts, shaft, span, yes=entry.as_prescribed)


def _measured(act: Act, entry: Measured, places: Places) -> Iterator[Evidence]:
    place, shaft, span, belts = where(entry.at, places)
    if entry.as_prescribed is not None:
        yield Evidence(act, entry.quantity, place, belts, shaft, span, yes=entry.as_prescribed)
        return
    number, unit = entry.number
    usual = INSTRUMENT_U_MM.get(entry.instrument or "")
    u = entry.standard_u or (usual if unit == "mm" else None)
    value = Reading(number, u or 0.0, unit, entry.dof or math.inf, source=entry.instrument or "measured")
    told, shared = u is not None, not entry.standard_u
    yield Evidence(act, entry.quantity, place, belts, shaft, span, value, u_told=told, shared_u=shared)


def _pluck(act: Act, entry: Pluck, places: Places) -> Iterator[Evidence]:
    place, shaft, span, belts = where(entry.span, places)
    read = entry.reading
    if read is None:
        return
    told = read.u_hz > 0
    note = Reading(read.frequency_hz, read.u_hz, "Hz", read.dof or math.inf, source=entry.file)
    yield Evidence(act, "frequency", place, belts, shaft, span, note, u_told=told, doubts=read.doubts)
    if read.tension_n is not None and read.u_n is not None:
        tension = Reading(read.tension_n, read.u_n, "N", read.tension_dof or math.inf, source=entry.file)
        yield Evidence(act, "tension", place, belts, shaft, span, tension, shared_u=True, doubts=read.doubts)


_READERS: dict[str, Callable[[Act, Any, Places], Iterator[Evidence]]] = {
    "mark": _marks,
    "pointer": _pointer,
    "pin in": _pins,
    "deflection": _deflection,
    "twist": _twist,
    "pump lift": _pump_lift,
    "protrusion": _protrusion,
    "measured": _measured,
    "pluck": _pluck,
}
READING_KINDS: Final = frozenset({*_READERS, "capture"})
"""Kinds of entries that hold readings: only these can be left out."""


def is_reading(entry: EntryBase) -> bool:
    """Whether an entry holds a reading (what was done is no reading)."""
    return entry.kind in READING_KINDS
