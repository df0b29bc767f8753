"""The act of listening to a plucked span: recording to note, and note to tension."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from twoturn.acts.pluck_drive import OfDrive, held_against, need_json, of_drive
from twoturn.acts.pluck_file import sound_of
from twoturn.acts.temperatures import check_engine
from twoturn.errors import DomainError
from twoturn.job.needs import Need
from twoturn.pluck.of_drive import MEASURED_U_MM, span_doubts
from twoturn.pluck.read import read_pluck
from twoturn.pluck.result import PluckResult
from twoturn.pluck.search import Progress
from twoturn.pluck.span import Span
from twoturn.pluck.tension import TensionResult, tension_of
from twoturn.quantity.budget import Line
from twoturn.quantity.show import half_width, plus_minus, show
from twoturn.words.numbers import list_words

WEIGHED_SHARE = 0.015
"""A belt whose mass is known worse than this share of it was not weighed [-]."""
LITTLE_N = 1.0
"""Inputs that add less to the tension's uncertainty than this stand together in one line [N]."""
CAUTION = (
    "Pluck with the engine off and cold, key away. The vehicle maker's procedure and values come first; "
    "this is advice. Local law decides."
)


@dataclass(frozen=True, eq=False)
class PluckAnswer:
    """What ``twoturn pluck`` answers.

    Attributes
    ----------
    result
        The reading of the recording.
    tension
        The tension of the span; None where no drive was given or no pluck was found.
    doubts
        What makes note or tension less sure, the weightiest first.
    file
        Name of the recording.
    drive
        What the drive file tells; None without one.
    """

    result: PluckResult
    tension: TensionResult | None
    doubts: tuple[str, ...]
    file: str
    drive: OfDrive | None = None

    @property
    def required(self) -> tuple[tuple[Need, str], ...]:
        """What the drive file requires of note and tension here, and what the reading says of it."""
        note = self.result.frequency
        if self.drive is None or note is None:
            return ()
        if self.result.contested:
            return tuple((need, "") for need in self.drive.needs)
        tension = self.tension.tension if self.tension and not self.drive.doubts else None
        return tuple((need, held_against(need, note, tension)) for need in self.drive.needs)

    @property
    def why(self) -> str:
        """What was found or why not, with the tension where it was asked for."""
        parts = [self.result.why]
        if self.tension is not None:
            parts.append(self.tension.why)
        return "; ".join(parts)

    def as_json(self) -> dict[str, Any]:
        """The answer of ``twoturn pluck --json``."""
        tension = self.tension or TensionResult(None, None, "")
        answer = self.result.as_json() | tension.as_json()
        more = {
            "why": self.why,
            "doubts": list(self.doubts),
            "expected": [row.as_json() for row in self.drive.notes] if self.drive else [],
            "requirements": [need_json(need, says) for need, says in self.required],
            "caution": CAUTION,
        }
        return answer | more


def hear(
    recording: str | Path,
    drive_file: str | Path | None = None,
    span: str | None = None,
    temperature_c: float | None = None,
    progress: Progress | None = None,
    length_mm: float | None = None,
) -> PluckAnswer:
    """Read a recording of a plucked span, and its tension where drive and span are given.

    Parameters
    ----------
    recording
        The sound file.
    drive_file
        The drive file; None when only the note is wanted.
    span
        The span plucked, ``"crank:tensioner"``.
    temperature_c
        Temperature of the engine [°C]; the drive's reference temperature when None.
    progress
        Called with the share done [-].
    length_mm
        Free length of the span as measured [mm]; None to take it from the drive's geometry.

    Returns
    -------
    PluckAnswer
        Note, tension and what makes them less sure.

    Raises
    ------
    TwoTurnError
        A recording or a drive file that cannot be read, or a span that the drive does not have.
    """
    check_engine(temperature_c)
    file = Path(recording).name
    if drive_file is None:
        for told, what in ((span, f'the span "{span}"'), (length_mm, f"a length of {length_mm} mm")):
            if told is not None:
                raise DomainError(f"{what} alone tells no tension", next_step="add --drive and the drive file")
        result = read_pluck(sound_of(recording), progress)
        return PluckAnswer(result, None, result.doubts, file)
    if length_mm is not None and span is None:
        raise DomainError(f"a length of {length_mm:g} mm of no span", next_step="name the span with --span FROM:TO")
    drive = of_drive(drive_file, span, temperature_c, length_mm)
    result = read_pluck(sound_of(recording), progress)
    if result.frequency is None:
        return PluckAnswer(result, None, result.doubts, file, drive)
    doubts = result.doubts + span_doubts(result.frequency, drive.name, [row.now for row in drive.notes])
    if drive.span is None:
        return PluckAnswer(result, TensionResult(None, None, drive.lacking), doubts, file, drive)
    tension = tension_of(result.frequency, drive.span, result.second_ratio)
    more = (*drive.doubts, *drive.length_doubts) if tension.tension is not None else ()
    return PluckAnswer(result, tension, (*more, *doubts, *tension.doubts), file, drive)


def answer_lines(answer: PluckAnswer) -> list[str]:
    """The answer as a technician reads it, line by line: the caution first, what to do next last.

    Parameters
    ----------
    answer
        The answer.

    Returns
    -------
    list of str
        Sentences and the budget.
    """
    result = answer.result
    first = f"Caution: {CAUTION}"
    doubts = [f"Doubt: {ended(doubt)}" for doubt in answer.doubts]
    if result.frequency is None:
        return [first, f"No pluck found: {ended(result.why)}", *doubts]
    count = len(result.agreeing)
    lines = [first, f"Note: {show(result.frequency, confidence=True)}, from {count} pluck{'s' if count > 1 else ''}."]
    named = answer.drive is not None and answer.drive.name is not None
    lines += [_required_line(need, says, named) for need, says in answer.required]
    if answer.tension is not None and answer.tension.tension is not None:
        lines.append(f"Tension: {show(answer.tension.tension, confidence=True)}.")
        lines += _budget_lines(answer.tension, answer.drive.span if answer.drive else None)
    elif answer.tension is not None:
        lines.append(f"Tension: not told; {ended(answer.tension.why)}")
    return [*lines, *_expected_lines(answer), *doubts, *_next_lines(answer)]


def ended(words: str) -> str:
    """Words with a full stop, unless they end a sentence already."""
    return words if words.endswith((".", "?", "!")) else f"{words}."


def _required_line(need: Need, says: str, named: bool) -> str:
    """What the drive file requires, by its source, and whether the reading lies inside."""
    told = {"inside": "inside", "outside": "outside", "reaches over a limit": "the ± reaches over a limit"}
    what = "" if named and need.quantity == "frequency" else f" of {need.title[:1].lower()}{need.title[1:]}"
    return f"  required{what}: {need.text} ({need.source}): {told.get(says, 'not compared, no sure reading of it')}."


def _expected_lines(answer: PluckAnswer) -> list[str]:
    """The note that each span is to give by computation, or why none is known."""
    drive = answer.drive
    if drive is None or not drive.notes:
        return []
    known = [row for row in drive.notes if row.now.low_hz is not None and row.now.high_hz is not None]
    if not known:
        return [f"Note to expect: none can be computed. {ended(drive.silent)}"] if drive.silent else []
    lines = ["Note to expect, computed from the drive file (not what is required):"]
    for row in known:
        aside = "" if row.worth else f" ({row.why})"
        place = row.name.replace(":", " to ")
        lines.append(f"  {place}: {row.now.low_hz:.3g} to {row.now.high_hz:.3g} Hz{aside}")
    return lines


def _next_lines(answer: PluckAnswer) -> list[str]:
    """How the reading becomes an entry of the job, which alone gives a verdict."""
    drive = answer.drive
    if answer.result.contested:
        return ["Next: record one span alone, and set nothing in between; a job takes no reading from this recording."]
    entry = ['kind = "pluck"', f'file = "{answer.file}"']
    if drive is not None and drive.name is not None:
        entry.insert(1, f'span = "{drive.name}"')
    if drive is not None and drive.span is not None and drive.span.measured:
        entry.append(f"length_mm = {drive.span.length_mm:g}")
    return [f"Next: enter it in the job: {', '.join(entry)}; twoturn prove gives the verdict."]


def _budget_lines(tension: TensionResult, span: Span | None) -> list[str]:
    """The budget, one line an input, the largest first with what would make it surer; what adds little together."""
    if tension.budget is None:
        return []
    rows = sorted(tension.budget.lines, key=lambda line: -abs(line.contribution))
    told = [line for number, line in enumerate(rows) if number == 0 or abs(line.contribution) >= LITTLE_N]
    lines = [_budget_line(line) for line in told]
    if span is not None and (better := _surer(rows[0], span)):
        lines[0] += f": {better}"
    names = [line.input.name for line in rows if line not in told]
    return [*lines, f"  {list_words(names)} add{'s' if len(names) == 1 else ''} less than 1 N."] if names else lines


def _surer(line: Line, span: Span) -> str:
    """What would make the input that adds most surer; empty where nothing simple would."""
    if line.input.name == "belt mass" and line.input.u > WEIGHED_SHARE * line.input.value:
        return "weigh the belt on the kitchen scale"
    if line.input.name == "free length" and span.length_u_mm > MEASURED_U_MM:
        return "measure the free span (--length-mm)"
    return "give bending_n_m2" if line.input.name == "bending stiffness" else ""


def _budget_line(line: Line) -> str:
    """One input with its standard uncertainty, and what that adds to the tension's."""
    value, _, u = plus_minus(line.input.value, line.input.u, "").partition(" ± ")
    size = f"{value:>9} ± {u or '0':<8} {line.input.unit:<6}"
    return f"  {line.input.name:<20} {size} adds {half_width(abs(line.contribution), 'N')} ({line.input.why})"
