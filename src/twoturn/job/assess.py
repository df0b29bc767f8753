"""What the entries of a job prove: the one place where a verdict is decided. Pure: no clock, no disk, no network."""

from __future__ import annotations

import difflib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from twoturn.drive.parts import Drive
from twoturn.job.checks.base import Case, Check, Unread, build_case, sentence, stage_number
from twoturn.job.checks.belts import check_belt, check_nothing_moved
from twoturn.job.checks.fasteners import check_fasteners
from twoturn.job.checks.findings import check_findings
from twoturn.job.checks.phase import check_phases, shift_words
from twoturn.job.checks.phase_shifts import Shift
from twoturn.job.checks.pins import check_pins
from twoturn.job.checks.readings import DOUBT, check_need, matches, reading_words
from twoturn.job.checks.shafts import check_shafts
from twoturn.job.checks.tensioners import SETTING_TITLE, check_tensioners
from twoturn.job.entries.base import EntryBase
from twoturn.job.entries.record import Override
from twoturn.job.explain import with_explanation
from twoturn.job.needs import Need, needs_of
from twoturn.job.order import Timeline
from twoturn.job.places import check_slug
from twoturn.job.steps import step_numbers
from twoturn.plan.wording import place_name
from twoturn.quantity.conformity import Verdict, worst
from twoturn.quantity.reading import Reading
from twoturn.words.numbers import list_words
from twoturn.words.terms import QUANTITIES

SHOWN_BY_CHECKS = frozenset({"mark", "pin", "pin depth", "cam phase"})


@dataclass(frozen=True)
class Value:
    """A number measured without a requirement: it is printed and proves nothing.

    Attributes
    ----------
    entry
        Number of its entry.
    title
        What was measured, and where.
    reading
        The number in words, with U.
    value
        The number; None for a plain yes or no.
    note
        What must be said of it; empty when nothing.
    """

    entry: int
    title: str
    reading: str
    value: Reading | None
    note: str = ""

    def as_json(self) -> dict[str, Any]:
        """Keys ``entry``, ``title``, ``reading``, ``value``, ``note``."""
        value = None if self.value is None else self.value.as_json()
        return {
            "entry": self.entry,
            "title": self.title,
            "reading": self.reading,
            "value": value,
            "note": self.note or None,
        }


@dataclass(frozen=True)
class Overridden:
    """A check that a lead hands over in spite of.

    Attributes
    ----------
    check
        Id of the check.
    reason, by
        Why, and who stands for it.
    entry
        Number of its entry.
    known
        False when no check has that id.
    """

    check: str
    reason: str
    by: str
    entry: int
    known: bool

    def as_json(self) -> dict[str, Any]:
        """Keys ``check``, ``reason``, ``by``, ``entry``, ``known``."""
        return {"check": self.check, "reason": self.reason, "by": self.by, "entry": self.entry, "known": self.known}


@dataclass(frozen=True)
class LeftOutReading:
    """A reading left out: number of its entry, and the reason."""

    entry: int
    reason: str


@dataclass(frozen=True)
class Assessment:
    """What the entries of a job prove.

    Attributes
    ----------
    verdict
        The worst of the required checks.
    checks
        All checks, in the order of the work.
    value_only
        Numbers measured without a requirement.
    overrides
        Checks that a lead hands over in spite of.
    left_out
        Readings left out, with the reasons.
    corrections
        Number of the correction, by the number of the entry it corrects.
    """

    verdict: Verdict
    checks: tuple[Check, ...]
    value_only: tuple[Value, ...]
    overrides: tuple[Overridden, ...]
    left_out: tuple[LeftOutReading, ...]
    corrections: dict[int, int]

    @property
    def required(self) -> tuple[Check, ...]:
        """The checks that bind the verdict."""
        return tuple(check for check in self.checks if check.required)

    @property
    def not_shown(self) -> tuple[str, ...]:
        """Ids of the checks that are not shown."""
        return tuple(check.id for check in self.checks if check.verdict is Verdict.NOT_SHOWN)

    @property
    def not_met(self) -> tuple[str, ...]:
        """Ids of the checks that are not met."""
        return tuple(check.id for check in self.checks if check.verdict is Verdict.NOT_MET)

    @property
    def override_warnings(self) -> tuple[str, ...]:
        """A sentence for every override that names no check, with the ids nearest to what it names."""
        ids = [check.id for check in self.checks]
        said = []
        for one in self.overrides:
            if not one.known:
                near = difflib.get_close_matches(one.check, ids, n=3, cutoff=0.4) or list(self.not_met + self.not_shown)
                quoted = [f'"{name}"' for name in near[:3]]
                meant = f"; perhaps {list_words(quoted, 'or')}" if near else ""
                said.append(f'Entry {one.entry}: no check has the id "{one.check}"{meant}.')
        return tuple(said)

    def answered(self, check: Check) -> Overridden | None:
        """A lead's reason that stands for a check: the last one given after everything that the check rests on."""
        newest = max(check.entries, default=0)
        return next((one for one in reversed(self.overrides) if one.check == check.id and one.entry > newest), None)

    def check(self, check_id: str) -> Check:
        """The check of that id; KeyError when there is none."""
        for check in self.checks:
            if check.id == check_id:
                return check
        raise KeyError(check_id)


def assess(drive: Drive, entries: Sequence[EntryBase], unread: Mapping[int, Unread] | None = None) -> Assessment:
    """What the entries of a job prove against what its drive requires.

    Parameters
    ----------
    drive
        The drive.
    entries
        All entries of the record, in order.
    unread
        Why a recording gave no reading, by number of its entry; None where that is not known.

    Returns
    -------
    Assessment
        The same for the same drive and entries, always.
    """
    timeline = Timeline(entries, step_numbers(drive))
    case = build_case(drive, timeline, unread)
    needs = needs_of(drive, case.places)
    phases, loose, phase_readings = check_phases(case)
    case = replace(case, evidence=(*case.evidence, *phase_readings))
    checks = [
        *check_findings(case),
        *(check for belt in drive.belts for check in check_belt(belt, case)),
        *check_fasteners(case),
        *_needed(needs, case),
        *check_tensioners(case, needs),
        *check_shafts(case, needs),
        *phases,
        *check_pins(case),
        check_nothing_moved(case),
    ]
    checks = with_explanation(_unlike(checks), case)
    ordered = tuple(sorted(checks, key=stage_number))
    return Assessment(
        verdict=worst(check.verdict for check in ordered if check.required),
        checks=ordered,
        value_only=_values(case, needs, loose, _pointers_used(ordered)),
        overrides=_overrides(case, ordered),
        left_out=_left_out(case),
        corrections=dict(timeline.replaced),
    )


def _unlike(checks: list[Check]) -> list[Check]:
    """Every id once: a requirement named like a check of our own gets a number behind it."""
    seen: dict[str, int] = {}
    out = []
    for check in checks:
        seen[check.id] = seen.get(check.id, 0) + 1
        out.append(check if seen[check.id] == 1 else check.but(id=f"{check.id}-{seen[check.id]}"))
    return out


def _needed(needs: tuple[Need, ...], case: Case) -> list[Check]:
    """The checks of all requirements; of several that stand for each other, one that is proven will do."""
    pairs = [(need, check_need(need, case)) for need in needs]
    return [_beside(check, _alternatives(need, pairs)) for need, check in pairs]


def _alternatives(need: Need, pairs: list[tuple[Need, Check]]) -> list[Check]:
    """The checks that may stand for a requirement, by ``instead_of`` of the drive file."""
    key = need.alternatives
    return [other for one, other in pairs if key is not None and one is not need and one.alternatives == key]


def _beside(check: Check, others: list[Check]) -> Check:
    """A check beside those that may stand for it: where it is not shown, whether it is needed, in words."""
    if check.verdict is not Verdict.NOT_SHOWN or not others:
        return check
    proven = [other for other in others if other.verdict is Verdict.PROVEN]
    if proven:
        why = f"{check.why} The source lets another stand for it: {proven[0].title.lower()}."
        return check.but(required=False, why=sentence(why))
    failed = [other for other in others if other.verdict is Verdict.NOT_MET]
    if failed and check.value is None:
        first = f"the {_lower(failed[0].title)} is not met: put that right first, then one of the two is enough"
        return check.but(required=False, why=sentence(f"{check.why} Not needed now: {first}"))
    names = list_words([f"the {_lower(other.title)}" for other in others], "or")
    return check.but(notes=(*check.notes, f"One is enough: this, or {names}, by instead_of in the drive file."))


def _lower(title: str) -> str:
    return title[:1].lower() + title[1:]


def _pointers_used(checks: tuple[Check, ...]) -> set[int]:
    """Numbers of the entries that a check of a tensioner's setting already shows."""
    return {number for check in checks if check.title.startswith(SETTING_TITLE) for number in check.entries}


def _values(case: Case, needs: tuple[Need, ...], loose: list[Shift], used: set[int]) -> tuple[Value, ...]:
    """Numbers that no requirement asks for, each with its U."""
    found = []
    for item in case.evidence:
        if item.quantity in SHOWN_BY_CHECKS and item.shaft is not None:
            continue
        if item.quantity == "pointer" and item.act.number in used:
            continue
        if item.value is None or any(matches(need, item, case) for need in needs):
            continue
        unsure = [] if item.u_told else ["Entered without its uncertainty."]
        note = " ".join([*unsure, *(f"{DOUBT}{sentence(doubt)}" for doubt in item.doubts)])
        found.append(
            Value(item.act.number, _title(item.quantity, item.place, case), reading_words(item), item.value, note)
        )
    for shift in loose:
        title = f"{QUANTITIES['cam phase'].capitalize()}, {place_name(case.drive, shift.shaft)}, against as found"
        note = "Says only whether it changed since arrival."
        found.append(Value(shift.act.number, title, shift_words(shift.reading), shift.reading, note))
    return tuple(found)


def _title(quantity: str, place: str | None, case: Case) -> str:
    words = QUANTITIES[quantity]
    return words[:1].upper() + words[1:] + (f", {place_name(case.drive, place)}" if place else "")


def _overrides(case: Case, checks: tuple[Check, ...]) -> tuple[Overridden, ...]:
    known = {check.id for check in checks}
    found = []
    for act in case.timeline.acts:
        entry = act.entry
        if isinstance(entry, Override):
            for name in entry.check:
                check_id = name if name in known else check_slug(name)
                found.append(Overridden(check_id, entry.reason, entry.by or "", act.number, check_id in known))
    return tuple(found)


def _left_out(case: Case) -> tuple[LeftOutReading, ...]:
    return tuple(LeftOutReading(number, reason) for number, reason in sorted(case.timeline.left_out.items()))
