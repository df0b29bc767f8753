"""Tension from the note of a plucked span, and the note to expect from a tension, each with its whole budget."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from twoturn.errors import DomainError
from twoturn.pluck.span import Span, air_input, bending_input, length_input, mass_input
from twoturn.quantity.budget import Budget, Input, propagate
from twoturn.quantity.reading import Reading

KAPPA, KAPPA_U = 0.8, 0.15
STIFFEST = 0.01  # EI/(T·L²) beyond which the end condition is no longer known well enough
SECOND_MODEL_U = 0.004  # how far a belt's second partial may stray from the formula's stretch [-]


@dataclass(frozen=True)
class TensionResult:
    """Tension of a span, or why it cannot be told.

    Attributes
    ----------
    tension
        Tension [N]; None where it cannot be told.
    budget
        What each input adds; None without a tension.
    why
        One sentence.
    doubts
        What makes it less sure.
    """

    tension: Reading | None
    budget: Budget | None
    why: str
    doubts: tuple[str, ...] = ()

    def as_json(self) -> dict[str, Any]:
        """The keys of ``twoturn pluck --json`` that concern tension."""
        return {
            "tension_n": None if self.tension is None else self.tension.as_json(),
            "tension_why": self.why,
            "budget": [] if self.budget is None else budget_rows(self.budget),
        }


def budget_rows(budget: Budget) -> list[dict[str, float | str]]:
    """Lines of a budget for JSON and for print: what, value, u, unit, contribution and share."""
    return [
        {
            "input": line.input.name,
            "value": line.input.value,
            "u": line.input.u,
            "unit": line.input.unit,
            "sensitivity": line.sensitivity,
            "contribution": line.contribution,
            "share": line.share,
            "why": line.input.why,
        }
        for line in budget.lines
    ]


def string_tension_n(f1_hz: float, length_mm: float, mass_kg_per_m: float) -> float:
    """Tension of a perfectly flexible string, T = 4·m·L²·f₁² [N].

    Parameters
    ----------
    f1_hz
        First partial [Hz].
    length_mm
        Free length [mm].
    mass_kg_per_m
        Mass of a metre, that of the air moved along included [kg/m].

    Returns
    -------
    float
        Tension [N].

    References
    ----------
    P. M. Morse, Vibration and Sound, 2nd ed. (1948), section 9 (the flexible string).
    """
    return 4 * mass_kg_per_m * (length_mm / 1000) ** 2 * f1_hz**2


def bending_tension_n(bending_n_m2: float, length_mm: float, kappa: float = KAPPA) -> float:
    """What bending adds to the apparent tension of the first partial, κ·π²·EI/L² [N].

    Parameters
    ----------
    bending_n_m2
        Bending stiffness EI [N·m²].
    length_mm
        Free length [mm].
    kappa
        1 for pinned ends at the tangent points [-].

    Returns
    -------
    float
        Force to take off the string's tension [N].

    References
    ----------
    P. M. Morse, Vibration and Sound, 2nd ed. (1948), section 16 (the stiff string).
    """
    return kappa * math.pi**2 * bending_n_m2 / (length_mm / 1000) ** 2


def tension_from_two_n(string_n: float, second_ratio: float) -> float:
    """Tension from the first two partials: T = Tₛ·(4 − ρ²)/3 with ρ = f₂/(2·f₁) [N].

    Follows from fₙ² = n²·(T + κ·n²·π²·EI/L²)/(4·m·L²) for n = 1 and 2; κ and EI cancel.

    Parameters
    ----------
    string_n
        Tension by the string formula from the first partial [N].
    second_ratio
        f₂/(2·f₁) [-].

    Returns
    -------
    float
        Tension [N].
    """
    return string_n * (4 - second_ratio**2) / 3


def expected_frequency_hz(tension_n: float, length_mm: float, mass_kg_per_m: float, bending_n_m2: float = 0.0,
                          kappa: float = KAPPA) -> float:  # fmt: skip
    """First partial of a span under a tension, f₁ = √((T + κ·π²·EI/L²)/(4·m·L²)) [Hz].

    Parameters
    ----------
    tension_n
        Tension [N].
    length_mm
        Free length [mm].
    mass_kg_per_m
        Mass of a metre, that of the air moved along included [kg/m].
    bending_n_m2
        Bending stiffness EI [N·m²].
    kappa
        End condition [-].

    Returns
    -------
    float
        First partial [Hz].
    """
    force = tension_n + bending_tension_n(bending_n_m2, length_mm, kappa)
    return math.sqrt(max(force, 0.0) / (4 * mass_kg_per_m)) / (length_mm / 1000)


def tension_of(frequency: Reading, span: Span, second_ratio: Reading | None = None) -> TensionResult:
    """Tension of a plucked span.

    The bending stiffness comes from the second partial where that tells more, else as given, else guessed from the
    belt's width.

    Parameters
    ----------
    frequency
        First partial [Hz].
    span
        The span.
    second_ratio
        f₂/(2·f₁) where the second partial was heard [-].

    Returns
    -------
    TensionResult
        The tension with its budget, or why it cannot be told.
    """
    if not span.can_be_weighed:
        return TensionResult(
            None, None, "newtons need the belt's mass: give weighed_g (kitchen scale) or width_mm in the drive file"
        )
    by_stiffness = _by_stiffness(frequency, span)
    chosen = by_stiffness
    if second_ratio is not None and second_ratio.value >= 0.99:
        by_second = _by_second(frequency, span, second_ratio)
        if span.bending_n_m2 is None or by_second.u_c < by_stiffness.u_c:
            chosen = by_second
    stiffness = _relative_stiffness(frequency, span, second_ratio if chosen is not by_stiffness else None)
    if stiffness > STIFFEST:
        why = "the span is too short and stiff for its note to tell its tension"
        return TensionResult(
            None, None, f"{why}: EI/(T·L²) is {stiffness:.2g}, at most {STIFFEST:g}; pluck a longer span"
        )
    tension = chosen.reading
    if tension.value <= 0:
        return TensionResult(
            None,
            None,
            "the note is lower than the belt's bending stiffness alone would make it: check length, mass and span",
        )
    return TensionResult(tension, chosen, _sentence(tension, span), _doubts(span, chosen))


def _by_stiffness(frequency: Reading, span: Span) -> Budget:
    """Tension with the bending stiffness given or guessed."""

    def tension(f1: float, length: float, mass: float, air: float, bending: float, kappa: float) -> float:
        return string_tension_n(f1, length, mass + air) - bending_tension_n(bending, length, kappa)

    ends = Input("end condition κ", KAPPA, KAPPA_U, "-", why="between pinned and clamped ends")
    return propagate(tension, [*_common(frequency, span), bending_input(span), ends], "N")


def _by_second(frequency: Reading, span: Span, second_ratio: Reading) -> Budget:
    """Tension with the bending stiffness from the second partial."""

    def tension(f1: float, length: float, mass: float, air: float, ratio: float) -> float:
        return tension_from_two_n(string_tension_n(f1, length, mass + air), max(ratio, 1.0))

    u = math.hypot(second_ratio.u, SECOND_MODEL_U)
    ratio = Input(
        "second partial",
        max(second_ratio.value, 1.0005),
        u,
        "-",
        second_ratio.dof,
        "f₂/2f₁, heard in this recording: how stiff the belt is",
    )
    slopes = _slopes_by_second(frequency, span, ratio.value)
    return propagate(tension, [*_common(frequency, span), ratio], "N", sensitivities=slopes)


def _slopes_by_second(frequency: Reading, span: Span, ratio: float) -> list[float]:
    """Sensitivities of the tension by the second partial to frequency, length, mass, air and ratio."""
    length, mass, air = length_input(span).value, mass_input(span).value, air_input(span).value
    string = string_tension_n(frequency.value, length, mass + air)
    value = tension_from_two_n(string, ratio)
    per_mass = value / (mass + air)
    return [2 * value / frequency.value, 2 * value / length, per_mass, per_mass, -2 * ratio * string / 3]


def _common(frequency: Reading, span: Span) -> list[Input]:
    """Note, length, mass and air: what every formula needs."""
    note = Input(
        "first partial", frequency.value, frequency.u, "Hz", frequency.dof, frequency.source or "this recording"
    )
    return [note, length_input(span), mass_input(span), air_input(span)]


def _relative_stiffness(frequency: Reading, span: Span, second_ratio: Reading | None) -> float:
    """EI/(T·L²) [-], from the second partial where it is used, else from the stiffness given or guessed."""
    string = string_tension_n(frequency.value, span.length_mm, mass_input(span).value + air_input(span).value)
    if second_ratio is not None:
        ratio = max(second_ratio.value, 1.0)
        return (ratio**2 - 1) / (4 - ratio**2) / (KAPPA * math.pi**2) if ratio < 2 else math.inf
    bending = bending_input(span).value
    tension = string - bending_tension_n(bending, span.length_mm)
    return bending / (tension * (span.length_mm / 1000) ** 2) if tension > 0 else math.inf


def _sentence(tension: Reading, span: Span) -> str:
    """The answer in words."""
    where = f" in the span {span.name}" if span.name else ""
    return f"{tension.value:.3g} N ± {tension.expanded:.2g} N (19 of 20 times){where}"


def _doubts(span: Span, budget: Budget) -> tuple[str, ...]:
    """What makes the tension less sure, and what would help."""
    found = []
    if span.mass_kg_per_m is None:
        found.append("the belt was not weighed: its mass on the kitchen scale makes the tension several times surer")
    names = [line.input.name for line in budget.lines]
    if span.bending_n_m2 is None and "bending stiffness" in names:
        found.append("the belt's bending stiffness is guessed from its width")
    if span.sprung_end:
        found.append(
            "at a sprung tensioner the note tells the tension within the arm's friction: the pointer proves the setting"
        )
    return tuple(found)


def frequency_of(tension: Reading, span: Span) -> Budget:
    """The note to expect from a span under a tension.

    Parameters
    ----------
    tension
        Tension [N].
    span
        The span, its mass or width known.

    Returns
    -------
    Budget
        First partial [Hz].

    Raises
    ------
    DomainError
        Neither mass nor width is known, or no tension.
    """
    if tension.value <= 0:
        raise DomainError(f"a slack span of {tension.value:g} N has no note", allowed="more than 0 N")

    def frequency(force: float, length: float, mass: float, air: float, bending: float, kappa: float) -> float:
        return expected_frequency_hz(force, length, mass + air, bending, kappa)

    force = Input("tension", tension.value, tension.u, "N", tension.dof, tension.source)
    ends = Input("end condition κ", KAPPA, KAPPA_U, "-", why="between pinned and clamped ends")
    inputs = [force, length_input(span), mass_input(span), air_input(span), bending_input(span), ends]
    return propagate(frequency, inputs, "Hz")
