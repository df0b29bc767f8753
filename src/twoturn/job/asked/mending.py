"""Putting an entry right: corrected by its question with what it says filled in, struck out, or left out."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date
from typing import Any

from twoturn.drive.parts import Drive
from twoturn.job.asked.matching import fits
from twoturn.job.asked.model import Asked, Field, Given, Known
from twoturn.job.asked.sheet import Sheet
from twoturn.job.asked.typed_numbers import clear_number, stages_text
from twoturn.job.entries.base import EntryBase
from twoturn.job.entries.work import TorqueEntry
from twoturn.job.evidence import is_reading
from twoturn.plan.model import Plan

REASON = Field("reason", "Reason", "text")
ALIASES = {"class": "class_", "except": "except_", "pass": "pass_"}


def correcting(
    drive: Drive,
    plan: Plan,
    entries: Sequence[EntryBase],
    asked: Mapping[str, tuple[Asked, ...]],
    number: int,
) -> Asked | None:
    """The question that an entry answered, filled in with what the entry says; its answer corrects the entry.

    Parameters
    ----------
    drive, plan, entries
        The drive, the plan of this job, and the entries so far.
    asked
        Its questions, by step.
    number
        Number of the entry, counted from 1 [-].

    Returns
    -------
    Asked or None
        Its answer, typed or by one tap, stands where the entry stood: at its step and in its round. None where no
        question asks for it.
    """
    sheet = Sheet(drive, plan, tuple(entries), Known())
    entry = entries[number - 1]
    every = [one for group in asked.values() for one in group if one.kind == entry.kind]
    mine = [one for one in every if number in one.done] or [
        one for one in every if one.step == entry.done and fits(one, entry, sheet)
    ]
    if not mine:
        return None
    fixed = {key: value for key, value in mine[0].fixed.items() if key not in ("done", "pass")}
    fixed |= {"replaces": number} | ({"done": entry.done} if entry.done is not None else {})
    fixed |= {"pass": entry.pass_} if entry.pass_ > 1 else {}
    return replace(
        mine[0],
        fixed=fixed,
        fields=tuple(_filled(field, entry) for field in mine[0].fields),
        more=tuple(_filled(field, entry) for field in mine[0].more),
        needed=False,
        done=(),
        answered=False,
        words=(),
    )


def said_by(asked: Asked, entry: EntryBase) -> dict[str, Given]:
    """What an entry says in the fields of the question that it answers, by key; blank fields are not among them."""
    texts = {one.key: _text(_held(one, entry), one) for one in asked.every_field}
    return {key: text for key, text in texts.items() if text is not None}


def striking(number: int, step: str = "") -> Asked:
    """The question that strikes an entry out; both stay on record."""
    fixed = {"kind": "struck out", "replaces": number}
    why = "Made by mistake. Both stay on record."
    return Asked(f"struck-out/{number}", step, "struck out", f"Strike out entry {number}", fixed, (REASON,), why=why)


def leaving_out(number: int, entries: Sequence[EntryBase], step: str = "") -> Asked | None:
    """The question that leaves a reading out; None where the entry is no reading: what was done stays."""
    if not is_reading(entries[number - 1]):
        return None
    fixed = {"kind": "left out", "entry": number}
    why = "The sheet lists it with the reason."
    title = f"Leave out the reading of entry {number}"
    return Asked(f"left-out/{number}", step, "left out", title, fixed, (REASON,), why=why)


def overriding(check_id: str, title: str, step: str = "") -> Asked:
    """The question by which a lead hands over in spite of a check; the verdict stays as it is."""
    fixed = {"kind": "override", "check": check_id}
    why = "The verdict stays as it is; the sheet prints who and why."
    return Asked(f"override/{check_id}", step, "override", f"Hand over in spite of: {title}", fixed, (REASON,), why=why)


def _filled(field: Field, entry: EntryBase) -> Field:
    """A field with what an entry says in it."""
    return replace(field, value=_text(_held(field, entry), field), from_where="")


def _held(field: Field, entry: EntryBase) -> Any:
    table, _, inner = field.key.partition(".")
    held = getattr(entry, ALIASES.get(table, table), None)
    if isinstance(entry, TorqueEntry) and table == "fastener" and entry.row is not None:
        return None
    if not inner:
        return held
    return held.get(inner) if isinstance(held, Mapping) else getattr(held, inner, None)


def _text(held: Any, field: Field) -> Given:
    """A value of an entry as it would be typed."""
    if field.shape == "stages":
        return stages_text(held) if held else None
    if field.shape in ("many", "torque row"):
        return (held,) if isinstance(held, str) else tuple(held or ()) or None
    if held is None or (held is False and field.shape == "tick"):
        return None
    if isinstance(held, bool):
        return "yes" if held else "no"
    if isinstance(held, float):
        return clear_number(held)
    if isinstance(held, date):
        return held.isoformat()
    return str(held)
