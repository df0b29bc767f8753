"""The plan as text for a terminal of 92 columns: lists first, then the steps, stage by stage."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator

from twoturn.plan.model import Plan, Record, Step
from twoturn.report.plan_pdf import minutes_words, part_lines, pin_lines, stage_heading, tool_lines
from twoturn.words.cautions import DEFERENCE

WIDTH = 92
INDENT = 5


def plan_lines(plan: Plan) -> list[str]:
    """All lines of a plan."""
    lines = [f"Plan: {plan.drive}", f"Values from: {plan.source}"]
    if plan.vehicle:
        lines.append(f"Vehicle: {plan.vehicle}")
    lines += [line for note in plan.notes for line in _wrapped(note, 0)]
    lines += ["", *_lists(plan)]
    stage = ""
    for number, step in enumerate(plan.steps, 1):
        heading = stage_heading(plan, step)
        if heading != stage:
            lines += ["", f"== {heading} ".ljust(WIDTH, "=")]
            stage = heading
        lines += ["", *_step(plan, step, number)]
    closing = [line for text in _closing(plan) for line in _wrapped(text, 0)]
    return [*lines, "", *closing]


def _closing(plan: Plan) -> list[str]:
    invented = ["Invented data for practice: not for any real engine."] if plan.is_invented else []
    return [DEFERENCE, *invented]


def _lists(plan: Plan) -> list[str]:
    groups = {
        "Parts": part_lines(plan),
        "Torque tools": tool_lines(plan),
        "Special tools": list(plan.tools),
        "Pins, count in and out": pin_lines(plan),
        "Fluids": list(plan.fluids),
    }
    lines = [f"== Lay out before you begin {'=' * (WIDTH - 28)}"]
    for name, rows in groups.items():
        if rows:
            lines += [f"{name}:", *[line for row in rows for line in _wrapped(row, 2, "[ ] ")]]
    said = minutes_words(plan)
    return [*lines, f"This shop's time: {said}"] if said else lines


def _step(plan: Plan, step: Step, number: int) -> Iterator[str]:
    if step.only_if:
        yield " " * INDENT + step.only_if + ":"
    head = f"{number:>3}  {step.title}"
    yield from textwrap.wrap(head, WIDTH, subsequent_indent=" " * INDENT)
    yield f"{' ' * INDENT}[{step.id}]"
    if step.precondition:
        yield from _wrapped(step.precondition, INDENT, "First: ")
    if step.tools:
        yield from _wrapped(", ".join(step.tools), INDENT, "Tools: ")
    for caution in step.cautions:
        yield from _wrapped(caution.text, INDENT, "CAUTION  ")
    for act in step.acts:
        yield from _wrapped(act, INDENT, "- ")
    for value in step.values:
        source = "" if value.source in ("", plan.source) else f"  ({value.source})"
        yield from _wrapped(f"{value.what}: {value.value}{source}", INDENT, "= ")
    for record in step.records:
        yield from _wrapped(_blank(record), INDENT, "")


def _blank(record: Record) -> str:
    if record.shape == "number":
        return f"{record.what}: [      ] {record.unit}".rstrip()
    if record.shape == "text" and record.kind == "torque":
        return f"[ ] {record.what}, tool ____"
    return f"{record.what}: ____________" if record.shape == "text" else f"[ ] {record.what}"


def _wrapped(text: str, indent: int, lead: str = "") -> list[str]:
    first = " " * indent + lead
    return textwrap.wrap(text, WIDTH, initial_indent=first, subsequent_indent=" " * len(first)) or [first.rstrip()]
