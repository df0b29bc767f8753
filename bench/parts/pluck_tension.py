"""Tension of a stiff short span from its first two partials, against a beam under tension solved by finite elements."""

from __future__ import annotations

import numpy as np

from bench.table import Row
from twoturn.pluck.tension import string_tension_n, tension_from_two_n

MASS_KG_PER_M = 0.11
STIFFEST = 0.01
ELEMENTS = 60


def measure() -> list[Row]:
    """Rows of the stiff span: hinged at the tangent points, and clamped there."""
    hinged, plain = _errors(False)
    clamped, _ = _errors(True)
    how = "40 spans of 80 to 200 mm with EI/(T·L²) of 0.001 to 0.01; beam under tension by finite elements"
    what = "pluck: tension from f₁ and f₂, stiff short span"
    figure = f"worst {100 * hinged:.2g} % (plain string formula {100 * plain:.1f} %)"
    bad = f"worst {100 * clamped:.1f} %"
    return [
        Row(what, f"{how}, hinged at the tangent points", figure, "2 %", hinged <= 0.02),
        Row(what, "the same, clamped at the tangent points, which no belt on pulleys is", bad, "none", None),
    ]


def _errors(clamped: bool) -> tuple[float, float]:
    """Worst relative error by two partials and by the string formula [-]."""
    rng = np.random.default_rng(75)
    by_two, plain = [], []
    for _ in range(40):
        length_m, tension = rng.uniform(0.08, 0.2), rng.uniform(150, 450)
        bending = tension * length_m**2 * np.exp(rng.uniform(np.log(1e-3), np.log(STIFFEST)))
        first, second = _partials_hz(length_m, tension, bending, clamped)
        string = string_tension_n(first, 1e3 * length_m, MASS_KG_PER_M)
        plain.append(abs(string / tension - 1))
        by_two.append(abs(tension_from_two_n(string, second / (2 * first)) / tension - 1))
    return max(by_two), max(plain)


def _partials_hz(length_m: float, tension: float, bending: float, clamped: bool) -> tuple[float, float]:
    """First two partials of a beam under tension by Hermite elements, hinged or clamped [Hz]."""
    from scipy.linalg import eigh

    h = length_m / ELEMENTS
    by_turn = np.outer([1, h, 1, h], [1, h, 1, h])
    bend = np.array([[12, 6, -12, 6], [6, 4, -6, 2], [-12, -6, 12, -6], [6, 2, -6, 4]]) * bending / h**3
    pull = np.array([[36, 3, -36, 3], [3, 4, -3, -1], [-36, -3, 36, -3], [3, -1, -3, 4]]) * tension / (30 * h)
    mass = np.array([[156, 22, 54, -13], [22, 4, 13, -3], [54, 13, 156, -22], [-13, -3, -22, 4]])
    mass = mass * MASS_KG_PER_M * h / 420
    size = 2 * (ELEMENTS + 1)
    stiff, inert = np.zeros((size, size)), np.zeros((size, size))
    for at in range(0, 2 * ELEMENTS, 2):
        stiff[at : at + 4, at : at + 4] += (bend + pull) * by_turn
        inert[at : at + 4, at : at + 4] += mass * by_turn
    held = [0, 1, size - 2, size - 1] if clamped else [0, size - 2]
    free = np.delete(np.arange(size), held)
    squares = eigh(stiff[np.ix_(free, free)], inert[np.ix_(free, free)], eigvals_only=True)[:2]
    first, second = np.sqrt(squares) / (2 * np.pi)
    return float(first), float(second)
