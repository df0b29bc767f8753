"""What helps to do a step, in few words: values, direction, tools."""

from __future__ import annotations

from collections.abc import Iterator

from twoturn.job.asked.model import Asked
from twoturn.job.asked.sheet import Sheet
from twoturn.plan.acts import tightening_way
from twoturn.plan.model import Step
from twoturn.words.numbers import list_words

MOST = 3
"""How many acts or values are told at most [-]."""


def help_words(step: Step, one: Asked, sheet: Sheet) -> tuple[str, ...]:
    """What helps to do what a question asks.

    Parameters
    ----------
    step, one
        The step, and its question.
    sheet
        The job.
    """
    told = _TELLERS.get(one.kind, _acts)
    return tuple(dict.fromkeys([*told(step, one, sheet), *_tools(step, one)]))


def _torques(_step: Step, one: Asked, _sheet: Sheet) -> Iterator[str]:
    """Every fastener that is left, with its value."""
    row = next((field for field in one.fields if field.key == "fastener"), None)
    if row is not None:
        left = row.value or ()
        yield from (choice.label for choice in row.choices if choice.value in left)


def _tools(step: Step, one: Asked) -> Iterator[str]:
    """The torque tools that are filled in, or the tools of the step."""
    field = next((field for field in one.fields if field.key == "tool"), None)
    if one.kind == "torque" and field is not None and isinstance(field.value, tuple):
        yield f"{'Tools' if len(field.value) > 1 else 'Tool'} {list_words(list(field.value))}"
    elif step.tools and one.kind not in ("tool", "temperature", "waited", "moved at end"):
        yield f"With: {', '.join(step.tools)}"


def _tensioner(step: Step, one: Asked, sheet: Sheet) -> Iterator[str]:
    """The acts, and which way it tightens where none of them says a direction: one of them may ease it back."""
    acts = step.acts[: MOST + 1]
    found = sheet.places.tensioners.get(str(one.fixed.get("at", "")))
    way = tightening_way(found[0]) if found is not None else ""
    if way and not any("clock" in act for act in step.acts):
        yield f"Tightens {way}"
    yield from acts


def _turns(step: Step, _one: Asked, _sheet: Sheet) -> Iterator[str]:
    yield from step.acts[:1]
    if step.precondition:
        yield step.precondition


def _asked(step: Step, one: Asked, _sheet: Sheet) -> Iterator[str]:
    """The question by itself, and why it is asked."""
    yield one.title
    if one.why:
        yield one.why
    if one.kind in ("pointer", "pluck", "deflection", "twist", "protrusion", "measured", "pump lift"):
        yield from ([step.precondition] if step.precondition else [])


def _wait(step: Step, one: Asked, _sheet: Sheet) -> Iterator[str]:
    minutes = one.filled.get("minutes")
    yield f"Wait {minutes} min" if minutes else step.precondition or step.title
    if one.why:
        yield one.why


def _pins(step: Step, one: Asked, _sheet: Sheet) -> Iterator[str]:
    """What is done with each pin that is asked for."""
    named = [choice.value for field in one.fields if field.key == "pin" for choice in field.choices]
    names = [name.lower() for name in [*named, str(one.fixed.get("pin", ""))] if name]
    yield one.title
    yield from (act for act in step.acts if any(act.lower().startswith(name) for name in names))


def _acts(step: Step, _one: Asked, _sheet: Sheet) -> Iterator[str]:
    """The first act, and the values to reach."""
    yield from step.acts[:1]
    yield from (f"{value.what}: {value.value}" for value in step.values[:MOST])


def _every_act(step: Step, _one: Asked, _sheet: Sheet) -> Iterator[str]:
    """The acts of a step that one tap says is done."""
    yield from step.acts[:MOST] or (step.title,)


_TELLERS = {
    "step done": _every_act,
    "torque": _torques,
    "adjuster moved": _tensioner,
    "turned": _turns,
    "waited": _wait,
    "pin in": _pins,
    **dict.fromkeys(
        (
            "tool",
            "temperature",
            "pointer",
            "pluck",
            "deflection",
            "twist",
            "protrusion",
            "measured",
            "pump lift",
            "moved at end",
        ),
        _asked,
    ),
}
