"""An entry of the record in words, as lists of entries and the proof sheet print it."""

from __future__ import annotations

import math
from datetime import date, datetime
from typing import Any

from pydantic import BaseModel

from twoturn.job.entries.base import EntryBase
from twoturn.job.entries.recordings import CaptureReading, PluckReading
from twoturn.quantity.reading import Reading
from twoturn.quantity.show import show
from twoturn.words.numbers import count_words

SHARED = ("kind", "id", "done", "pass_", "entered", "by", "replaces")
LONGEST = 300


def entry_row(number: int, entry: EntryBase) -> dict[str, Any]:
    """Number, what was entered, at which step, by whom and when, as texts."""
    return {
        "number": number,
        "words": entry_words(entry),
        "done": (entry.done or "") + (f" (round {entry.pass_})" if entry.pass_ > 1 else ""),
        "by": entry.by or "",
        "typed": entry.entered.strftime("%Y-%m-%d %H:%M") if entry.entered else "",
    }


def entry_words(entry: EntryBase) -> str:
    """Kind and contents of an entry in one line, as they were entered."""
    parts = []
    for name, info in type(entry).model_fields.items():
        value = getattr(entry, name)
        if name in SHARED or value is None or value == info.default or value in ((), {}):
            continue
        if name in ("sha256", "reader"):
            continue
        told = reading_words(value)
        parts.append(told if told is not None else _part(info.alias or name, value))
    replaced = [] if entry.replaces is None else [f"replaces entry {entry.replaces}"]
    said = f"{entry.kind}: " + "; ".join([*parts, *replaced]) if parts or replaced else entry.kind
    return said if len(said) <= LONGEST else said[: LONGEST - 1] + "…"


def reading_words(value: Any) -> str | None:
    """What was read from a recording, in words and with the digits that its uncertainty supports; None for others."""
    if isinstance(value, PluckReading):
        parts = [show(Reading(value.frequency_hz, value.u_hz, "Hz", value.dof or math.inf))]
        if value.tension_n is not None and value.u_n is not None:
            parts.append(show(Reading(value.tension_n, value.u_n, "N", value.tension_dof or math.inf)))
        return f"read {', '.join([*parts, count_words(value.plucks, 'pluck')])}"
    if isinstance(value, CaptureReading):
        edges = [
            f"{edge.shaft} {edge.edge} {show(Reading(edge.angle_deg, edge.u_deg, '°', edge.dof or math.inf))}"
            for edge in value.edges
        ]
        wheel = [f"crank wheel {value.wheel}"] if value.wheel else []
        speed = [f"{value.rpm:.0f} rpm"] if value.rpm else []
        return f"read {', '.join([*edges, *wheel, *speed])}"
    return None


def _part(key: str, value: Any) -> str:
    if key == "present" and isinstance(value, bool):
        return "present" if value else "not present"
    name = key.rstrip("_").replace("_", " ")
    for ending, unit in (
        (" nm", "N·m"),
        (" mm", "mm"),
        (" deg", "°"),
        (" n", "N"),
        (" hz", "Hz"),
        (" c", "°C"),
    ):
        if name.endswith(ending):
            return f"{name.removesuffix(ending)} {_value(value)}{'' if unit == '°' else ' '}{unit}"
    return name if value is True else f"{name} {_value(value)}"


def _value(value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:.6g}"
    if isinstance(value, datetime):
        return value.strftime("%Y-%m-%d %H:%M")
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, BaseModel):
        inner = {key: getattr(value, key) for key in type(value).model_fields if key != "uncertainties"}
        return ", ".join(_part(key, item) for key, item in inner.items() if item is not None)
    if isinstance(value, dict):
        return ", ".join(f"{key}: {_value(item)}" for key, item in value.items())
    if isinstance(value, tuple | list):
        return ", ".join(_value(item) for item in value)
    return str(value)
