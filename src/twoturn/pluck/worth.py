"""Which span is worth plucking, and the note to expect of each, cold and as warm as the engine is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from twoturn.drive.parts import Drive
from twoturn.mechanics.rest.known import BeltAtRest
from twoturn.pluck.of_drive import ExpectedNote, expected_notes
from twoturn.pluck.span import bending_input
from twoturn.pluck.tension import STIFFEST

LOWEST_HZ, HIGHEST_HZ = 30.0, 500.0


@dataclass(frozen=True)
class SpanAdvice:
    """What to expect of one span, and whether plucking it tells anything.

    Attributes
    ----------
    cold
        The note to expect at the drive's reference temperature.
    now
        The note to expect at the temperature asked for.
    worth
        Whether a pluck of it can be heard and turned into newtons.
    why
        What speaks for it or against it, in words.
    """

    cold: ExpectedNote
    now: ExpectedNote
    worth: bool
    why: str

    @property
    def name(self) -> str:
        """Name of the span, ``from:to``."""
        return self.now.span.name

    def as_json(self) -> dict[str, Any]:
        """The span's row for the command line's JSON; ``cold`` holds note and range at the reference temperature."""
        cold = {key: self.cold.as_json()[key] for key in ("frequency_hz", "low_hz", "high_hz")}
        return self.now.as_json() | {"cold": cold, "worth": self.worth, "why": self.why}


def span_advice(drive: Drive, rests: Sequence[BeltAtRest], cold: Sequence[BeltAtRest]) -> tuple[SpanAdvice, ...]:
    """The note of every span and whether it is worth plucking, the best span first.

    Parameters
    ----------
    drive
        The drive.
    rests
        Its belts at rest at the temperature asked for.
    cold
        Its belts at rest at the reference temperature.

    Returns
    -------
    tuple of SpanAdvice
        Worth plucking before not; within each, spans at the tensioner before others and long ones before short ones.
    """
    at_reference = {row.span.name: row for row in expected_notes(drive, cold)}
    rows = []
    for now in expected_notes(drive, rests):
        against = reasons_against(now)
        why = "; ".join(against) if against else reason_for(now)
        rows.append(SpanAdvice(at_reference.get(now.span.name, now), now, not against, why))
    return tuple(sorted(rows, key=lambda row: not row.worth))


def reasons_against(row: ExpectedNote) -> list[str]:
    """Why a span is not worth plucking; empty where it is.

    Parameters
    ----------
    row
        The note to expect of it.
    """
    found = []
    if row.reachable is False:
        found.append("out of reach by the drive file")
    if row.frequency is None:
        return [*found, "nothing tells its note: the belt's tension, or its mass or width, is not known"]
    note = row.frequency.value
    if relative_stiffness(row) > STIFFEST:
        found.append("too short and stiff to tell newtons")
    if note < LOWEST_HZ:
        found.append(f"its note lies below {LOWEST_HZ:g} Hz, where a telephone hears nothing")
    if note > HIGHEST_HZ:
        found.append(f"its note lies above {HIGHEST_HZ:g} Hz, where knocks ring too")
    return found


def relative_stiffness(row: ExpectedNote) -> float:
    """EI/(T·L²) of a span at the note it is to give, from 4·m·L²·f² for T [-].

    Parameters
    ----------
    row
        The note to expect of the span.
    """
    if row.frequency is None or row.tension_n is None:
        return 0.0
    return bending_input(row.span).value / (row.tension_n * (row.span.length_mm / 1000) ** 2)


def reason_for(row: ExpectedNote) -> str:
    """What a span is worth plucking for.

    Parameters
    ----------
    row
        The note to expect of it.
    """
    if not row.beside_tensioner:
        return "not at the tensioner: the shafts' torques add and take, so the range is wide"
    if row.span.sprung_end:
        return (
            "at the tensioner, which sets its tension; the sprung arm stays stuck by its friction, the pointer counts"
        )
    return "at the tensioner, which sets its tension"
