"""Steps of the plan that no entry speaks of: the record cannot say whether they were done."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from twoturn.drive.parts import Drive
from twoturn.job.asked.model import Asked
from twoturn.job.asked.steps import asked
from twoturn.job.entries.base import EntryBase
from twoturn.job.entries.work import StepDone
from twoturn.job.order import Timeline
from twoturn.job.steps import step_numbers
from twoturn.plan.model import Plan, Step


def steps_with_no_entry(
    drive: Drive,
    plan: Plan,
    entries: Sequence[EntryBase],
    questions: Mapping[str, tuple[Asked, ...]] | None = None,
) -> tuple[Step, ...]:
    """The steps of a plan that no entry of its job speaks of, in order.

    A step with a condition ("If the vehicle is a hybrid") is not among them: nobody knows whether it applies. An entry
    that names no step speaks of the one whose question it answers.

    Parameters
    ----------
    drive, plan, entries
        The drive, the plan of this job, and all its entries.
    questions
        The questions of the plan with these entries, where somebody has made them already.
    """
    told = asked(drive, plan, entries) if questions is None else questions
    spoken = {step for step, group in told.items() if any(one.done for one in group)}
    for act in Timeline(entries, step_numbers(drive)).acts:
        spoken.add(act.entry.done or "")
        if isinstance(act.entry, StepDone):
            spoken.add(act.entry.step or "")
    return tuple(step for step in plan.steps if step.id not in spoken and not step.only_if)
