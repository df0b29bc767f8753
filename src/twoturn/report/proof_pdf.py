"""The proof sheet: what a job shows, what it does not show, and the record it rests on."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from twoturn.drive.parts import Drive
from twoturn.job.assess import Assessment
from twoturn.job.chain import Checkpoint
from twoturn.job.checks.base import Check
from twoturn.job.checks.readings import DOUBT
from twoturn.job.entries.base import EntryBase
from twoturn.job.entries.vehicle import Odometer, Vehicle
from twoturn.job.entry_words import entry_row
from twoturn.quantity.conformity import Verdict
from twoturn.report.typeset import printed_width_mm, typeset
from twoturn.words.cautions import DEFERENCE
from twoturn.words.terms import PHRASES, STAGES, VERDICTS

SIGNS = {Verdict.PROVEN: "tick", Verdict.NOT_SHOWN: "open", Verdict.NOT_MET: "cross"}
AFTERWARDS = (
    "A new noise from the belt side (knock, slap, whine), a warning lamp or oil, coolant or fuel at the belt cover: "
    "stop the engine, do not start it again, and call the workshop.",
    "The belt is not to be oiled, sprayed or tensioned by hand; covers stay closed.",
)


@dataclass(frozen=True)
class Picture:
    """A drawing or plot of the sheet.

    Attributes
    ----------
    title, alt
        Its heading, and the words that stand for it.
    svg
        The picture.
    words
        Sentences under it.
    wide
        True for a drawing that needs the whole width of the page.
    """

    title: str
    alt: str
    svg: str
    words: tuple[str, ...] = ()
    wide: bool = False


@dataclass(frozen=True)
class ProofRecord:
    """What a proof sheet is made of.

    Attributes
    ----------
    drive, assessment, checkpoint
        The drive, what the entries prove, and the record number.
    entries
        The entries of the record, in order.
    said
        What was said while recordings were read.
    drawings, plots
        Pictures of the drive, and of the recordings.
    told
        What stands beside the record, printed before its facts: pairs of name and value, such as the workshop's.
    put_right
        Sentences on checks that were not met once and are proven now.
    no_entry
        Titles of the steps of the plan that no entry speaks of, in order.
    steps
        Titles of all steps of the plan, by id.
    """

    drive: Drive
    assessment: Assessment
    checkpoint: Checkpoint
    entries: tuple[EntryBase, ...]
    said: tuple[str, ...] = ()
    drawings: tuple[Picture, ...] = ()
    plots: tuple[Picture, ...] = field(default=())
    told: tuple[tuple[str, str], ...] = ()
    put_right: tuple[str, ...] = ()
    no_entry: tuple[str, ...] = ()
    steps: Mapping[str, str] = field(default_factory=dict)


def proof_pdf(record: ProofRecord, timestamp: datetime | None = None) -> bytes:
    """Typeset a proof sheet.

    Parameters
    ----------
    record
        What it is made of.
    timestamp
        The time the document carries.

    Returns
    -------
    bytes
        A PDF by PDF/UA-1 and PDF/A-2a.

    Raises
    ------
    SheetError
        It cannot be typeset.
    """
    drawn = {f"drawing {number}": picture.svg for number, picture in enumerate(record.drawings, 1)}
    plotted = {f"plot {number}": picture.svg for number, picture in enumerate(record.plots, 1)}
    return typeset("proof", proof_data(record), drawn | plotted, timestamp)


def proof_data(record: ProofRecord) -> dict[str, Any]:
    """What the template prints, as JSON can hold it."""
    found = record.assessment
    verdict = found.verdict
    return {
        "title": f"Proof sheet: {record.drive.name}",
        "drive": record.drive.name,
        "source": record.drive.source,
        "verdict": VERDICTS[verdict.value],
        "sign": SIGNS[verdict],
        "summary": _summary(found),
        "put_right": list(record.put_right),
        "facts": _facts(record),
        "open": [_check(check) for check in _worst_first(found.checks) if check.required],
        "proven": _by_stage([check for check in found.checks if check.verdict is Verdict.PROVEN]),
        "unneeded": [
            _check(check) for check in found.checks if check.verdict is not Verdict.PROVEN and not check.required
        ],
        "values_heading": PHRASES["value only heading"],
        "values": [{"title": value.title, "reading": value.reading, "note": value.note} for value in found.value_only],
        "overrides": [
            f"{one.check}: {one.reason} ({one.by})" + ("" if one.known else "; no check has that id")
            for one in found.overrides
        ],
        "left_out": [f"Entry {one.entry}: {one.reason}" for one in found.left_out],
        "no_entry": list(record.no_entry),
        "said": list(record.said),
        "drawings": _pictures("drawing", record.drawings),
        "plots": _pictures("plot", record.plots),
        "afterwards": list(AFTERWARDS),
        "entries": [entry_row(number, entry, record.steps) for number, entry in enumerate(record.entries, 1)],
        "corrections": {str(old): new for old, new in found.corrections.items()},
        "checkpoint": record.checkpoint.short,
        "count": record.checkpoint.entries,
        "footer": _footer(record),
    }


def _summary(found: Assessment) -> str:
    required = found.required
    counts = {verdict: sum(check.verdict is verdict for check in required) for verdict in Verdict}
    parts = [f"{counts[verdict]} {VERDICTS[verdict.value]}" for verdict in Verdict if counts[verdict]]
    return f"{len(required)} required checks: " + ", ".join(parts) + "."


def _facts(record: ProofRecord) -> list[list[str]]:
    rows: list[list[str]] = [[name, value] for name, value in record.told if value]
    for entry in record.entries:
        if isinstance(entry, Vehicle):
            named = {
                "Registration": entry.registration,
                "Vehicle number": entry.vin,
                "Vehicle": entry.model,
                "Engine": entry.engine,
                "Customer": entry.customer,
            }
            rows += [[name, value] for name, value in named.items() if value]
        if isinstance(entry, Odometer):
            rows.append(["Distance run", f"{entry.km:,.0f} km".replace(",", " ")])
    people = list(dict.fromkeys(entry.by for entry in record.entries if entry.by))
    typed = [entry.entered for entry in record.entries if entry.entered]
    if people:
        rows.append(["Entered by", ", ".join(people)])
    if typed:
        first, last = min(typed, key=_stamp), max(typed, key=_stamp)
        rows.append(["Typed", f"{_stamp(first)}" + (f" to {_stamp(last)}" if _stamp(last) != _stamp(first) else "")])
    return rows


def _stamp(moment: datetime) -> str:
    return moment.strftime("%Y-%m-%d %H:%M")


def _worst_first(checks: Sequence[Check]) -> list[Check]:
    """What is not met, then what is not shown, each in the order of the work."""
    return [check for verdict in (Verdict.NOT_MET, Verdict.NOT_SHOWN) for check in checks if check.verdict is verdict]


def _check(check: Check) -> dict[str, Any]:
    return {
        "id": check.id,
        "title": check.title,
        "stage": STAGES[check.stage],
        "verdict": VERDICTS[check.verdict.value],
        "sign": SIGNS[check.verdict],
        "reading": check.reading or "–",
        "requirement": check.requirement or "–",
        "source": _source(check),
        "why": check.why,
        "next": check.next,
        "notes": [note if note.startswith(DOUBT) else f"Note: {note}" for note in check.notes],
        "entries": ", ".join(str(number) for number in check.entries),
    }


def _source(check: Check) -> str:
    how = {"as prescribed": "yes or no, as prescribed", "measured": "measured, decided with its uncertainty"}
    parts = [check.source, how.get(check.method, "")]
    return "; ".join(part for part in parts if part)


def _by_stage(checks: Sequence[Check]) -> list[dict[str, Any]]:
    stages: dict[str, list[dict[str, Any]]] = {}
    for check in checks:
        stages.setdefault(STAGES[check.stage], []).append(_check(check))
    return [{"name": name, "checks": rows} for name, rows in stages.items()]


def _pictures(kind: str, pictures: Sequence[Picture]) -> list[dict[str, Any]]:
    return [
        {
            "name": f"{kind} {number}",
            "title": picture.title,
            "alt": picture.alt,
            "words": list(picture.words),
            "wide": picture.wide,
            "width_mm": printed_width_mm(picture.svg),
        }
        for number, picture in enumerate(pictures, 1)
    ]


def _footer(record: ProofRecord) -> list[str]:
    invented = ["Invented data for practice: not for any real engine."] if "invented" in record.drive.source else []
    number = f"{PHRASES['checkpoint'].capitalize()} {record.checkpoint.short}"
    return [f"{record.drive.name} · {number}", DEFERENCE, *invented]
