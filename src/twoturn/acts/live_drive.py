"""The act of moving a drive on the page: everything a browser needs to draw it at any crank angle and any setting."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from twoturn.acts.drive import plain_number
from twoturn.acts.live_tensioner import tensioner_of
from twoturn.acts.temperatures import check_engine
from twoturn.drive.laid import LaidBelt, distance_to_mark_mm, line_zero_mm
from twoturn.drive.parts import Belt, Drive, Pulley, Shaft
from twoturn.drive.radii import speed_ratio
from twoturn.drive.turning import Return, marks_return, realign, teeth_per_crank_turn
from twoturn.mechanics.belt import belt_at_rest
from twoturn.mechanics.rest.known import BeltAtRest
from twoturn.picture.ring import schematic
from twoturn.picture.scene import span_sides
from twoturn.words.numbers import turns_words
from twoturn.words.terms import ROLES, way_of_sense

SCHEME = "Not to scale: without coordinates only the order of the wheels and the side of the belt are drawn."
USUAL_TURNS = 2


@dataclass(frozen=True)
class LiveDrive:
    """A drive ready to be moved.

    Attributes
    ----------
    drive
        The drive.
    temperature_c
        Temperature of the engine [°C].
    belts
        Its belts at rest.
    """

    drive: Drive
    temperature_c: float
    belts: tuple[BeltAtRest, ...]


def live_drive(drive: Drive, temperature_c: float | None = None) -> LiveDrive:
    """A drive ready to be moved.

    Parameters
    ----------
    drive
        The drive.
    temperature_c
        Temperature of the engine [°C]; the file's reference temperature when None.

    Raises
    ------
    DomainError
        A temperature no engine has.
    """
    reference = drive.file.drive.reference_temperature_c
    asked = reference if temperature_c is None else temperature_c
    check_engine(asked)
    return LiveDrive(drive, asked, tuple(belt_at_rest(drive, belt, asked - reference) for belt in drive.belts))


def live_json(live: LiveDrive) -> dict[str, Any]:
    """What the page needs to move a drive: plain numbers, texts and lists.

    Lengths are in mm, x to the right and y up; clock angles in degrees from twelve o'clock; ratios in turns a crank
    turn. Everything holds in the setting position; ``static/js/drive/turning.js`` turns it on.
    """
    drive = live.drive
    back = marks_return(drive)
    timing = drive.file.timing
    return {
        "name": drive.name,
        "source": drive.source,
        "temperature_c": live.temperature_c,
        "crank_sense": drive.crank_sense,
        "crank_turns": way_of_sense(drive.crank_sense),
        "after_turns": timing.after_turns if timing else USUAL_TURNS,
        "marks_return_turns": plain_number(back.turns),
        "shafts": [_shaft(drive, shaft) for shaft in drive.shafts if shaft.role not in ("idler", "tensioner")],
        "belts": [_belt(live, rest) for rest in live.belts],
        "said": [_marks_words(back)],
    }


def _marks_words(back: Return) -> str:
    if back.turns is None:
        return f"{back.why[:1].upper()}{back.why[1:]}."
    if back.turns == 1:
        return "All timing marks are back after every turn of the crankshaft."
    return f"All timing marks are back after {turns_words(float(back.turns))} of the crankshaft."


def _lines_words(belt: Belt, back: Return) -> str:
    """When painted lines and marks meet again, or why not; said since many a good job was undone by waiting for it."""
    if not belt.table.marks:
        return ""
    if back.turns is None:
        return f"{back.why[:1].upper()}{back.why[1:]}."
    if back.turns <= USUAL_TURNS:
        return f"Painted lines and marks meet again after {turns_words(float(back.turns))}."
    return (
        f"Painted lines and marks meet again only after {turns_words(float(back.turns))}: after two turns they are "
        "apart, and that is right. The marks on the sprockets count."
    )


def _shaft(drive: Drive, shaft: Shaft) -> dict[str, Any]:
    marked = any(pulley.shaft == shaft.id for belt in drive.belts for pulley in belt.marked)
    return {
        "id": shaft.id,
        "role": ROLES[shaft.role],
        "phased": shaft.phased,
        "marked": marked,
        "ratio": _exact(shaft.ratio),
    }


def _exact(ratio: Fraction | None) -> list[int] | None:
    """An exact ratio as numerator and denominator [-]."""
    return None if ratio is None else [ratio.numerator, ratio.denominator]


def _belt(live: LiveDrive, rest: BeltAtRest) -> dict[str, Any]:
    drive, belt = live.drive, rest.belt
    laid, to_scale = laid_for_page(rest)
    back = realign(drive, belt)
    answer: dict[str, Any] = {
        "id": belt.id,
        "teeth": belt.table.teeth,
        "sense": belt.sense,
        "to_scale": to_scale,
        "lines": list(belt.table.marks),
        "back_mm": belt.table.back_mm,
        "tip_mm": belt.table.tip_mm,
        "teeth_per_turn": _teeth_per_turn(drive, belt),
        "realign_turns": plain_number(back.turns),
        "lines_said": _lines_words(belt, back),
        "said": list(rest.why) if to_scale or laid is None else [SCHEME],
        "order": [pulley.id for pulley in belt.pulleys],
        "pulleys": [],
        "spans": [],
        "tensioners": [],
    }
    if laid is None:
        return answer
    answer |= {"length_mm": laid.length_mm, "mm_per_tooth": laid.mm_per_tooth, "line_zero_mm": line_zero_mm(laid)}
    answer["pulleys"] = [_pulley(drive, laid, at, to_scale, rest.warmer_k) for at in range(len(belt.pulleys))]
    answer["spans"] = _spans(laid)
    answer["tensioners"] = [tensioner_of(drive, rest, table) for table in belt.tensioners]
    return answer


def laid_for_page(rest: BeltAtRest) -> tuple[LaidBelt | None, bool]:
    """A belt on its wheels as it is drawn, and whether that is to scale; None where no drawing is possible."""
    shape = rest.shape
    if shape is None or not bool(shape.path.closed):
        return schematic(rest.belt), False
    return LaidBelt(rest.belt, shape.centres, shape.radii_mm, shape.path), True


def _teeth_per_turn(drive: Drive, belt: Belt) -> list[int] | None:
    try:
        return _exact(teeth_per_crank_turn(drive, belt))
    except ValueError:
        return None


def _pulley(drive: Drive, laid: LaidBelt, at: int, to_scale: bool, warmer_k: float) -> dict[str, Any]:
    pulley = laid.belt.pulleys[at]
    centre, mark = complex(laid.centres[at]), pulley.table.mark_deg if pulley.toothed else None
    ratio = speed_ratio(drive, laid.belt, pulley, warmer_k)
    return {
        "id": pulley.id,
        "shaft": pulley.shaft,
        "role": ROLES[pulley.role],
        "phased": drive.shaft(pulley.shaft).phased,
        "teeth": pulley.teeth,
        "inside": pulley.inside,
        "x": centre.real,
        "y": centre.imag,
        "radius_mm": float(laid.radii_mm[at]),
        "wrap_deg": math.degrees(float(laid.path.wraps_rad[at])),
        "ratio": _scheme_ratio(laid, at) if ratio is None else ratio,
        "exact_ratio": _exact(_turned(drive, laid.belt, pulley)),
        "mark_deg": mark,
        "mark_tooth": None if mark is None or not to_scale else tooth_at_mark(laid, at, mark),
        "tensioner": pulley.is_tensioner,
    }


def _turned(drive: Drive, belt: Belt, pulley: Pulley) -> Fraction | None:
    """Turns of a sprocket a crank turn, exact; None for a smooth wheel."""
    own = drive.shaft(belt.driver.shaft).ratio
    if own is None or belt.driver.teeth is None or pulley.teeth is None:
        return None
    return own * Fraction(belt.driver.teeth, pulley.teeth) * (1 if pulley.inside == belt.driver.inside else -1)


def _scheme_ratio(laid: LaidBelt, at: int) -> float:
    """How fast a wheel of unknown size turns in a drawing that is not to scale: as its drawn size makes it [-]."""
    way = 1 if laid.belt.pulleys[at].inside == laid.belt.driver.inside else -1
    return way * float(laid.radii_mm[0] / laid.radii_mm[at])


def tooth_at_mark(laid: LaidBelt, at: int, mark_deg: float) -> float:
    """Number of the belt tooth at a clock angle [°] of pulley ``at`` in the setting position, line 0 being tooth 0 [-].

    A real number from 0 up to the belt's teeth: whole where the drive's geometry agrees with the marks.
    """
    along = distance_to_mark_mm(laid, at, mark_deg) - line_zero_mm(laid)
    teeth = laid.belt.table.teeth
    number = (along / laid.mm_per_tooth) % teeth
    return 0.0 if teeth - number < 1e-9 else number


def _spans(laid: LaidBelt) -> list[dict[str, Any]]:
    ids: Sequence[str] = [pulley.id for pulley in laid.belt.pulleys]
    sides = span_sides(laid.belt)
    return [
        {
            "from": ids[at],
            "to": ids[(at + 1) % len(ids)],
            "leaves": _pair(complex(laid.path.leaves[at])),
            "enters": _pair(complex(laid.path.enters[at])),
            "length_mm": float(laid.path.spans_mm[at]),
            "side": sides[at],
        }
        for at in range(len(ids))
    ]


def _pair(place: complex) -> list[float]:
    return [place.real, place.imag]
