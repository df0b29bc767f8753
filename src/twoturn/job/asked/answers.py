"""What the entries answer already: which entry belongs to which question, what is left of it, what is still needed."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from typing import Any

from twoturn.job.asked.fields import NEW_WORDS
from twoturn.job.asked.matching import fits
from twoturn.job.asked.model import Asked, Field
from twoturn.job.asked.sheet import Sheet
from twoturn.job.entries.read import Mark, PinIn, PinOut
from twoturn.job.entries.work import TorqueEntry
from twoturn.job.entry_words import entry_words
from twoturn.job.order import Act
from twoturn.job.resets import tightened
from twoturn.words.numbers import list_words

Questions = Mapping[str, tuple[Asked, ...]]
PARTS = {"mark": "at", "torque": "fastener", "pin in": "pin", "pin out": "pin"}
"""The field that holds what a question asks of, where one entry may answer a part of it, by kind."""
CONDITIONS = frozenset({"temperature", "waited", "turned", "adjuster moved"})
"""Kinds that a check hangs on without being answered by them alone."""


def with_answers(sheet: Sheet, questions: Questions) -> dict[str, tuple[Asked, ...]]:
    """The questions with the entries that answer them, and needed only where nothing else answers their checks.

    Parameters
    ----------
    sheet
        The job.
    questions
        The questions of each step, by its id, as they are asked before anyone answers.
    """
    acts = [act for act in sheet.timeline.acts if act.number not in sheet.timeline.left_out]
    taken: dict[str, list[Act]] = {}
    places = _Places(sheet, questions)
    for act in acts:
        for one in _answered_by(act, sheet, places):
            taken.setdefault(one.id, []).append(act)
    marked = {
        step: tuple(_marked(one, taken.get(one.id, []), sheet) for one in group) for step, group in questions.items()
    }
    return _still_needed(sheet, marked)


class _Places:
    """The questions by kind, and by number of their step, for the many entries that look for theirs."""

    def __init__(self, sheet: Sheet, questions: Questions) -> None:
        self.kinds: dict[str, list[Asked]] = {}
        for group in questions.values():
            for one in group:
                self.kinds.setdefault(one.kind, []).append(one)
        self.steps: dict[int, tuple[Asked, ...]] = {}
        for name, number in sheet.numbers.items():
            self.steps.setdefault(number, questions.get(name, ()))


def _answered_by(act: Act, sheet: Sheet, places: _Places) -> Iterable[Asked]:
    """The questions that an entry answers: those of its step and round.

    Without a step it answers the first that it fits, and so does a cure: it is named where it was done.
    """
    if act.key is None or act.entry.kind == "cured":
        every = places.kinds.get(act.entry.kind, ())
        found = next((one for one in every if fits(one, act.entry, sheet)), None)
        return () if found is None else (found,)
    mine = [one for one in places.steps.get(act.key[1], ()) if one.round == act.key[0]]
    return [one for one in mine if fits(one, act.entry, sheet)]


def _marked(one: Asked, acts: list[Act], sheet: Sheet) -> Asked:
    """A question with its entries; of one that is answered in part, the rest is filled in."""
    if not acts:
        return one
    parts = next((field for field in one.fields if field.key == PARTS.get(one.kind)), None)
    left = () if parts is None else _left(parts, one, acts, sheet)
    done = replace(
        one,
        done=tuple(act.number for act in acts),
        answered=not left,
        words=tuple(entry_words(act.entry) for act in acts),
    )
    return done if not left or parts is None else _with_rest(done, parts, left, sheet)


def _with_rest(one: Asked, parts: Field, left: tuple[str, ...], sheet: Sheet) -> Asked:
    """A question whose rest stands in its field, and in its one-tap answer."""
    fields = tuple(replace(field, value=left) if field is parts else field for field in one.fields)
    values = {**one.quick_values, parts.key: left}
    if one.kind == "pin out" and "count" in values:
        values["count"] = str(len(parts.choices))
    quick = one.quick
    if quick is not None and "new" in values:
        tables = sheet.places.fasteners
        once = [name for name in left if name in tables and tables[name].single_use]
        quick = quick.partition(NEW_WORDS)[0] + (f"{NEW_WORDS}{list_words(once)}" if once else "")
        values = values if once else {key: value for key, value in values.items() if key != "new"}
    return replace(one, fields=fields, quick=quick, quick_values=values)


def _left(parts: Field, one: Asked, acts: list[Act], sheet: Sheet) -> tuple[str, ...]:
    """What of a question no entry says anything of."""
    cover = COVERS[one.kind]
    told = {name for act in acts for name in cover(act.entry, sheet)}
    return tuple(choice.value for choice in parts.choices if not {choice.value, "all"} & told)


def _shafts_read(entry: Mark, sheet: Sheet) -> Iterable[str]:
    """Wheels whose marks an entry reads, by every name of their shaft."""
    shafts = {sheet.places.shaft_of(name) for name in entry.at}
    same = [pulley.id for pulley, _ in sheet.places.pulleys.values() if pulley.shaft in shafts]
    return {*entry.at, *same, *(shaft for shaft in shafts if shaft is not None)}


def _pins(entry: PinIn | PinOut, sheet: Sheet) -> Iterable[str]:
    return sheet.places.pins_meant(entry.pin)


def _fasteners(entry: TorqueEntry, sheet: Sheet) -> Iterable[str]:
    return tightened(entry, sheet.places)


COVERS: dict[str, Callable[[Any, Sheet], Iterable[str]]] = {
    "mark": _shafts_read,
    "torque": _fasteners,
    "pin in": _pins,
    "pin out": _pins,
}


# what is still needed ------------------------------------------------------------------------------------------------
def _still_needed(sheet: Sheet, questions: dict[str, tuple[Asked, ...]]) -> dict[str, tuple[Asked, ...]]:
    """The questions, needed only where no other one answers their checks: at the same step, or later in the work."""
    order = {step.id: number for number, step in enumerate(sheet.plan.steps)}
    every = [one for group in questions.values() for one in group if one.kind not in CONDITIONS]
    given = [(order[one.step], one.id, _with_others(one.checks, sheet)) for one in every if one.answered]
    out = {}
    for step, group in questions.items():
        out[step] = tuple(_need(one, order[step], given) for one in group)
    return out


def _need(one: Asked, at: int, given: list[tuple[int, str, frozenset[str]]]) -> Asked:
    """A question that nobody answered and whose every check another one answers is needed no more."""
    if not one.needed or one.answered or not one.checks or one.kind in CONDITIONS:
        return one
    told = {check for place, name, checks in given if place >= at and name != one.id for check in checks}
    return replace(one, needed=False) if set(one.checks) <= told else one


def _with_others(checks: tuple[str, ...], sheet: Sheet) -> frozenset[str]:
    """Checks, and those that the drive file lets them stand for."""
    groups = {need.alternatives for need in sheet.needs if need.id in checks and need.alternatives is not None}
    return frozenset({*checks, *(need.id for need in sheet.needs if need.alternatives in groups)})
