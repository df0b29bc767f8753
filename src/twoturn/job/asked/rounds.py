"""Which round a step is in: who goes back to an earlier step begins a new round from there on."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cached_property
from typing import Any

from twoturn.job.order import Act, Timeline


class Rounds:
    """The rounds of a job.

    A round begins at the earliest step that an entry of it names; every step from there on is in that round, every
    earlier one still in the round before. So the number follows by itself once somebody has said where he goes back to.

    Parameters
    ----------
    timeline
        The entries that stand.
    numbers
        Number of each step of the plan, by id.
    """

    def __init__(self, timeline: Timeline, numbers: Mapping[str, int]) -> None:
        self.timeline = timeline
        self.numbers = numbers

    @cached_property
    def starts(self) -> dict[int, int]:
        """Number of the step at which each round began [-], by round."""
        found = {1: 0}
        for act in self.timeline.acts:
            if act.key is not None and act.key[0] > 1:
                number, step = act.key
                found[number] = min(step, found.get(number, step))
        return found

    @property
    def latest(self) -> int:
        """The latest round that was begun [-], from 1."""
        return max(self.starts)

    def at(self, step_id: str) -> int:
        """The round in which a step is now [-], from 1."""
        step = self.numbers.get(step_id, 0)
        return max(number for number, start in self.starts.items() if start <= step)

    def going_back(self, step_id: str, title: str, reason: str = "") -> dict[str, Any]:
        """The entry that says "I am going back to this step": a remark that begins a new round there.

        Parameters
        ----------
        step_id, title
            The step gone back to, and its title.
        reason
            Why, where the person says so.

        Returns
        -------
        dict
            The raw entry; from it on every question of this and the later steps carries the new round by itself.
        """
        why = f": {reason.strip().rstrip('.')}" if reason.strip() else ""
        text = f"Going back to: {title.rstrip('.')}{why}."
        return {"kind": "remark", "text": text[:2000], "done": step_id, "pass": self.latest + 1}

    def later_work(self, step_id: str) -> tuple[Act, ...]:
        """What was done or read at later steps in the round this step is in: going back leaves it behind."""
        step, number = self.numbers.get(step_id, 0), self.at(step_id)
        return tuple(
            act
            for act in self.timeline.acts
            if act.key is not None and act.key[0] >= number and act.key[1] > step and act.entry.kind in WORK
        )


WORK = frozenset(
    {
        "torque",
        "loosened",
        "turned",
        "waited",
        "belt fitted",
        "part fitted",
        "adjuster moved",
        "step done",
        "mark",
        "pointer",
        "pin in",
        "pin out",
        "deflection",
        "twist",
        "pump lift",
        "protrusion",
        "measured",
        "pluck",
        "capture",
        "moved at end",
    }
)
"""Kinds that are work or readings: what makes going back to an earlier step a new round."""
