"""Belt designations as printed on the belt, in the style of ISO 9010 and ISO 12046: ``141 ZA 25``.

Teeth, then a letter for the pitch (Z 9.525 mm, Y 8.000 mm) and one for the profile, then the width in mm. What is
printed otherwise is kept as text and not interpreted.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from twoturn.drive.model.belts import BeltTable

PITCH_MM = {"Z": 9.525, "Y": 8.0}
WIDTH_TOLERANCE_MM = 1.0

_FORM = re.compile(
    r"^\s*(\d{2,4})\s*-?\s*([ZY])([ABHRSU])\s*[-×x]?\s*(\d{1,3}(?:[.,]\d+)?)?\s*(?:mm)?\s*$", re.IGNORECASE
)


@dataclass(frozen=True)
class Designation:
    """What a printed designation tells: teeth, pitch [mm], width [mm] or None where it is not printed."""

    teeth: int
    pitch_mm: float
    width_mm: float | None


def parse_designation(text: str) -> Designation | None:
    """What a designation says.

    Parameters
    ----------
    text
        As printed on the belt.

    Returns
    -------
    Designation or None
        Teeth [-], pitch and width [mm]; None for a print of another style.

    References
    ----------
    ISO 9010:1997 and ISO 12046, designation of automotive synchronous belts; letter codes of the pitch from memory.
    """
    found = _FORM.match(text)
    if found is None:
        return None
    teeth, letter, _, width = found.groups()
    return Designation(int(teeth), PITCH_MM[letter.upper()], float(width.replace(",", ".")) if width else None)


def completed_belt(belt: BeltTable) -> BeltTable:
    """The belt with pitch and width [mm] from its designation where the file leaves them out."""
    printed = parse_designation(belt.designation) if belt.designation else None
    if printed is None:
        return belt
    update: dict[str, float] = {}
    if belt.pitch_mm is None:
        update["pitch_mm"] = printed.pitch_mm
    if belt.width_mm is None and printed.width_mm is not None:
        update["width_mm"] = printed.width_mm
    return belt.model_copy(update=update) if update else belt
