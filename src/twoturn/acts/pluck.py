"""The act of listening to a plucked span: recording to note, and note to tension."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from twoturn.errors import DomainError
from twoturn.pluck.of_drive import span_doubts, span_of
from twoturn.pluck.read import Progress, read_pluck
from twoturn.pluck.result import PluckResult
from twoturn.pluck.span import Span
from twoturn.pluck.tension import TensionResult, tension_of
from twoturn.pluck.worth import SpanAdvice
from twoturn.quantity.budget import Line
from twoturn.quantity.show import half_width, plus_minus, show
from twoturn.recording.sound import load_sound

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
    notes
        The note each span of the drive is to give; empty without a drive.
    doubts
        What makes note or tension less sure.
    """

    result: PluckResult
    tension: TensionResult | None
    notes: tuple[SpanAdvice, ...]
    doubts: tuple[str, ...]

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
        expected = [row.as_json() for row in self.notes]
        return answer | {"why": self.why, "doubts": list(self.doubts), "expected": expected, "caution": CAUTION}


def hear(
    recording: str | Path,
    drive_file: str | Path | None = None,
    span: str | None = None,
    temperature_c: float | None = None,
    progress: Progress | None = None,
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

    Returns
    -------
    PluckAnswer
        Note, tension and what makes them less sure.

    Raises
    ------
    TwoTurnError
        A recording or a drive file that cannot be read, or a span that the drive does not have.
    """
    if drive_file is None:
        if span is not None:
            raise DomainError(f'the span "{span}" alone tells no length', next_step="add --drive and the drive file")
        result = read_pluck(load_sound(recording), progress)
        return PluckAnswer(result, None, (), result.doubts)
    chosen, notes, lacking = spans_at_rest(drive_file, span, temperature_c)
    result = read_pluck(load_sound(recording), progress)
    if result.frequency is None:
        return PluckAnswer(result, None, notes, result.doubts)
    doubts = result.doubts + span_doubts(result.frequency, span, [row.now for row in notes])
    if chosen is None:
        tension = TensionResult(None, None, lacking or "newtons need the span: name it with --span FROM:TO")
    else:
        tension = tension_of(result.frequency, chosen, result.second_ratio)
    return PluckAnswer(result, tension, notes, doubts + tension.doubts)


def spans_at_rest(
    drive_file: str | Path, span: str | None, temperature_c: float | None
) -> tuple[Span | None, tuple[SpanAdvice, ...], str]:
    """The span named, and the note every span of the drive is to give.

    Parameters
    ----------
    drive_file
        The drive file.
    span
        Name of a span; None for none.
    temperature_c
        Temperature of the engine [°C]; the reference temperature when None.

    Returns
    -------
    tuple
        The span or None, the notes, the span worth plucking first, and why there is no span although it was named;
        empty when there is one.
    """
    from twoturn.acts.drive import notes_of, solve_drive

    solved = solve_drive(drive_file, temperature_c)
    notes = notes_of(solved)
    try:
        return (None if span is None else span_of(solved.belts, span)), notes, ""
    except DomainError as error:
        if all(rest.shape is not None for rest in solved.belts):
            raise
        return None, notes, error.sentence.rstrip(".")


def answer_lines(answer: PluckAnswer) -> list[str]:
    """The answer as a technician reads it, line by line.

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
    if result.frequency is None:
        return [
            f"No pluck found: {result.why}.",
            *(f"Note: {doubt}." for doubt in answer.doubts),
            f"Caution: {CAUTION}",
        ]
    count = len(result.agreeing)
    lines = [f"Note: {show(result.frequency, confidence=True)}, from {count} pluck{'s' if count > 1 else ''}."]
    if answer.tension is not None and answer.tension.tension is not None:
        lines.append(f"Tension: {show(answer.tension.tension, confidence=True)}.")
        lines += _budget_lines(answer.tension)
    elif answer.tension is not None:
        lines.append(f"Tension: not told; {answer.tension.why}.")
    for row in answer.notes:
        if row.now.low_hz is not None and row.now.high_hz is not None:
            aside = "" if row.worth else f" ({row.why})"
            lines.append(f"  {row.name}: {row.now.low_hz:.3g} to {row.now.high_hz:.3g} Hz to expect{aside}")
    return [*lines, *(f"Doubt: {doubt}." for doubt in answer.doubts), f"Caution: {CAUTION}"]


def _budget_lines(tension: TensionResult) -> list[str]:
    """The budget, one line an input, the largest first."""
    if tension.budget is None:
        return []
    return [_budget_line(line) for line in sorted(tension.budget.lines, key=lambda line: -abs(line.contribution))]


def _budget_line(line: Line) -> str:
    """One input with its standard uncertainty, and what that adds to the tension's."""
    value, _, u = plus_minus(line.input.value, line.input.u, "").partition(" ± ")
    size = f"{value:>9} ± {u or '0':<8} {line.input.unit:<6}"
    return f"  {line.input.name:<20} {size} adds {half_width(abs(line.contribution), 'N')} ({line.input.why})"
