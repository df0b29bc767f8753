"""A free span as the tension formula needs it: length, mass, ends, bending."""

from __future__ import annotations

import math
from dataclasses import dataclass

from twoturn.errors import DomainError
from twoturn.quantity.budget import Input

AIR_KG_PER_M3 = 1.2
GRAMS_PER_M_MM = 5.0  # of width; belts of 9.525 mm pitch lie between 4 and 6 (from memory, low confidence)
MASS_GUESS_SHARE = 0.2
MASS_WEIGHED_SHARE = 0.01
BENDING_N_M2_PER_MM = 5e-4  # of width; judgement, known to half its size only
BENDING_GUESS_SHARE = 0.5
SMOOTH_SEAT_MM = 1.0


@dataclass(frozen=True)
class Span:
    """A free span between two pulleys.

    Attributes
    ----------
    name
        ``from:to`` as in the drive, or empty.
    length_mm, length_u_mm
        From tangent point to tangent point, and the standard uncertainty of its geometry [mm].
    toothed_ends
        How many of its two ends lie on a toothed pulley (0, 1 or 2) [-].
    pitch_mm
        Pitch of the belt [mm]; needed where an end is toothed.
    mass_kg_per_m, mass_u_kg_per_m
        Mass of a metre of belt and its standard uncertainty [kg/m]; None where it was not weighed.
    width_mm
        Width of the belt [mm]; None where not known.
    bending_n_m2, bending_u_n_m2
        Bending stiffness EI and its standard uncertainty [N·m²]; None where not known.
    sprung_end
        Whether one end is the pulley of a sprung tensioner.
    measured
        Whether the length was measured, not computed from the drive's geometry.
    """

    length_mm: float
    length_u_mm: float = 0.0
    toothed_ends: int = 2
    pitch_mm: float | None = None
    mass_kg_per_m: float | None = None
    mass_u_kg_per_m: float | None = None
    width_mm: float | None = None
    bending_n_m2: float | None = None
    bending_u_n_m2: float | None = None
    sprung_end: bool = False
    name: str = ""
    measured: bool = False

    def __post_init__(self) -> None:
        for value, what, unit in (
            (self.length_mm, "a free length", "mm"),
            (self.mass_kg_per_m, "a mass", "kg/m"),
            (self.width_mm, "a width", "mm"),
            (self.pitch_mm, "a pitch", "mm"),
        ):
            if value is not None and not (math.isfinite(value) and value > 0):
                raise DomainError(f"{what} of {value:g} {unit}", allowed="more than 0")
        if self.toothed_ends not in (0, 1, 2):
            raise DomainError(f"{self.toothed_ends} toothed ends", allowed="0, 1 or 2")
        if self.bending_n_m2 is not None and not (math.isfinite(self.bending_n_m2) and self.bending_n_m2 >= 0):
            raise DomainError(f"a bending stiffness of {self.bending_n_m2:g} N·m²", allowed="0 or more")

    @property
    def can_be_weighed(self) -> bool:
        """Whether mass or width is known, so that newtons can be told at all."""
        return self.mass_kg_per_m is not None or self.width_mm is not None


def length_input(span: Span) -> Input:
    """Free length with its uncertainty: geometry, and where exactly the belt leaves each pulley [mm].

    At a toothed end the belt may leave anywhere within a tooth (p/8), at a smooth one within 1 mm.
    """
    seat = (span.pitch_mm or 0.0) / 8 if span.pitch_mm else 1.2
    smooth = 2 - span.toothed_ends
    u = math.sqrt(span.length_u_mm**2 + span.toothed_ends * seat**2 + smooth * SMOOTH_SEAT_MM**2)
    by = "measured" if span.measured else "geometry"
    why = f"{by} ± {span.length_u_mm:.2g} mm, {_ends_words(span.toothed_ends)}"
    return Input("free length", span.length_mm, u, "mm", why=why)


def _ends_words(toothed: int) -> str:
    """Which ends lie on toothed pulleys [-], in words."""
    return {0: "two smooth ends", 1: "one toothed and one smooth end", 2: "two toothed ends"}[toothed]


def mass_input(span: Span) -> Input:
    """Mass of a metre of belt [kg/m]: as given, else from the width.

    Raises
    ------
    DomainError
        Neither mass nor width is known.
    """
    if span.mass_kg_per_m is not None:
        u = span.mass_u_kg_per_m
        if u is None:
            u = MASS_WEIGHED_SHARE * span.mass_kg_per_m
            return Input("belt mass", span.mass_kg_per_m, u, "kg/m", why="as given, taken right to 1 %")
        return Input("belt mass", span.mass_kg_per_m, u, "kg/m", why="as given")
    if span.width_mm is None:
        raise DomainError(
            "neither the belt's mass nor its width is known",
            next_step="weigh the belt on the kitchen scale (weighed_g), or measure its width (width_mm)",
        )
    value = GRAMS_PER_M_MM * span.width_mm / 1000
    why = "not weighed: 4 to 6 g a metre and millimetre of width"
    return Input("belt mass", value, MASS_GUESS_SHARE * value, "kg/m", why=why)


def air_input(span: Span) -> Input:
    """Mass of the air that a metre of belt moves, ρ·π·b²/4 [kg/m].

    References
    ----------
    H. Lamb, Hydrodynamics, 6th ed. (1932), art. 71: added mass of a flat plate moving broadside.
    """
    width_mm = span.width_mm
    if width_mm is None:
        width_mm = 1000 * mass_input(span).value / GRAMS_PER_M_MM
    value = AIR_KG_PER_M3 * math.pi * (width_mm / 1000) ** 2 / 4
    share = 0.2 if span.width_mm is not None else 0.5
    return Input("air moved along", value, share * value, "kg/m", why="air beside a flat band of this width")


def bending_input(span: Span) -> Input:
    """Bending stiffness EI [N·m²]: as given, else guessed from the width (judgement, known to half its size)."""
    if span.bending_n_m2 is not None:
        u = span.bending_u_n_m2
        why = "as given" if u is not None else "as given, taken right to 20 %"
        return Input(
            "bending stiffness", span.bending_n_m2, 0.2 * span.bending_n_m2 if u is None else u, "N·m²", why=why
        )
    width_mm = span.width_mm if span.width_mm is not None else 1000 * mass_input(span).value / GRAMS_PER_M_MM
    value = BENDING_N_M2_PER_MM * width_mm
    return Input("bending stiffness", value, BENDING_GUESS_SHARE * value, "N·m²", why="guessed from the width")


def mass_from_weighing(mass_g: float, length_mm: float, scale_u_g: float = 1.0) -> tuple[float, float]:
    """Mass of a metre from the whole belt's mass on a kitchen scale.

    Parameters
    ----------
    mass_g
        Mass of the whole belt [g].
    length_mm
        Its pitch length, teeth times pitch [mm].
    scale_u_g
        Standard uncertainty of the scale [g]; 1 g is usual for a kitchen scale (common practice).

    Returns
    -------
    tuple
        Mass of a metre and its standard uncertainty [kg/m].

    Raises
    ------
    DomainError
        A mass or length that cannot be.
    """
    if not (mass_g > 0 and length_mm > 0):
        raise DomainError(f"a belt of {mass_g:g} g and {length_mm:g} mm", allowed="more than 0 for both")
    return mass_g / length_mm, scale_u_g / length_mm
