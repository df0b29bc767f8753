"""What ``twoturn prove`` prints for a person: the worst first, readable at 80 columns."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator

from twoturn.acts.prove import Proof
from twoturn.job.checks.base import Check
from twoturn.job.checks.readings import DOUBT
from twoturn.quantity.conformity import Verdict
from twoturn.words.cautions import DEFERENCE
from twoturn.words.terms import PHRASES, VERDICTS

WIDTH = 80
ORDER = (Verdict.NOT_MET, Verdict.NOT_SHOWN, Verdict.PROVEN)
MARKS = {Verdict.NOT_MET: "x", Verdict.NOT_SHOWN: "?", Verdict.PROVEN: "+"}


def prove_lines(proof: Proof) -> Iterator[str]:
    """Lines of a job judged: verdict, checks by verdict, values without requirement, overrides, record number."""
    found = proof.assessment
    yield f"{proof.job.drive.name}: {VERDICTS[found.verdict.value]}"
    yield from _wrapped("", f"Source of the values: {proof.job.drive.source}.")
    for verdict in ORDER:
        checks = sorted((check for check in found.checks if check.verdict is verdict), key=lambda one: not one.required)
        if checks:
            yield ""
            yield f"{VERDICTS[verdict.value].capitalize()} ({len(checks)})"
        for check in checks:
            yield from _proven(check) if verdict is Verdict.PROVEN else _open(check)
    yield from _values(proof)
    yield from _record(proof)


def _proven(check: Check) -> Iterator[str]:
    yield from _wrapped(f"  {MARKS[check.verdict]} ", f"{check.title}: {check.reading or check.why}")
    yield from _notes(check)


def _open(check: Check) -> Iterator[str]:
    extra = "" if check.required else " (not required)"
    yield from _wrapped(f"  {MARKS[check.verdict]} ", f"{check.title}{extra}  [{check.id}]")
    yield from _wrapped("      ", check.why)
    if not check.required and check.verdict is Verdict.NOT_SHOWN:
        return
    if check.requirement:
        yield from _wrapped("      required: ", check.requirement)
    if check.next:
        yield from _wrapped("      next: ", check.next)
    yield from _notes(check)


def _notes(check: Check) -> Iterator[str]:
    for note in check.notes:
        lead = "" if note.startswith(DOUBT) else "note: "
        yield from _wrapped(f"      {lead}", note)


def _values(proof: Proof) -> Iterator[str]:
    values = proof.assessment.value_only
    if values:
        yield ""
        yield PHRASES["value only heading"]
    for value in values:
        yield from _wrapped("  - ", f"{value.title}: {value.reading}. {value.note}".rstrip())


def _record(proof: Proof) -> Iterator[str]:
    found = proof.assessment
    yield ""
    for override in found.overrides:
        unknown = "" if override.known else " (no check of that id)"
        yield from _wrapped("Handed over in spite of ", f"{override.check}{unknown}, {override.by}: {override.reason}")
    for one in found.left_out:
        yield from _wrapped("Left out: ", f"entry {one.entry}: {one.reason}")
    for old, new in sorted(found.corrections.items()):
        yield f"Entry {old} is corrected by entry {new}."
    for words in (*proof.filled.read.values(), *proof.filled.warnings):
        yield from _wrapped("", words)
    if proof.filled.digests:
        yield "To fix the recordings in the record, add:"
    for number, digest in sorted(proof.filled.digests.items()):
        yield f"  to entry {number}:"
        yield f'  sha256 = "{digest}"'
    yield f"{PHRASES['checkpoint'].capitalize()}: {proof.checkpoint.short}"
    if proof.proof_sheet is not None:
        yield f"Proof sheet: {proof.proof_sheet}"
    yield from _wrapped("", DEFERENCE)


def _wrapped(lead: str, text: str) -> Iterator[str]:
    indent = " " * (len(lead) if len(lead) < 20 else 6)
    rows = textwrap.wrap(text, WIDTH, initial_indent=lead, subsequent_indent=indent, break_on_hyphens=False)
    yield from (row.replace("\u00a0", " ") for row in rows or [lead])
