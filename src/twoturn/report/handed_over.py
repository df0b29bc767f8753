"""What the papers of a hand-over have in common: what was renewed, set and shown, and when it is due."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date

from twoturn.drive.parts import Drive
from twoturn.job.assess import Assessment
from twoturn.job.chain import Checkpoint
from twoturn.job.checks.base import Check
from twoturn.job.entries.base import EntryBase
from twoturn.job.entries.found import Cured
from twoturn.job.entries.vehicle import Odometer
from twoturn.job.entries.work import BeltData, BeltFitted, PartFitted, TorqueEntry
from twoturn.job.order import Timeline
from twoturn.job.places import Places
from twoturn.job.resets import tightened
from twoturn.job.steps import step_numbers
from twoturn.plan.due import Due, distance_words, next_due
from twoturn.plan.wording import fastener_name
from twoturn.quantity.conformity import Verdict
from twoturn.words.terms import PHRASES

INVENTED = "Invented data for practice: not for any real engine."
NO_DUE = "by the vehicle maker's schedule (the drive file gives no interval)"
TURNED, CURED = "two-turns", "finding-"
"""How the ids of two sorts of checks begin: turned by hand, and a severe finding cured."""


@dataclass(frozen=True)
class Facts:
    """What stands beside the record: whose vehicle, whose workshop.

    Attributes
    ----------
    number
        The job's running number; None outside a shop's record.
    registration, model
        Of the vehicle; empty where unknown.
    shop, address
        Name and address of the workshop; empty where none is set.
    by
        Who hands over.
    on
        The day of the hand-over.
    km
        What the odometer shows, where no entry says it [km].
    miles
        True for distances in miles.
    """

    number: int | None
    registration: str
    model: str
    shop: str
    address: str
    by: str
    on: date
    km: float | None = None
    miles: bool = False


@dataclass(frozen=True)
class HandedOver:
    """A job as its papers tell it.

    Attributes
    ----------
    drive, assessment, checkpoint
        The drive, what the entries prove, and the record number.
    entries
        All entries of the record, in order.
    facts
        What stands beside the record.
    """

    drive: Drive
    assessment: Assessment
    checkpoint: Checkpoint
    entries: tuple[EntryBase, ...]
    facts: Facts

    @property
    def standing(self) -> tuple[EntryBase, ...]:
        """The entries that stand; corrected and struck ones are gone."""
        return tuple(act.entry for act in Timeline(self.entries, step_numbers(self.drive)).acts)

    @property
    def km(self) -> float | None:
        """What the odometer showed last [km]."""
        read = [entry.km for entry in self.standing if isinstance(entry, Odometer)]
        return read[-1] if read else self.facts.km

    @property
    def was_fitted(self) -> bool:
        """Whether an entry that stands says that a belt was fitted."""
        return any(isinstance(entry, BeltFitted) for entry in self.standing)

    @property
    def fitted(self) -> date:
        """The day the belt was fitted: of the entry that says so, else of the hand-over."""
        days = [day for entry, day in self._days() if isinstance(entry, BeltFitted) and day is not None]
        return days[-1] if days else self.facts.on

    def _days(self) -> Iterator[tuple[EntryBase, date | None]]:
        """The entries that stand with the day they were typed: an entry without one has that of the entry before."""
        last: date | None = None
        typed: dict[int, date | None] = {}
        for entry in self.entries:
            last = entry.entered.date() if entry.entered is not None else last
            typed[id(entry)] = last
        for entry in self.standing:
            yield entry, typed[id(entry)]

    @property
    def due(self) -> Due | None:
        """When the belt is due again; None where the drive file gives no interval."""
        return next_due(self.drive, self.fitted, self.km)

    @property
    def due_words(self) -> str:
        """When the belt is due again, in words."""
        return NO_DUE if self.due is None else self.due.words(self.facts.miles)

    @property
    def km_words(self) -> str:
        """What the odometer showed, in words; empty where nobody read it."""
        return "" if self.km is None else distance_words(self.km, self.facts.miles)

    @property
    def record_words(self) -> str:
        """The record number with its name."""
        return f"{PHRASES['checkpoint'].capitalize()} {self.checkpoint.short}"

    @property
    def is_invented(self) -> bool:
        """True for a drive that was invented for practice."""
        return "invented" in self.drive.source.lower() or "invented" in self.drive.name.lower()

    @property
    def was_turned(self) -> Check | None:
        """The check that the engine was turned by hand, where it is proven."""
        return next(
            (c for c in self.assessment.checks if c.id.startswith(TURNED) and c.verdict is Verdict.PROVEN), None
        )


def renewed(handed: HandedOver) -> tuple[str, ...]:
    """The belts and parts that were fitted, in words, each once."""
    said = [
        _belt(entry, handed) if isinstance(entry, BeltFitted) else _part(entry)
        for entry in handed.standing
        if isinstance(entry, BeltFitted | PartFitted)
    ]
    return tuple(dict.fromkeys(said))


def renewed_fasteners(handed: HandedOver) -> tuple[str, ...]:
    """The single-use fasteners of which an entry says that they are new."""
    places = Places(handed.drive)
    new = {
        name
        for entry in handed.standing
        if isinstance(entry, TorqueEntry) and entry.new
        for name in tightened(entry, places)
    }
    return tuple(fastener_name(one) for one in handed.drive.file.fastener if one.single_use and one.id in new)


def cures(handed: HandedOver) -> tuple[str, ...]:
    """What was cured, and how."""
    return tuple(entry.how for entry in handed.standing if isinstance(entry, Cured))


def proven_values(handed: HandedOver) -> tuple[tuple[str, str, str], ...]:
    """What is proven: what was checked, what was read, and what was required, in words; not what was cured first."""
    return tuple(
        (check.title, check.reading or "yes", check.requirement or "")
        for check in handed.assessment.checks
        if check.verdict is Verdict.PROVEN and check.required and not check.id.startswith(CURED)
    )


def open_checks(handed: HandedOver) -> tuple[Check, ...]:
    """The required checks that are not met, then those that are not shown."""
    required = handed.assessment.required
    return tuple(
        check for verdict in (Verdict.NOT_MET, Verdict.NOT_SHOWN) for check in required if check.verdict is verdict
    )


def spite_words(handed: HandedOver) -> tuple[str, ...]:
    """What a lead handed over in spite of, with the reason and the name."""
    titles = {check.id: check.title for check in handed.assessment.checks}
    return tuple(
        f"{titles.get(one.check, one.check)}: {one.reason} ({one.by})"
        for one in handed.assessment.overrides
        if one.known
    )


def _belt(entry: BeltData, handed: HandedOver) -> str:
    several = len(handed.drive.belts) > 1
    name = f"timing belt ({entry.belt})" if several and entry.belt else "timing belt"
    return _told(name, [entry.designation or "", f"{entry.teeth} teeth" if entry.teeth else "", _batch(entry)])


def _part(entry: PartFitted) -> str:
    name = entry.part if entry.count == 1 else f"{entry.part}, {entry.count} pieces"
    return _told(name, [entry.number or entry.designation or "", _batch(entry)])


def _batch(entry: BeltData) -> str:
    return f"batch {entry.batch}" if entry.batch else ""


def _told(name: str, more: Iterable[str]) -> str:
    return ", ".join([name, *filter(None, more)])
