"""What a drive file tells of a plucked span: its length and mass, the note to expect, what is required of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from twoturn.acts.drive import SolvedDrive, notes_of, solve_drive
from twoturn.errors import DomainError
from twoturn.job.needs import Need, needs_of
from twoturn.job.places import Places
from twoturn.mechanics.setting.closing import DOUBT
from twoturn.pluck.of_drive import MEASURED, check_length, length_doubts, span_names, span_of
from twoturn.pluck.span import Span
from twoturn.pluck.worth import SpanAdvice
from twoturn.quantity.conformity import Verdict, accept_simple, decide
from twoturn.quantity.reading import Reading
from twoturn.words.terms import span_id

SAYS = {Verdict.PROVEN: "inside", Verdict.NOT_MET: "outside", Verdict.NOT_SHOWN: "reaches over a limit"}


@dataclass(frozen=True)
class OfDrive:
    """What a drive file tells of a plucked span.

    Attributes
    ----------
    name
        The span as the drive calls it; None where none was named.
    span
        Its length, mass and bending; None where the drive does not tell them.
    lacking
        Why there is no span although it was named, or what to name; empty where there is one.
    notes
        The note that each span is to give, the one worth plucking first.
    silent
        Why no note to expect is known of any span; empty where one is.
    doubts
        That the drive file contradicts itself; empty where it does not.
    needs
        What the file requires of note and tension of this span, or of any where none was named.
    length_doubts
        That the free span as measured is far from what the file makes it; empty where it is not.
    """

    name: str | None
    span: Span | None
    lacking: str
    notes: tuple[SpanAdvice, ...]
    silent: str
    doubts: tuple[str, ...]
    needs: tuple[Need, ...]
    length_doubts: tuple[str, ...] = ()


def of_drive(
    drive_file: str | Path, span: str | None, temperature_c: float | None, length_mm: float | None = None
) -> OfDrive:
    """What a drive file tells of a span.

    Parameters
    ----------
    drive_file
        The drive file.
    span
        Name of a span, ``"crank:tensioner"`` or as printed, ``"crank to tensioner"``; None for none.
    temperature_c
        Temperature of the engine [°C]; the reference temperature when None.
    length_mm
        Free length as measured [mm]; None to take it from the drive's geometry.

    Raises
    ------
    DomainError
        The drive has no such span.
    """
    check_length(length_mm)
    solved = solve_drive(drive_file, temperature_c)
    name = None if span is None else _known(solved, span)
    found, lacking = None, ""
    if name is None:
        lacking = "newtons need the span: name it with --span FROM:TO"
        if any(rest.shape is None for rest in solved.belts):
            lacking += ", and its free length with --length-mm, because the drive file gives no coordinates"
    else:
        try:
            found = span_of(solved.belts, name, length_mm)
        except DomainError as error:
            lacking = error.sentence.rstrip(".")
    notes = notes_of(solved)
    doubts = () if length_mm is not None or name is None else _doubts(solved, name, str(drive_file))
    measured = () if name is None else length_doubts(solved.belts, name, length_mm)
    return OfDrive(name, found, lacking, notes, _silent(solved, notes), doubts, _needs(solved, name), measured)


def _known(solved: SolvedDrive, span: str) -> str:
    """A span's name as the drive has it, in either order; refused where there is none."""
    names = [name for rest in solved.belts for name in span_names(rest.belt)]
    asked = span_id(span)
    for name in (asked, ":".join(reversed(asked.split(":")))):
        if name in names:
            return name
    raise DomainError(f'this drive has no span "{span}"', allowed=", ".join(names))


def _doubts(solved: SolvedDrive, name: str, file: str) -> tuple[str, ...]:
    """That path and belt contradict each other on the span's belt: then no computed length is sure."""
    found = []
    for rest in solved.belts:
        told = [words.removeprefix(DOUBT) for words in rest.why if words.startswith(DOUBT)]
        if told and name in span_names(rest.belt):
            what = told[0].split(". That is")[0]
            found.append(
                f"the drive file contradicts itself: {what}. The free length, and so the newtons, may be wrong by more "
                f"than the ± says: mend the file (twoturn drive {file} says what), or {MEASURED}"
            )
    return tuple(found)


def _silent(solved: SolvedDrive, notes: Sequence[SpanAdvice]) -> str:
    """Why no note to expect is known; empty where one is, or the drive has no coordinates to compute it from."""
    if any(row.now.low_hz is not None for row in notes) or not notes:
        return ""
    why = [words for rest in solved.belts for words in rest.why if not words.startswith(DOUBT)]
    reason = why[0].rstrip(".") if why else "the drive file tells no tension, or neither mass nor width of the belt"
    return f"{reason[:1].upper()}{reason[1:]}"


def _needs(solved: SolvedDrive, name: str | None) -> tuple[Need, ...]:
    """What the drive file requires of the note or the tension of a span."""
    ends = None if name is None else frozenset(name.split(":"))
    rows = needs_of(solved.drive, Places(solved.drive))
    return tuple(
        need
        for need in rows
        if need.quantity in ("frequency", "tension")
        and need.limits is not None
        and need.state != "as found"
        and (ends is None or need.span in (None, ends))
    )


def held_against(need: Need, frequency: Reading, tension: Reading | None) -> str:
    """What a reading says of a requirement: ``"inside"``, ``"outside"``, ``"reaches over a limit"``; empty for none.

    Parameters
    ----------
    need
        A requirement on note or tension.
    frequency, tension
        Note [Hz] and tension [N] of the span; None where there is none.
    """
    reading = frequency if need.quantity == "frequency" else tension
    if need.limits is None or reading is None or reading.unit != need.limits.unit:
        return ""
    if need.method == "as prescribed":
        return SAYS[accept_simple(reading.value, need.limits)]
    return SAYS[decide(reading, need.limits)]


def need_json(need: Need, says: str) -> dict[str, Any]:
    """One requirement for the command line's JSON."""
    limits = need.limits
    return {
        "id": need.id,
        "title": need.title,
        "text": need.text,
        "low": limits.low if limits else None,
        "high": limits.high if limits else None,
        "unit": limits.unit if limits else None,
        "source": need.source,
        "says": says or None,
    }
