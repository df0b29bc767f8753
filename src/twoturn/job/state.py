"""What voids earlier readings, and which readings count: after the last reset and after the turns by hand.

Design: a reading counts only after the last reset that touches its quantity; pointer, marks, pins, pluck and capture
only after a later turning by hand in the running direction and, where the drive says so, after it has settled.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

from twoturn.job.entries.work import BeltFitted, PartFitted, Turned, Waited
from twoturn.job.order import Act, Timeline
from twoturn.job.places import Belts, Places
from twoturn.job.resets import Reset, is_belt, reset_of, turned_back
from twoturn.plan.sequence import sequence_of
from twoturn.words.numbers import plain, turns_words
from twoturn.words.terms import way_of_sense

_ROUNDING = 1e-9
UNTOUCHED = frozenset({"width", "play", "offset", "runout", "compression"})
"""Quantities that no setting or turning changes: they count whenever measured, unless a state is asked for."""


@dataclass(frozen=True)
class Standing:
    """Whether a reading counts.

    Attributes
    ----------
    counts
        True when it does.
    why
        Why it does not, in one sentence; empty when it does.
    next
        One clear act; empty when it counts.
    rank
        How near it comes to counting [-]: of several void readings the nearest is told.
    """

    counts: bool
    why: str = ""
    next: str = ""
    rank: int = 9


COUNTS = Standing(True)


@dataclass(frozen=True)
class Touched:
    """What a reading depends on.

    Attributes
    ----------
    quantity
        Its quantity.
    belts
        The belts it depends on.
    shaft
        The shaft it belongs to, where it belongs to one.
    """

    quantity: str
    belts: Belts
    shaft: str | None = None


@dataclass(frozen=True)
class State:
    """The acts of a job in their order, asked what still counts.

    Attributes
    ----------
    timeline, places
        The entries that stand, and who is meant by their names.
    """

    timeline: Timeline
    places: Places

    def before(self, one: Act, other: Act) -> bool:
        """Whether the record tells that ``one`` was done before ``other``."""
        return self.timeline.before(one, other)

    @cached_property
    def resets(self) -> tuple[Reset, ...]:
        """Everything that voids earlier readings."""
        found = [
            reset for act in self.timeline.acts if (reset := reset_of(act, self.timeline, self.places)) is not None
        ]
        return tuple(found)

    @cached_property
    def fitted(self) -> tuple[tuple[Act, Belts], ...]:
        """Every fitting of a belt, with the belts it may mean."""
        found = []
        for act in self.timeline.acts:
            entry = act.entry
            if isinstance(entry, BeltFitted) or (isinstance(entry, PartFitted) and is_belt(entry)):
                found.append((act, self.places.belts_of(entry.belt) if entry.belt else self.places.every_belt))
        return tuple(found)

    @cached_property
    def _turnings(self) -> tuple[tuple[Act, float], ...]:
        return tuple((act, self._whole(act.entry)) for act in self.timeline.acts if isinstance(act.entry, Turned))

    def _whole(self, entry: Turned) -> float:
        return 0.0 if turned_back(entry, self.places) else whole_turns(entry)

    @cached_property
    def _waits(self) -> tuple[tuple[Act, float], ...]:
        return tuple((act, act.entry.minutes) for act in self.timeline.acts if isinstance(act.entry, Waited))

    @cached_property
    def _turns_by_belt(self) -> dict[str, float]:
        """Turns by hand before final readings [-] by belt: ``after_turns``, or more where its setting ends so."""
        least = float(self.places.drive.file.timing.after_turns)
        return {
            belt.id: max([least, *(sequence_of(tensioner).rounds[-1].turns for tensioner in belt.tensioners)])
            for belt in self.places.drive.belts
        }

    def turns_needed(self, belts: Belts) -> float:
        """Turns by hand before final readings of some belts count [-]."""
        return max(self._turns_by_belt[belt] for belt in belts or self.places.every_belt)

    def touching(self, what: Touched) -> tuple[Reset, ...]:
        """The resets that touch a quantity at a place."""
        return tuple(reset for reset in self.resets if reset.touches(what.quantity, what.belts, what.shaft))

    def turns_before(self, act: Act | None, resets: tuple[Reset, ...]) -> float:
        """Turns by hand [-] that count: after every one of ``resets`` and, where given, before ``act``."""
        return sum(
            turns
            for turning, turns in self._turnings
            if (act is None or self.before(turning, act)) and all(self.before(reset.act, turning) for reset in resets)
        )

    def has_belt(self, act: Act | None, belts: Belts) -> bool:
        """Whether the record tells that every one of ``belts`` was fitted (before ``act``, where given)."""
        told: set[str] = set()
        for fitting, on in self.fitted:
            if len(on) == 1 and (act is None or self.before(fitting, act)):
                told |= on
        return belts <= told

    def standing(self, act: Act, what: Touched, wanted: str | None, settle_min: float = 0.0) -> Standing:
        """Whether a reading counts in a state.

        Parameters
        ----------
        act
            The entry that holds the reading.
        what
            What the reading depends on.
        wanted
            ``"as found"``, ``"as set"``, ``"after turns"``, or None for any state since the last reset.
        settle_min
            Time to let go by after the turns [min].
        """
        if wanted is None and what.quantity in UNTOUCHED and not getattr(act.entry, "as_found", False):
            return COUNTS
        resets = self.touching(what)
        if wanted == "as found":
            return self._as_found(act, resets)
        if getattr(act.entry, "as_found", False):
            return Standing(False, "The reading was taken as found, before the work.", "Read it again now.", 1)
        void = self._void(act, what.belts, tuple(reset for reset in resets if what.quantity not in reset.keeps))
        if void is not None:
            return void
        if not self.has_belt(act, what.belts):
            return Standing(
                False,
                "No entry says that the belt was fitted before this reading.",
                'Enter "belt fitted" where it was done.',
                4,
            )
        if wanted == "after turns":
            return self._after_turns(act, what.belts, self._unsettling(act, what, resets), settle_min)
        if wanted == "as set" and self.turns_before(act, resets) >= self.turns_needed(what.belts) - _ROUNDING:
            return Standing(False, "The reading was taken after the turns, not as set.", "Read it before the turns.", 2)
        return COUNTS

    def _unsettling(self, act: Act, what: Touched, resets: tuple[Reset, ...]) -> tuple[Reset, ...]:
        """The resets after which turns by hand are needed before this reading counts.

        The lift of a pump moved in its flange needs none: the belt was not touched.
        """
        return tuple(
            reset
            for reset in resets
            if not (what.quantity in reset.keeps and self.before(act, reset.act))
            and not (what.quantity == "pump lift" and reset.shafts is not None)
        )

    def _as_found(self, act: Act, resets: tuple[Reset, ...]) -> Standing:
        late = next((reset for reset in resets if not self.before(act, reset.act)), None)
        if late is None:
            return COUNTS
        why = f"It was not read as found: entry {late.act.number} ({late.what}) came before it, or may have."
        return Standing(False, why, "As found cannot be read any more; leave it as not shown.", 3)

    def _void(self, act: Act, belts: Belts, resets: tuple[Reset, ...]) -> Standing | None:
        later = [reset for reset in resets if self.before(act, reset.act)]
        if later:
            last = later[-1].act.number
            why = f"Read before entry {last} ({later[-1].what}), which voids earlier readings."
            return Standing(False, why, f"Turn {self._turns_words(belts)}, then read it again.", 5)
        untold = [reset for reset in resets if not self.before(reset.act, act)]
        if untold:
            one = untold[-1]
            why = f"Whether it was read before or after entry {one.act.number} ({one.what}) cannot be told."
            return Standing(False, why, "Say in done and pass when each was done, or read it again.", 6)
        return None

    def _after_turns(self, act: Act, belts: Belts, resets: tuple[Reset, ...], settle_min: float) -> Standing:
        turns, needed = self.turns_before(act, resets), self.turns_needed(belts)
        if turns < needed - _ROUNDING:
            since = f" since entry {resets[-1].act.number} ({resets[-1].what})" if resets else ""
            said = f"{turns_words(turns)} by hand" if turns else "no turning by hand"
            why = f"Read after {said}{since}; {turns_words(needed)} are needed before it counts."
            return Standing(False, why, f"Turn {self._turns_words(belts)}, then read it again.", 7)
        if settle_min > 0 and self._waited(act, resets, needed) < settle_min - _ROUNDING:
            why = f"It was not shown that {plain(settle_min)} min went by between the turns and the reading."
            return Standing(False, why, f"Wait {plain(settle_min)} min, then read it again.", 8)
        return COUNTS

    def _waited(self, act: Act, resets: tuple[Reset, ...], needed: float) -> float:
        return math.fsum(
            minutes
            for wait, minutes in self._waits
            if self.before(wait, act)
            and all(self.before(reset.act, wait) for reset in resets)
            and self.turns_before(wait, resets) >= needed - _ROUNDING
        )

    def _turns_words(self, belts: Belts) -> str:
        way = way_of_sense(self.places.drive.crank_sense)
        return f"{turns_words(self.turns_needed(belts))} {way} by hand"


def whole_turns(entry: Turned) -> float:
    """Turns of an entry that count [-]: overshot ones to the last whole turn."""
    return float(math.floor(entry.turns + _ROUNDING)) if entry.overshot else entry.turns
