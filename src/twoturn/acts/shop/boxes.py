"""The boxes of the paper plan: the questions of a job that one tick or a few squares answer, in the printed order."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from twoturn.acts.shop.job_view import JobView
from twoturn.job.asked.model import Asked, Field
from twoturn.plan import Plan
from twoturn.plan.model import Step
from twoturn.report.plan_pdf import stage_heading
from twoturn.words.terms import STAGES

NUMBERS = ("number", "whole")
WRITTEN = (*NUMBERS, "text", "date")
"""Shapes of a field that a square or a line on paper holds."""
ALSO = {"remark": "measured", "pin in": "measured"}
"""A kind of entry, and the kind under which the plan prints a number that becomes such an entry."""
BY_THEMSELVES = frozenset({"signed", "moved at end", "decided", "vehicle", "temperature", "finding"})
"""Kinds that are ticked one by one: a signature, a decision, or one of several answers."""


@dataclass(frozen=True)
class Square:
    """A square or a line of the paper, to be typed in.

    Attributes
    ----------
    key
        Its name within the box: the field's key, with ``.2`` behind it for a second reading.
    field
        What is typed there.
    label
        The words beside it.
    reading
        Which reading of the question it is, from 1.
    """

    key: str
    field: Field
    label: str
    reading: int = 1

    @property
    def is_number(self) -> bool:
        """Whether a number is typed there."""
        return self.field.shape in NUMBERS or bool(self.field.unit)


@dataclass(frozen=True)
class Box:
    """A question as a box of the paper.

    Attributes
    ----------
    asked
        The question; where it has a one-tap answer, ticking gives that.
    number
        Number of its step, as printed.
    step
        Its step.
    part
        What stands behind the name of the stage where it is that of a further belt; else empty.
    squares
        What may be typed.
    alike
        Printed as a tick that says only "done as the plan says": may be ticked together with the others of its part.
    """

    asked: Asked
    number: int
    step: Step
    part: str
    squares: tuple[Square, ...]
    alike: bool

    @property
    def id(self) -> str:
        """Id of its question."""
        return self.asked.id

    @property
    def title(self) -> str:
        """The words of the box; those of a signature that signs some."""
        words = self.asked.quick_values.get("text") if self.asked.kind == "signed" else None
        return words if isinstance(words, str) else self.asked.title

    @property
    def tick_words(self) -> str:
        """What a tick says, where the title does not say it already."""
        quick = self.asked.quick or ""
        return "" if quick in ("done", "yes") or self.title.lower().startswith(quick.lower()) else quick

    @property
    def name(self) -> str:
        """Number and title, to say which box is meant."""
        return f"step {self.number}, {self.title}"


def boxes(view: JobView, *, may_sign: bool = True) -> tuple[Box, ...]:
    """The boxes of a job that are still open, in the order in which the plan prints them.

    Parameters
    ----------
    view
        The job.
    may_sign
        Whether whoever enters them may sign; a signature is left out otherwise.
    """
    found = (box for number, step in enumerate(view.plan.steps, 1) for box in _of_step(view, step, number))
    return tuple(box for box in found if may_sign or box.asked.kind != "signed")


def _of_step(view: JobView, step: Step, number: int) -> Iterator[Box]:
    for asked in sorted(view.asked.get(step.id, ()), key=lambda one: _place(one, step)):
        if asked.answered or not _is_printed(asked, step):
            continue
        squares = tuple(_squares(asked, step))
        if asked.quick is not None or _is_enough(asked, squares):
            yield Box(asked, number, step, _part(view.plan, step), squares, _is_alike(asked, step))


def _place(asked: Asked, step: Step) -> int:
    """Where on the paper a question's box stands within its step; behind all others where it has none."""
    kinds = (asked.kind, ALSO.get(asked.kind))
    return next((at for at, record in enumerate(step.records) if record.kind in kinds), len(step.records))


def _is_printed(asked: Asked, step: Step) -> bool:
    """Whether the paper has a box for a question, or a required check hangs on it."""
    kinds = {record.kind for record in step.records}
    if asked.kind == "torque" and asked.fixed.get("fastener") == "all":
        return False  # the paper has a box for each fastener
    if asked.kind == "tool" and not asked.needed and asked.quick is None:
        return False  # the drawer has all that this drive needs
    return asked.needed or asked.kind in kinds or ALSO.get(asked.kind) in kinds


def _squares(asked: Asked, step: Step) -> Iterator[Square]:
    printed = [record for record in step.records if record.kind == asked.kind]
    for field in asked.fields:
        if field.only_if is not None or not _is_written(field):
            continue
        if asked.quick is not None and not _has_room(asked, field, {record.shape for record in printed}):
            continue
        yield Square(field.key, field, field.label)
        if len(asked.fields) == 1 and field.shape == "number":
            again = sum(1 for record in printed if record.shape == "number")
            for reading in range(2, again + 1):
                yield Square(f"{field.key}.{reading}", field, f"{field.label}, reading {reading}", reading)


def _is_written(field: Field) -> bool:
    """Whether a few signs on paper answer a field."""
    if field.shape in WRITTEN:
        return True
    return field.or_typed and field.shape in ("choice", "many") and (field.shape == "many" or bool(field.unit))


def _has_room(asked: Asked, field: Field, shapes: set[str]) -> bool:
    """Whether the paper has room for a field beside the tick that answers the question."""
    if asked.kind == "signed":
        return False
    if field.shape in NUMBERS or field.unit:
        return "number" in shapes
    return "text" in shapes and (field.value is None or field.shape == "many")


def _is_enough(asked: Asked, squares: tuple[Square, ...]) -> bool:
    """Whether squares alone can answer a question."""
    written = {square.field.key for square in squares}
    open_ones = [field for field in asked.fields if field.required and field.value is None and field.only_if is None]
    return bool(written) and all(field.key in written for field in open_ones)


def _is_alike(asked: Asked, step: Step) -> bool:
    """Whether a tick says no more than "done as the plan says"."""
    if asked.quick is None or step.only_if or asked.kind in BY_THEMSELVES:
        return False
    printed = [record for record in step.records if record.kind == asked.kind]
    return any(record.shape == "tick" for record in printed) or (asked.kind == "torque" and bool(printed))


def _part(plan: Plan, step: Step) -> str:
    return stage_heading(plan, step).removeprefix(STAGES[step.stage])
