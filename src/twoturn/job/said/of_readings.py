"""What was read, as sentences: marks, pointers, pins, spans, lifts, anything measured."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from twoturn.job.entries.read import (
    Deflection,
    Gauged,
    Mark,
    Measured,
    PinIn,
    PinOut,
    Pointer,
    Protrusion,
    PumpLift,
    Twist,
)
from twoturn.job.said.words import amount, headed, joined, named, place
from twoturn.plan.wording import capital
from twoturn.words.numbers import SMALL, count_words, plain, with_unit
from twoturn.words.terms import QUANTITIES

PINS = "all pins"
TEETH = {"quarter": "a quarter of a tooth", "half": "half a tooth", "one": "one tooth"}


def mark(entry: Mark) -> str:
    """``Camshaft mark: one tooth late``."""
    every = entry.at == ("all",)
    head = "all marks" if every else f"{named(entry.at, '')} mark{'s' if len(entry.at) > 1 else ''}"
    return headed(_found(entry, head), _mark_reads(entry))


def _mark_reads(entry: Mark) -> str:
    if entry.reads == "on" or 0 in (entry.teeth, entry.off_mm, entry.off_deg):
        return "on"
    if entry.reads is not None:
        off = TEETH[entry.reads]
    elif entry.teeth is not None:
        off = _count(entry.teeth, "tooth", "teeth")
    else:
        off = amount(entry.off_mm, "mm") or amount(entry.off_deg, "°")
    return f"{off} {entry.way or 'off'}"


def _count(number: float, one: str, many: str) -> str:
    return count_words(int(number), one, many) if number == int(number) else f"{plain(number, 2)} {many}"


def pointer(entry: Pointer) -> str:
    """``Pointer of roller: two pointer widths past the notch``."""
    said: str = entry.reads
    if said in ("short", "past"):
        widths = "" if entry.widths is None else _count(entry.widths, "pointer width", "pointer widths")
        far = widths or amount(entry.off_deg, "°") or amount(entry.off_mm, "mm")
        said = f"{far} {'short of' if said == 'short' else 'past'} the notch"
    return headed(_found(entry, f"pointer{place(entry.at, ' of ')}"), said)


def pin_in(entry: PinIn) -> str:
    """``Pin check: crankshaft pin goes in by hand``; ``Pins to hold: all pins in``."""
    pins, depth = named(entry.pin, PINS), amount(entry.depth_mm, "mm", after=" deep")
    several = len(entry.pin) > 1 or entry.pin == ("all",)
    if entry.use == "hold":
        how = f"{pins} in{'' if entry.freely else ', not by hand'}"
        return headed(_found(entry, "pins to hold" if several else "pin to hold"), how, depth)
    verb = ("go" if several else "goes") if entry.freely else f"{'do' if several else 'does'} not go"
    return headed(_found(entry, "pin check"), f"{pins} {verb} in by hand", depth)


def pin_out(entry: PinOut) -> str:
    """``Pins out: all pins, two on the bench``."""
    count = entry.count
    counted = None if count is None else f"{SMALL[count] if count < len(SMALL) else count} on the bench"
    several = len(entry.pin) > 1 or entry.pin == ("all",)
    return headed("pins out" if several else "pin out", named(entry.pin, PINS), counted)


def deflection(entry: Deflection) -> str:
    """``Span roller to camshaft gives 3.4 mm under 20 N``."""
    given = f"gives {amount(entry.deflection_mm, 'mm')}{amount(entry.force_n, 'N', before=' under ')}"
    found = "as found" if entry.as_found else None
    return capital(joined(f"{place(entry.at) or 'the span'} {given}", *_gauge(entry), found))


def twist(entry: Twist) -> str:
    """``Twist of span roller to camshaft by hand: as prescribed``."""
    said = "as prescribed" if entry.as_prescribed else "not as prescribed"
    return headed(_found(entry, f"twist{place(entry.at, ' of ')} by hand"), said)


def pump_lift(entry: PumpLift) -> str:
    """``Pump lift, injection pump: 0.92 mm``."""
    return headed(_found(entry, f"pump lift{place(entry.at, ', ')}"), amount(entry.lift_mm, "mm"), *_gauge(entry))


def protrusion(entry: Protrusion) -> str:
    """``Ram standing out, tensioner: 8.2 mm``."""
    head = f"{QUANTITIES['protrusion']}{place(entry.at, ', ')}"
    return headed(_found(entry, head), amount(entry.protrusion_mm, "mm"), *_gauge(entry))


def _gauge(entry: Gauged) -> tuple[str | None, str]:
    return entry.instrument, amount(entry.u_mm, "mm", before="u ")


def measured(entry: Measured) -> str:
    """``Belt width: 25.3 mm``."""
    head = _found(entry, f"{QUANTITIES[entry.quantity]}{place(entry.at, ', ')}")
    if entry.value is None:
        return headed(head, "as prescribed" if entry.as_prescribed else "not as prescribed", entry.instrument)
    value, unit = entry.number
    u = None if entry.standard_u is None else f"u {with_unit(entry.standard_u, unit, 4)}"
    return headed(head, with_unit(value, unit, 4), entry.instrument, u)


def _found(entry: Any, head: str) -> str:
    return joined(head, "as found" if entry.as_found else None)


SENTENCES: dict[str, Callable[[Any], str]] = {
    "mark": mark,
    "pointer": pointer,
    "pin in": pin_in,
    "pin out": pin_out,
    "deflection": deflection,
    "twist": twist,
    "pump lift": pump_lift,
    "protrusion": protrusion,
    "measured": measured,
}
