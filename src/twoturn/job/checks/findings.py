"""Severe findings: each must be cured, and signed so, before the belt goes on."""

from __future__ import annotations

from dataclasses import dataclass

from twoturn.findings.catalogue import finding
from twoturn.job.checks.base import Case, Check
from twoturn.job.entries.found import Cured, FindingEntry
from twoturn.job.order import Act
from twoturn.quantity.conformity import Verdict
from twoturn.words.numbers import list_words


@dataclass(frozen=True)
class _Found:
    act: Act
    entry: FindingEntry


def check_findings(case: Case) -> list[Check]:
    """One check for each severe finding that is present; others only ask.

    Parameters
    ----------
    case
        The job.
    """
    by_id: dict[str, list[_Found]] = {}
    for act in case.timeline.acts:
        if isinstance(act.entry, FindingEntry):
            for name, present in act.entry.said.items():
                if present and finding(name).severe:
                    by_id.setdefault(name, []).append(_Found(act, act.entry))
    return [_check(name, found, case) for name, found in by_id.items()]


def _check(name: str, found: list[_Found], case: Case) -> Check:
    known = finding(name)
    cures = _cures(name, found, case)
    check = Check(
        f"finding-{name}",
        f"Cure first: {known.words}",
        "look",
        True,
        Verdict.NOT_SHOWN,
        "found",
        "cured, and signed so, before the belt went on",
        "It was found, and no entry says what cured it.",
        f"Cure it ({list_words(list(known.cured_by), 'or')}) and enter what cured it."
        if known.cured_by
        else "Cure it.",
        source=known.basis,
        kind="default",
        entries=tuple(item.act.number for item in found),
    )
    if not cures:
        return check
    check = check.but(entries=(*check.entries, *(act.number for act, _ in cures)))
    fresh = [cure for cure in cures if not any(case.state.before(cure[0], item.act) for item in found)]
    if not fresh:
        return check.but(why="It was found again after it had been cured.")
    how = fresh[-1][1].how
    check = check.but(reading=f"cured: {how}")
    belts = _belts_meant(found, case)
    fittings = [act for act, on in case.state.fitted if belts & on]
    if not fittings:
        return check.but(
            why="It was cured; no entry says that a belt was fitted afterwards.", next='Enter "belt fitted".'
        )
    if all(_fitted_after(fresh, belt, case) for belt in belts):
        return check.but(verdict=Verdict.PROVEN, why=f"Cured before the belt went on: {how}.", next="")
    if all(case.state.before(fitting, act) for fitting in fittings for act, _ in fresh):
        why = "It was cured only after the belt had gone on."
        return check.but(verdict=Verdict.NOT_MET, why=why, next="Fit a new belt now that it is cured.")
    return check.but(
        why="Whether it was cured before the belt went on cannot be told.", next="Say in done when it was cured."
    )


def _fitted_after(cures: list[tuple[Act, Cured]], belt: str, case: Case) -> bool:
    return any(case.state.before(act, fitting) for act, _ in cures for fitting, on in case.state.fitted if belt in on)


def _belts_meant(found: list[_Found], case: Case) -> frozenset[str]:
    named = [item.entry.belt for item in found]
    return frozenset(belt for name in named for belt in case.places.belts_of(name))


def _cures(name: str, found: list[_Found], case: Case) -> list[tuple[Act, Cured]]:
    """The cures that name the finding, or an entry that holds it."""
    entries = {item.act.entry.id for item in found if item.act.entry.id}
    numbers = {str(item.act.number) for item in found}
    return [
        (act, act.entry)
        for act in case.timeline.acts
        if isinstance(act.entry, Cured) and set(act.entry.finding) & {name, *entries, *numbers}
    ]
