"""The six invented engines and small drives of a few lines for the plan's tests."""

from __future__ import annotations

from functools import cache
from importlib.resources import files
from typing import Any

from twoturn.drive.load import read_drive
from twoturn.drive.parts import Drive
from twoturn.plan import Plan, VehicleFacts, make_plan

FOLDER = files("twoturn.demo") / "drives"
SIX = (
    "alder-one-cam",
    "birch-two-cams",
    "cedar-common-rail",
    "damson-rotary-pump",
    "elder-balance-shafts",
    "fir-vee-six",
)
KNOWN = VehicleFacts(hybrid=False, stop_start=False, belt_broken=False)

SMALL = """
[drive]
name = "Small (invented)"
crank_turns = "{turns}"
source = "invented sheet"
[[belt]]
teeth = 120
[[pulley]]
id = "crankshaft"
role = "crankshaft"
teeth = 20
mark_deg = 0.0
[[pulley]]
id = "roller"
role = "tensioner"
[[pulley]]
id = "camshaft"
role = "camshaft"
teeth = 40
mark_deg = 0.0
[[tensioner]]
pulley = "roller"
kind = "{kind}"
{tensioner}
{rest}
"""


@cache
def demo_text(name: str) -> str:
    return (FOLDER / f"{name}.toml").read_text(encoding="utf-8")


@cache
def demo(name: str) -> Drive:
    return read_drive(demo_text(name), f"{name}.toml")


@cache
def demo_plan(name: str, vehicle: VehicleFacts = VehicleFacts()) -> Plan:  # noqa: B008 - it is frozen
    return make_plan(demo(name), vehicle)


def small(kind: str = "double eccentric", tensioner: str = "", rest: str = "", turns: str = "clockwise") -> Drive:
    return read_drive(SMALL.format(turns=turns, kind=kind, tensioner=tensioner, rest=rest), "small.toml")


def ids(plan: Plan) -> list[str]:
    return [step.id for step in plan.steps]


def said(plan: Plan, step_id: str) -> str:
    """Everything a step prints, as one text."""
    step = plan.step(step_id)
    parts: list[Any] = [step.text, step.precondition, *(caution.text for caution in step.cautions), *step.tools]
    parts += [f"{value.what} {value.value}" for value in step.values]
    return " ".join(parts)
