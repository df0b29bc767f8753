"""What explains marks that are out: which sprocket is how many teeth off, and how sure that is."""

from __future__ import annotations

from twoturn.errors import DomainError
from twoturn.job.checks.base import Case, Check
from twoturn.job.evidence import Evidence as Read
from twoturn.quantity.conformity import Verdict
from twoturn.timing.evidence import Evidence, mark_evidence, pin_evidence
from twoturn.timing.teeth_out import explain
from twoturn.words.numbers import sure_words


def with_explanation(checks: list[Check], case: Case) -> list[Check]:
    """The checks, with a note on every timing check that is not met: the most probable whole-tooth slips.

    Whole teeth only explain; the verdicts stay as they are.
    """
    out = {check.id for check in checks if check.id.startswith("timing-") and check.verdict is Verdict.NOT_MET}
    if not out:
        return checks
    note = _note(case)
    if not note:
        return checks
    return [check.but(notes=(*check.notes, *note)) if check.id in out else check for check in checks]


def _note(case: Case) -> tuple[str, ...]:
    seen = [one for item in case.of("mark", "pin") if (one := _evidence(item, case)) is not None]
    if not any(item.shaft != case.drive.crankshaft.id for item in seen):
        return ()
    try:
        found = explain(case.drive, seen)
    except DomainError:
        return ()
    best = found.best
    if not best.slips:
        return ()
    return (f"Most probable: {best.words} ({sure_words(best.probability)}).", *found.cannot_separate[:1])


def _evidence(item: Read, case: Case) -> Evidence | None:
    if item.shaft is None or not case.state.standing(item.act, item.touched, "after turns").counts:
        return None
    try:
        if item.quantity == "mark" and item.value is not None and not item.either_sign:
            return mark_evidence(case.drive, item.shaft, item.value.value)
        if item.quantity == "pin" and item.yes:
            return pin_evidence(item.shaft)
    except DomainError:
        return None
    return None
