"""An entry of the record in words, as lists of entries and the proof sheet print it."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime
from typing import Any

from pydantic import BaseModel

from twoturn.job.entries.base import EntryBase
from twoturn.job.entries.record import Struck
from twoturn.job.entries.work import StepDone
from twoturn.job.said import of_readings, of_record, of_recordings, of_work
from twoturn.job.said.words import headed

SHARED = ("kind", "id", "done", "pass_", "entered", "by", "replaces", "note")
LONGEST = 300
SENTENCES = of_record.SENTENCES | of_work.SENTENCES | of_readings.SENTENCES | of_recordings.SENTENCES
NO_STEPS: Mapping[str, str] = {}


def entry_row(number: int, entry: EntryBase, steps: Mapping[str, str] = NO_STEPS) -> dict[str, Any]:
    """Number, what was entered, at which step, by whom and when, as texts.

    Parameters
    ----------
    number, entry
        The entry and its number.
    steps
        Titles of the steps of the plan, by id; a step that is not among them is named by its id.
    """
    return {
        "number": number,
        "words": entry_words(entry, steps),
        "done": steps.get(entry.done or "", entry.done or "") + (f" (round {entry.pass_})" if entry.pass_ > 1 else ""),
        "by": entry.by or "",
        "typed": entry.entered.strftime("%Y-%m-%d %H:%M") if entry.entered else "",
    }


def entry_words(entry: EntryBase, steps: Mapping[str, str] = NO_STEPS) -> str:
    """What an entry says, as a sentence on one line; its note behind it, and the entry that it corrects."""
    if isinstance(entry, StepDone):
        said = _step_done(entry, steps)
    elif entry.kind in SENTENCES:
        said = SENTENCES[entry.kind](entry)
    else:
        said = _by_keys(entry)
    if entry.note:
        said = f"{said.rstrip('.')}. Note: {entry.note}"
    if entry.replaces is not None and not isinstance(entry, Struck):
        said += f" (corrects entry {entry.replaces})"
    return said if len(said) <= LONGEST else said[: LONGEST - 1] + "…"


def _step_done(entry: StepDone, steps: Mapping[str, str]) -> str:
    """``Done: Drain the coolant``; the step is not named again where the entry stands at it and no title is known."""
    step = entry.step or entry.done or ""
    title = steps.get(step, "" if step == entry.done else step)
    return headed("done" if entry.yes else "left", title) if title else "Step done" if entry.yes else "Step left"


def _by_keys(entry: EntryBase) -> str:
    """Kind and contents by their keys, for kinds without a sentence of their own."""
    parts = []
    for name, info in type(entry).model_fields.items():
        value = getattr(entry, name)
        if name in SHARED or value is None or value == info.default or value in ((), {}):
            continue
        parts.append(_part(info.alias or name, value))
    return headed(entry.kind, "; ".join(parts))


def _part(key: str, value: Any) -> str:
    name = key.rstrip("_").replace("_", " ")
    for ending, unit in ((" deg", "°"), (" c", " °C")):
        if name.endswith(ending):
            return f"{name.removesuffix(ending)} {_value(value)}{unit}"
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
        inner = {key: getattr(value, key) for key in type(value).model_fields}
        return ", ".join(_part(key, item) for key, item in inner.items() if item is not None)
    if isinstance(value, tuple | list):
        return ", ".join(_value(item) for item in value)
    return str(value)
