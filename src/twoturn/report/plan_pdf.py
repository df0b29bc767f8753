"""The plan as a printable A4 sheet."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from twoturn.plan.model import Plan, Record, Step
from twoturn.report.typeset import printed_width_mm, typeset
from twoturn.words.cautions import DEFERENCE
from twoturn.words.numbers import plain
from twoturn.words.terms import STAGES

LONG = 330
SEQUENCES = ("set-tensioner", "finish-setting")
DIGITS = {"km": 6, "turns": 2, "pins": 2, "teeth": 3, "min": 3, "°C": 3, "°": 3}


def plan_pdf(plan: Plan, timestamp: datetime | None = None, drawings: Mapping[str, str] | None = None) -> bytes:
    """Typeset a plan.

    Parameters
    ----------
    plan
        The plan.
    timestamp
        The time the document carries.
    drawings
        Drawing of each belt as SVG text, by the belt's id.

    Returns
    -------
    bytes
        The PDF.

    Raises
    ------
    SheetError
        It cannot be typeset.
    """
    drawn = dict(drawings or {})
    pictures = {f"belt {number}": svg for number, svg in enumerate(drawn.values(), 1)}
    return typeset("plan", {**plan_data(plan), "drawings": _drawings(plan, drawn)}, pictures, timestamp)


def _drawings(plan: Plan, drawn: Mapping[str, str]) -> list[dict[str, Any]]:
    several = len(drawn) > 1
    return [
        {
            "name": f"belt {number}",
            "title": f"The belt drive: {belt}" if several else "The belt drive",
            "alt": f"Belt {belt} of {plan.drive}, seen facing the belt end: wheels, belt and marks.",
            "width_mm": printed_width_mm(svg),
        }
        for number, (belt, svg) in enumerate(drawn.items(), 1)
    ]


def plan_data(plan: Plan) -> dict[str, Any]:
    """What the plan's template prints, as JSON can hold it."""
    return {
        "title": f"Plan: {plan.drive}",
        "short": f"Plan: {plan.drive}",
        "drive": plan.drive,
        "vehicle": plan.vehicle,
        "source": plan.source,
        "notes": list(plan.notes),
        "head": ["Registration", "Date", "Technician"],
        "parts": part_lines(plan),
        "torque_tools": tool_lines(plan),
        "tools": list(plan.tools),
        "pins": pin_lines(plan),
        "fluids": list(plan.fluids),
        "minutes": minutes_words(plan),
        "stages": _stages(plan),
        "drawings": [],
        "footer": _footer(plan),
    }


def part_lines(plan: Plan) -> list[str]:
    """Parts as printed: how many, what, and whether it serves once."""
    said = []
    for part in plan.parts:
        count = f"{part.count} × " if part.count > 1 else ""
        extra = [word for word in ("serves once" if part.single_use else "", part.remark) if word]
        said.append(f"{count}{part.name}" + (f" ({'; '.join(extra)})" if extra else ""))
    return said


def tool_lines(plan: Plan) -> list[str]:
    """Torque tools as printed: the range and what for."""
    return [
        f"{plain(tool.low_nm)}–{plain(tool.high_nm)} N·m, for {', '.join(plain(t, 2) for t in tool.torques_nm)} N·m"
        for tool in plan.torque_tools
    ]


def pin_lines(plan: Plan) -> list[str]:
    """Pins as printed: what, how thick, how deep, what for."""
    said = []
    for pin in plan.pins:
        size = f", {plain(pin.size_mm, 2)} mm" if pin.size_mm else ""
        depth = f", at least {plain(pin.min_depth_mm)} mm deep" if pin.min_depth_mm else ""
        said.append(f"{pin.id}{size}{depth}: {pin.purpose}s the {pin.shaft}")
    return said


def minutes_words(plan: Plan) -> str:
    """The shop's own time in words; empty until it has one."""
    if plan.minutes is None:
        return ""
    return f"{plain(plan.minutes.low)} to {plain(plan.minutes.high)} minutes, from {plan.minutes.jobs} jobs"


def _footer(plan: Plan) -> list[str]:
    invented = ["Invented data for practice: not for any real engine."] if plan.is_invented else []
    return [f"{plan.drive} · values from: {plan.source}", DEFERENCE, *invented]


def _stages(plan: Plan) -> list[dict[str, Any]]:
    rows: list[dict[str, Any]] = []
    for number, step in enumerate(plan.steps, 1):
        name = stage_heading(plan, step)
        if not rows or rows[-1]["name"] != name:
            rows.append({"name": name, "steps": []})
        rows[-1]["steps"].append(_step(plan, step, number))
    return rows


def stage_heading(plan: Plan, step: Step) -> str:
    """Heading of a step's stage: with the belt where it belongs to a further one."""
    main = next((other.belt for other in plan.steps if other.id == "thread-belt"), "")
    if not step.belt or step.belt == main or step.stage not in ("fit", "set", "prove"):
        return STAGES[step.stage]
    return f"{STAGES[step.stage]}: {step.belt}" + ("" if step.belt.endswith("belt") else " belt")


def _step(plan: Plan, step: Step, number: int) -> dict[str, Any]:
    values = [
        {"what": value.what, "value": value.value, "source": "" if value.source == plan.source else value.source}
        for value in step.values
    ]
    cautions = [caution.text for caution in step.cautions]
    size = sum(map(len, [*step.acts, *cautions, *(record.what for record in step.records)]))
    return {
        "number": str(number),
        "title": step.title,
        "acts": list(step.acts),
        "numbered": step.id.startswith(SEQUENCES) and len(step.acts) > 1,
        "only_if": step.only_if,
        "precondition": step.precondition,
        "cautions": cautions,
        "tools": ", ".join(step.tools),
        "values": values,
        "records": [_record(record) for record in step.records],
        "long": size > LONG,
    }


def _record(record: Record) -> dict[str, Any]:
    return {
        "what": record.what,
        "shape": record.shape,
        "unit": record.unit,
        "digits": DIGITS.get(record.unit, 4),
        "wide": record.shape == "text",
        "ticked": record.shape == "text" and record.kind == "torque",
    }
