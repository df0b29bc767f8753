"""Plain text for the invoice: work, what was renewed, the values it was set to, what is not shown, when it is due."""

from __future__ import annotations

from twoturn.plan.wording import capital
from twoturn.quantity.conformity import Verdict
from twoturn.report.handed_over import (
    CURED,
    INVENTED,
    TURNED,
    HandedOver,
    cures,
    open_checks,
    renewed,
    renewed_fasteners,
    spite_words,
)
from twoturn.words.terms import VERDICTS


def invoice_text(handed: HandedOver) -> str:
    """Lines to copy into an invoice, written in any program.

    Parameters
    ----------
    handed
        The job.

    Returns
    -------
    str
        Plain text: no mark-up, no tabs, one line end after each line.
    """
    lines = [
        _head(handed),
        *_block("Work", _work(handed)),
        *_block("Parts", [capital(one) for one in renewed(handed)]),
        *_block("Single-use fasteners, new", [capital(one) for one in renewed_fasteners(handed)]),
        *_block("Set to", _tightened(handed)),
        *_block("Shown", _shown(handed)),
        *_block("Not shown", [f"{one.title}: {VERDICTS[one.verdict.value]}" for one in open_checks(handed)]),
        *_block("Handed over in spite of", list(spite_words(handed))),
        f"Next due: {handed.due_words}.",
        f"{handed.record_words}.",
        *([INVENTED] if handed.is_invented else []),
    ]
    return "".join(f"{_plain(line)}\n" for line in lines)


def _head(handed: HandedOver) -> str:
    facts = handed.facts
    parts = [facts.registration, facts.model, handed.km_words, f"fitted {handed.fitted.isoformat()}"]
    job = f" (job {facts.number})" if facts.number is not None else ""
    return f"Timing belt renewed{job}: {', '.join(filter(None, parts))}"


def _work(handed: HandedOver) -> list[str]:
    belts = len(handed.drive.belts)
    turned = handed.was_turned
    return [
        f"{capital(f'{belts} timing belts' if belts > 1 else 'timing belt')} renewed and set by the values of: "
        f"{handed.drive.source}",
        *(f"Cured: {how}" for how in cures(handed)),
        *([f"Engine turned by hand: {turned.reading or 'yes'}; timing and setting read again"] if turned else []),
    ]


def _tightened(handed: HandedOver) -> list[str]:
    """Torques and angles that are proven, one line a fastener."""
    return [
        f"{check.title.partition(': ')[2]}: {check.reading}"
        for check in handed.assessment.checks
        if check.id.startswith("torque-") and check.verdict is Verdict.PROVEN
    ]


def _shown(handed: HandedOver) -> list[str]:
    return [
        f"{check.title}: {check.reading or 'yes'}"
        for check in handed.assessment.required
        if check.verdict is Verdict.PROVEN and not check.id.startswith(("torque-", CURED, TURNED))
    ]


def _block(name: str, lines: list[str]) -> list[str]:
    return [f"{name}:", *(f"- {line}" for line in lines)] if lines else []


def _plain(line: str) -> str:
    """One line: no line ends, tabs or blanks that do not break."""
    return " ".join(line.replace("\u00a0", " ").replace("\u202f", " ").split())
