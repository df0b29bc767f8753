"""What was done before what: from ``done`` (step of the plan and its round), then from the place in the list.

Two entries are ordered only where the record tells it; every other pair has no order, and a reading whose place against
a later reset cannot be told does not count.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from twoturn.job.entries.base import EntryBase
from twoturn.job.entries.record import LeftOut, Struck

Key = tuple[int, int]

TIMELESS = frozenset(
    {
        "vehicle",
        "odometer",
        "tool",
        "photo",
        "remark",
        "reference",
        "override",
        "left out",
        "struck out",
        "signed",
        "decided",
    }
)
"""Kinds whose place in the work means nothing: they neither move anything nor read it."""


@dataclass(frozen=True)
class Act:
    """An entry that stands, at its place.

    Attributes
    ----------
    number
        Its number in the record, counted from 1.
    place
        Place in the list that counts: a correction stands where the entry stood that it corrects.
    key
        Round and number of the step it was done at; None where it names no step.
    """

    number: int
    place: int
    key: Key | None
    entry: EntryBase


class Timeline:
    """The entries that stand (corrected, struck and left-out ones are gone), and their order in time.

    Parameters
    ----------
    entries
        All entries of the record, in order.
    steps
        Number of each step of the plan, by id.
    """

    def __init__(self, entries: Sequence[EntryBase], steps: Mapping[str, int]) -> None:
        self.entries = tuple(entries)
        self._steps = steps
        self.number_of = {entry.id: at + 1 for at, entry in enumerate(entries) if entry.id is not None}
        self.replaced = self._replaced()
        self.left_out = self._left_out()

    def find(self, pointed: str | int) -> int | None:
        """Number of the entry that an id or number points at, counted from 1; None when there is none."""
        if isinstance(pointed, int):
            return pointed if 1 <= pointed <= len(self.entries) else None
        return self.number_of.get(pointed)

    def _replaced(self) -> dict[int, int]:
        """Number of the correction, by the number of the entry it corrects; only earlier entries can be corrected."""
        found: dict[int, int] = {}
        for at, entry in enumerate(self.entries):
            old = None if entry.replaces is None else self.find(entry.replaces)
            if old is not None and old <= at and old not in found:
                found[old] = at + 1
        return found

    def _left_out(self) -> dict[int, str]:
        """Reason by the number of the reading that is left out."""
        found: dict[int, str] = {}
        for at, entry in enumerate(self.entries):
            if not isinstance(entry, LeftOut) or at + 1 in self.replaced:
                continue
            for pointed in entry.entry:
                number = self.find(pointed)
                if number is not None:
                    found[self._last_of(number)] = entry.reason
        return found

    def _last_of(self, number: int) -> int:
        while number in self.replaced:
            number = self.replaced[number]
        return number

    @cached_property
    def acts(self) -> tuple[Act, ...]:
        """Every entry that stands, in the order of their places in the list."""
        found = []
        for at, entry in enumerate(self.entries):
            number = at + 1
            if number in self.replaced or isinstance(entry, Struck):
                continue
            first, done = self._origin(number)
            found.append(Act(number, first, self._key(done), entry))
        return tuple(sorted(found, key=lambda act: (act.place, act.number)))

    def _origin(self, number: int) -> tuple[int, EntryBase]:
        """Where the first of a chain of corrections stood, and the one of the chain that says when it was done."""
        back = {new: old for old, new in self.replaced.items()}
        chain = [number]
        while chain[-1] in back:
            chain.append(back[chain[-1]])
        entries = [self.entries[one - 1] for one in chain]
        saying = next((entry for entry in entries if entry.done is not None), entries[0])
        return chain[-1], saying

    def _key(self, entry: EntryBase) -> Key | None:
        step = None if entry.done is None else self._steps.get(entry.done)
        return None if step is None else (entry.pass_, step)

    @cached_property
    def _latest_before(self) -> dict[int, Key]:
        """Latest step of all entries listed before, by number of the act."""
        latest: Key = (0, -1)
        found = {}
        for act in self.acts:
            found[act.number] = latest
            if act.key is not None and act.entry.kind not in TIMELESS:
                latest = max(latest, act.key)
        return found

    @cached_property
    def _earliest_after(self) -> dict[int, tuple[float, float]]:
        """Earliest step of all entries listed after, by number of the act."""
        earliest: tuple[float, float] = (math.inf, math.inf)
        found = {}
        for act in reversed(self.acts):
            found[act.number] = earliest
            if act.key is not None and act.entry.kind not in TIMELESS:
                earliest = min(earliest, act.key)
        return found

    def before(self, one: Act, other: Act) -> bool:
        """Whether the record tells that ``one`` was done before ``other``."""
        listed = (one.place, one.number) < (other.place, other.number)
        if one.key is not None and other.key is not None:
            return _before_by_step(one.key, other.key, listed)
        if not listed:
            return False
        if one.key is None and other.key is not None:
            return other.key >= self._latest_before[one.number]
        if one.key is not None:
            return one.key <= self._earliest_after[other.number]
        return True


def _before_by_step(one: Key, other: Key, listed: bool) -> bool:
    """By round, then step, then list.

    A later step of an earlier round came before an earlier step of a later round only if the list says so too: else
    the later step may have been done for the first time after going back.
    """
    if one == other:
        return listed
    crosswise = (one[0] - other[0]) * (one[1] - other[1]) < 0
    return one < other and (listed or not crosswise)
