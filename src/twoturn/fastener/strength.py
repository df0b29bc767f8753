"""Strength of bolts by the class stamped on the head."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Final

from twoturn.errors import DomainError

THICK_MM: Final = 16.0
"""Above this diameter [mm] some classes have other values (ISO 898-1, table 3)."""


@dataclass(frozen=True)
class Grade:
    """A strength class, with its least values.

    Attributes
    ----------
    name
        As stamped: ``8.8``.
    tensile_mpa
        Tensile strength Rm.
    yield_mpa
        Lower yield or 0.2 % proof strength.
    proof_mpa
        Stress under proof load Sp; None for stainless classes, which have none.
    """

    name: str
    tensile_mpa: float
    yield_mpa: float
    proof_mpa: float | None


_STEEL: Final = {
    "4.6": Grade("4.6", 400, 240, 225),
    "4.8": Grade("4.8", 420, 340, 310),
    "5.6": Grade("5.6", 500, 300, 280),
    "5.8": Grade("5.8", 520, 420, 380),
    "6.8": Grade("6.8", 600, 480, 440),
    "8.8": Grade("8.8", 800, 640, 580),
    "9.8": Grade("9.8", 900, 720, 650),
    "10.9": Grade("10.9", 1040, 940, 830),
    "12.9": Grade("12.9", 1220, 1100, 970),
}
_THICK: Final = {"8.8": Grade("8.8", 830, 660, 600)}
_THIN_ONLY: Final = {"9.8"}
_STAINLESS: Final = {"50": (500, 210), "70": (700, 450), "80": (800, 600)}
_NUTS: Final = {"4": "4.6", "5": "5.6", "6": "6.8", "8": "8.8", "9": "9.8", "10": "10.9", "12": "12.9"}


def find_grade(text: str, diameter_mm: float) -> Grade:
    """The strength class of a bolt by the mark on its head.

    Parameters
    ----------
    text
        ``8.8``, ``8,8``, ``10.9``, ``A2-70``.
    diameter_mm
        Nominal thread diameter [mm]: class 8.8 is stronger above 16 mm, class 9.8 ends there.

    Returns
    -------
    Grade
        Least strengths [MPa].

    Raises
    ------
    DomainError
        An unknown class, with the nearest known ones.

    References
    ----------
    ISO 898-1:2013, table 3; ISO 3506-1 (stainless).
    """
    name = text.strip().upper().replace(",", ".").removeprefix("CLASS").removeprefix("GRADE").strip()
    if match := re.fullmatch(r"(A[1-5])[\s-]*(50|70|80)", name):
        tensile, proof = _STAINLESS[match[2]]
        return Grade(f"{match[1]}-{match[2]}", tensile, proof, None)
    if name not in _STEEL:
        raise _unknown(text.strip(), name)
    if name in _THIN_ONLY and diameter_mm > THICK_MM:
        raise DomainError(f"class {name} ends at M16, but the thread is M{diameter_mm:g}", allowed="8.8 or 10.9")
    return _THICK[name] if name in _THICK and diameter_mm > THICK_MM else _STEEL[name]


def _unknown(typed: str, name: str) -> DomainError:
    if name in _NUTS:
        hint = f"{typed!r} is the class of a nut; a bolt that goes with it is {_NUTS[name]}"
        return DomainError(f"{typed!r} is not the strength class of a bolt", next_step=hint)
    known = list(_STEEL)
    try:
        value = float(name)
        nearest = sorted(known, key=lambda grade: (abs(float(grade) - value), float(grade)))[:2]
        allowed = f"{' and '.join(sorted(nearest, key=float))} are the nearest; all: {', '.join(known)}"
    except ValueError:
        allowed = ", ".join([*known, "A2-50", "A2-70", "A2-80"])
    return DomainError(f"{typed!r} is not a strength class known here", allowed=allowed)
