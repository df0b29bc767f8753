"""Going back: to which step a check that is not met leads, and whether the work went back on it already."""

from __future__ import annotations

from collections.abc import Mapping

from twoturn.job.asked.model import Asked
from twoturn.job.asked.sheet import Sheet
from twoturn.job.checks.base import Check
from twoturn.plan.model import Step
from twoturn.plan.wording import slug

REFIT = frozenset({"mark", "pin in", "capture"})
"""Kinds whose readings tell that the belt must come off again."""
RESET = frozenset({"pointer", "protrusion", "pluck", "deflection", "twist"})
"""Kinds whose readings tell that the tensioner must be set again."""
SETTING = frozenset({"frequency", "tension", "pointer", "protrusion", "deflection", "hand twist"})


def back_to(check: Check, asked: Mapping[str, tuple[Asked, ...]], sheet: Sheet) -> Step | None:
    """The step that a check which is not met leads back to; None where none helps.

    Parameters
    ----------
    check, asked
        The check, and the questions of the job by step.
    sheet
        The job.
    """
    first = next(iter(shown_by(check.id, asked)), None)
    if check.id.startswith("finding-"):
        return _first(sheet, "thread-belt")
    if first is None:
        return None
    step = sheet.plan.step(first.step)
    if first.kind in REFIT:
        return _on_belt(sheet, step, "set-shafts", "thread-belt")
    measured = first.kind == "measured" and first.fixed.get("quantity") in SETTING
    if first.kind in RESET or measured:
        return _on_belt(sheet, step, "set-tensioner")
    return step


def shown_by(check_id: str, asked: Mapping[str, tuple[Asked, ...]]) -> list[Asked]:
    """The questions whose answers show a check, in the order of the work: no mere condition, nothing as found."""
    every = (one for group in asked.values() for one in group if check_id in one.checks)
    return [one for one in every if one.kind not in ("temperature", "waited") and not one.fixed.get("as_found")]


def _on_belt(sheet: Sheet, step: Step, *bases: str) -> Step:
    """The first of some steps on the belt of a step; of an inner or outer belt the one with its name."""
    belt = sheet.belt(step)
    own = "" if belt is sheet.facts.main else f"@{slug(belt.id)}"
    found = (_first(sheet, f"{base}{own}") for base in bases)
    return next((one for one in found if one is not None), step)


def _first(sheet: Sheet, step_id: str) -> Step | None:
    return next((step for step in sheet.plan.steps if step.id == step_id), None)


def is_behind(check: Check, sheet: Sheet) -> bool:
    """Whether every entry that a check rests on belongs to a round that the work has gone back on since.

    Parameters
    ----------
    check, sheet
        The check, and the job.
    """
    if sheet.rounds.latest == 1 or not check.entries:
        return False
    steps = {number: name for name, number in sheet.numbers.items()}
    acts = [act for act in sheet.timeline.acts if act.number in check.entries]
    return all(act.key is not None and act.key[0] < sheet.rounds.at(steps.get(act.key[1], "")) for act in acts)
