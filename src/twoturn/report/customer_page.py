"""The customer's page: done, by which values, when it is due again, what was not shown, which noise means "stop"."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from twoturn.job.checks.base import Check
from twoturn.plan.wording import capital
from twoturn.quantity.conformity import Verdict
from twoturn.report.handed_over import (
    INVENTED,
    HandedOver,
    cures,
    open_checks,
    proven_values,
    renewed,
    renewed_fasteners,
    spite_words,
)
from twoturn.report.proof_pdf import AFTERWARDS
from twoturn.report.typeset import typeset
from twoturn.words.cautions import DEFERENCE
from twoturn.words.numbers import count_words, list_words
from twoturn.words.terms import VERDICTS

MOST_VALUES, MOST_OPEN = 24, 10
"""Rows that leave the page one page; what is more stands on the proof sheet [-]."""
OLD_PARTS = "The old parts are kept for you: ask to see them, or to take them with you, when you fetch the vehicle."
ALL_SHOWN = "Every required check is shown."
BUT_THOSE = "Every check but those named above."


def customer_pdf(handed: HandedOver, timestamp: datetime | None = None) -> bytes:
    """Typeset the customer's page.

    Parameters
    ----------
    handed
        The job.
    timestamp
        The time the document carries.

    Returns
    -------
    bytes
        A PDF of one A4 page by PDF/UA-1 and PDF/A-2a.

    Raises
    ------
    SheetError
        It cannot be typeset.
    """
    return typeset("customer", customer_data(handed), timestamp=timestamp)


def customer_data(handed: HandedOver) -> dict[str, Any]:
    """What the template prints, as JSON can hold it."""
    facts = handed.facts
    return {
        "title": f"Timing belt renewed: {facts.registration or handed.drive.name}",
        "heading": "Your timing belt was renewed",
        "shop": ", ".join(filter(None, [facts.shop, *facts.address.splitlines()])),
        "facts": _facts(handed),
        "done": _done(handed),
        "values": [list(row) for row in _values(handed)],
        "due": capital(handed.due_words) + ".",
        "due_notes": _due_notes(handed),
        "unmet": [_check(check) for check in open_checks(handed) if check.verdict is Verdict.NOT_MET],
        "open": _open(handed),
        "spite": list(spite_words(handed)),
        "stop": list(AFTERWARDS),
        "old_parts": OLD_PARTS,
        "footer": [
            f"{handed.drive.name} · {handed.record_words}",
            DEFERENCE,
            *([INVENTED] if handed.is_invented else []),
        ],
    }


def _facts(handed: HandedOver) -> list[list[str]]:
    facts = handed.facts
    vehicle = ", ".join(filter(None, [facts.registration, facts.model]))
    rows = [
        ["Vehicle", vehicle],
        ["Distance run", handed.km_words],
        ["Belt fitted", handed.fitted.isoformat()],
        ["Handed over", f"{facts.on.isoformat()} by {facts.by}"],
        ["Job", "" if facts.number is None else str(facts.number)],
    ]
    return [row for row in rows if row[1]]


def _done(handed: HandedOver) -> list[str]:
    fitted, once, cured = renewed(handed), renewed_fasteners(handed), cures(handed)
    said = [f"New: {item}." for item in fitted]
    if once:
        said.append(f"New, because they serve once: {list_words(list(once))}.")
    said += [f"Put right before the belt went on: {how}." for how in cured]
    turned = handed.was_turned
    if turned is not None:
        said.append(f"Engine turned by hand after fitting: {turned.reading or 'yes'}; then read again.")
    return said or ["See the proof sheet: no entry says which parts were fitted."]


def _values(handed: HandedOver) -> list[tuple[str, str, str]]:
    rows = list(proven_values(handed))
    if len(rows) <= MOST_VALUES:
        return rows
    more = count_words(len(rows) - MOST_VALUES + 1, "check")
    return [*rows[: MOST_VALUES - 1], (f"… and {more} more", "on the proof sheet", "")]


def _due_notes(handed: HandedOver) -> list[str]:
    due = handed.due
    if due is None:
        return []
    said = [f"Interval from: {due.source}. The vehicle maker's schedule counts where it is shorter."]
    if due.severe:
        said.append(f"Under hard use earlier: {due.severe}.")
    return said


def _open(handed: HandedOver) -> list[str]:
    checks = [check for check in open_checks(handed) if check.verdict is Verdict.NOT_SHOWN]
    said = [_check(check) for check in checks[:MOST_OPEN]]
    if len(checks) > MOST_OPEN:
        said.append(f"… and {count_words(len(checks) - MOST_OPEN, 'check')} more, on the proof sheet.")
    return said or [BUT_THOSE if open_checks(handed) else ALL_SHOWN]


def _check(check: Check) -> str:
    return f"{check.title}: {VERDICTS[check.verdict.value]}. {check.why}"
