"""The label that stays under the bonnet: what was renewed, when, at which distance, when it is due again."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from twoturn.plan.wording import capital
from twoturn.quantity.conformity import Verdict
from twoturn.report.handed_over import HandedOver, open_checks, renewed, renewed_fasteners
from twoturn.report.typeset import typeset
from twoturn.words.numbers import list_words

LONGEST = 150
SHORT = "Invented for practice"


def label_pdf(handed: HandedOver, timestamp: datetime | None = None) -> bytes:
    """Typeset the label.

    Parameters
    ----------
    handed
        The job.
    timestamp
        The time the document carries.

    Returns
    -------
    bytes
        A PDF of one page, 100 × 62 mm, by PDF/UA-1 and PDF/A-2a.

    Raises
    ------
    SheetError
        It cannot be typeset.
    """
    return typeset("label", label_data(handed), timestamp=timestamp)


def label_data(handed: HandedOver) -> dict[str, Any]:
    """What the template prints, as JSON can hold it."""
    facts = handed.facts
    turned = handed.was_turned
    rows = [
        ["Renewed", _renewed(handed)],
        ["Fitted", " at ".join(filter(None, [handed.fitted.isoformat(), handed.km_words]))],
        ["Next due", handed.due_words.removesuffix(", whichever comes first").replace(", or at", " or at")],
        [
            "Turned",
            "not in the record" if turned is None else f"{turned.reading or 'yes'} by hand after fitting, then read",
        ],
    ]
    if facts.shop:
        rows.append(["Workshop", facts.shop])
    return {
        "title": f"Label: {facts.registration or handed.drive.name}",
        "heading": "Timing belt renewed",
        "registration": facts.registration,
        "rows": rows,
        "warning": _warning(handed),
        "by": facts.by,
        "record": handed.record_words,
    }


def _renewed(handed: HandedOver) -> str:
    said = list_words([*renewed(handed), *renewed_fasteners(handed)]) or "see the proof sheet"
    return capital(
        said if len(said) <= LONGEST else f"{said[: LONGEST - 1].rsplit(', ', 1)[0]} … (see the proof sheet)"
    )


def _warning(handed: HandedOver) -> str:
    said = [SHORT] if handed.is_invented else []
    unmet = [check for check in open_checks(handed) if check.verdict is Verdict.NOT_MET]
    if unmet:
        said.append("checks not met: see the proof sheet")
    elif open_checks(handed):
        said.append("checks not shown: see the proof sheet")
    return capital("; ".join(said)) + ("." if said else "")
