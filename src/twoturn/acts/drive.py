"""The act of asking what a drive file says: turns, teeth, path, rest position and tension of every belt."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any

from twoturn.acts.drive_belt import belt_answer
from twoturn.acts.drive_files import drive_text
from twoturn.acts.temperatures import check_engine
from twoturn.drive.check.geometry import refuse_geometry
from twoturn.drive.faults import FaultList
from twoturn.drive.load import read_drive
from twoturn.drive.model.tensioners import LockedEccentric
from twoturn.drive.parts import Drive, Shaft
from twoturn.drive.path import as_points
from twoturn.drive.turning import marks_return, shaft_deg_per_tooth
from twoturn.mechanics.belt import belt_at_rest
from twoturn.mechanics.rest.known import BeltAtRest
from twoturn.pluck.worth import SpanAdvice, span_advice

CAUTION = "The vehicle maker's procedure and values come first; this is advice. Local law decides."


@dataclass(frozen=True)
class SolvedDrive:
    """A drive with every belt at rest.

    Attributes
    ----------
    drive
        The drive.
    temperature_c
        Temperature of the engine [°C].
    belts
        Its belts at rest, in file order.
    """

    drive: Drive
    temperature_c: float
    belts: tuple[BeltAtRest, ...]

    @property
    def warmer_k(self) -> float:
        """Temperature above the drive's reference temperature [K]."""
        return self.temperature_c - self.drive.file.drive.reference_temperature_c


def solve_drive(path: str | Path, temperature_c: float | None = None) -> SolvedDrive:
    """Load a drive file and bring every belt to rest.

    Parameters
    ----------
    path
        The drive file.
    temperature_c
        Temperature of the engine [°C]; the file's reference temperature when None.

    Raises
    ------
    FileFaults
        The file cannot be a drive, or at its rest position pulleys overlap, a span runs through a pulley, a wrap is
        beyond its limits or the wraps do not close the belt.
    DomainError
        A temperature no engine has.
    """
    return solve_text(drive_text(path), str(path), temperature_c)


def solve_text(text: str, name: str, temperature_c: float | None = None) -> SolvedDrive:
    """Bring every belt of the drive file ``text`` to rest; as :func:`solve_drive`, with ``name`` for its faults."""
    drive = read_drive(text, name)
    reference = drive.file.drive.reference_temperature_c
    asked = reference if temperature_c is None else temperature_c
    check_engine(asked)
    belts = tuple(belt_at_rest(drive, belt, asked - reference) for belt in drive.belts)
    faults = FaultList(name, text)
    for belt in belts:
        if belt.shape is not None:
            refuse_geometry(drive, belt.belt, as_points(belt.shape.centres), faults)
    faults.raise_if_any()
    return SolvedDrive(drive, asked, belts)


def answer_of(solved: SolvedDrive) -> dict[str, Any]:
    """What ``twoturn drive FILE --json`` answers of a solved drive; docs/drive-file.md names the keys."""
    drive = solved.drive
    back = marks_return(drive)
    return {
        "name": drive.name,
        "source": drive.source,
        "temperature_c": solved.temperature_c,
        "marks_return_turns": plain_number(back.turns),
        "shafts": [_shaft(drive, shaft) for shaft in drive.shafts],
        "belts": [belt_answer(drive, rest) for rest in solved.belts],
        "notes": [row.as_json() for row in notes_of(solved)],
        "distances": [{"between": pair, "residual_mm": off} for pair, off in drive.distances.items()],
        "why": [back.why[:1].upper() + back.why[1:] + "."] if back.why else [],
        "caution": CAUTION,
    }


def notes_of(solved: SolvedDrive) -> tuple[SpanAdvice, ...]:
    """The note to expect of every span, cold and as warm as asked, and which is worth plucking; the best first."""
    drive, cold = solved.drive, solved.belts
    if solved.warmer_k:
        cold = tuple(belt_at_rest(drive, belt, 0.0) for belt in drive.belts)
    return span_advice(drive, solved.belts, cold)


def without_place(solved: SolvedDrive) -> frozenset[str]:
    """Pulleys of fixed rollers whose file does not say both where the notch is and where they are set."""
    rollers = [table for table in solved.drive.file.tensioner if isinstance(table, LockedEccentric)]
    return frozenset(table.pulley for table in rollers if table.notch_deg is None or table.set_deg is None)


def without_marks(solved: SolvedDrive) -> frozenset[str]:
    """Belts with neither painted lines nor a timing mark on any sprocket: nothing on them meets again."""
    return frozenset(belt.id for belt in solved.drive.belts if not belt.table.marks and not belt.marked)


def draw(solved: SolvedDrive) -> str:
    """The drawing of a solved drive, as SVG text."""
    from twoturn.picture.drawing import drive_svg

    return drive_svg(solved.drive, solved.belts)


def _shaft(drive: Drive, shaft: Shaft) -> dict[str, Any]:
    return {
        "id": shaft.id,
        "role": shaft.role,
        "ratio": None if shaft.ratio is None else float(shaft.ratio),
        "phased": shaft.phased,
        "deg_per_tooth": plain_number(shaft_deg_per_tooth(drive, shaft)),
    }


def plain_number(value: Fraction | None) -> int | float | None:
    """An exact fraction as a whole number where it is one, else as a real number."""
    if value is None:
        return None
    return int(value) if value.denominator == 1 else float(value)
