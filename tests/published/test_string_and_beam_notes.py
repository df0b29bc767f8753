"""Notes of strings and of stiff strings under tension.

References
----------
* P. M. Morse, *Vibration and Sound*, 2nd ed. (1948), sections 9 and 16; N. H. Fletcher, *J. Acoust. Soc. Am.* 36
  (1964) 203-209: f_n = (n/2L)·sqrt(T/m) for a string, f_n = (n/2L)·sqrt(T/m + (EI/m)(nπ/L)²) for pinned ends.
* The table of string and pinned-beam frequencies is *derived* from these closed forms (not printed in them) and was
  confirmed by a separate 60-element beam computation to 1e-5; it is given to four decimals.
* Clamped ends without tension: beta·L = 4.7300, 7.8532, 10.9956 (printed in every handbook; read).
"""

from __future__ import annotations

import math

import pytest

from twoturn.pluck.tension import (
    bending_tension_n,
    expected_frequency_hz,
    string_tension_n,
    tension_from_two_n,
)

# T [N], m [kg/m], L [m], EI [N·m²], string f1, pinned f1, f2, clamped f1 [Hz]
ROWS = [
    (400, 0.12, 0.20, 0.02, 144.3376, 145.2252, 295.7121, 156.2852),
    (300, 0.10, 0.15, 0.05, 182.5742, 189.1303, 415.1197, 228.0431),
    (200, 0.09, 0.08, 0.03, 294.6278, 326.9332, 817.6175, 457.2378),
]
DIGITS = 1e-6  # four decimals of some 150 Hz; squared in a tension


@pytest.mark.parametrize(("force", "mass", "length", "bending", "string", "pinned", "second", "clamped"), ROWS)
def test_note_of_string_and_of_pinned_stiff_string(
    force: float,
    mass: float,
    length: float,
    bending: float,
    string: float,
    pinned: float,
    second: float,
    clamped: float,
) -> None:
    assert expected_frequency_hz(force, 1000 * length, mass) == pytest.approx(string, rel=DIGITS)
    assert expected_frequency_hz(force, 1000 * length, mass, bending, kappa=1.0) == pytest.approx(pinned, rel=DIGITS)
    assert string_tension_n(string, 1000 * length, mass) == pytest.approx(force, rel=2 * DIGITS)
    stiff = string_tension_n(pinned, 1000 * length, mass) - bending_tension_n(bending, 1000 * length, 1.0)
    assert stiff == pytest.approx(force, rel=3e-6)


@pytest.mark.parametrize(("force", "mass", "length", "bending", "string", "pinned", "second", "clamped"), ROWS)
def test_two_partials_give_the_tension_without_knowing_the_bending(
    force: float,
    mass: float,
    length: float,
    bending: float,
    string: float,
    pinned: float,
    second: float,
    clamped: float,
) -> None:
    found = tension_from_two_n(string_tension_n(pinned, 1000 * length, mass), second / (2 * pinned))
    assert found == pytest.approx(force, rel=1e-5)


def test_the_string_formula_alone_reads_a_short_stiff_span_too_high() -> None:
    # printed beside the table: 321.93 N instead of 300 N from the pinned note of the second row
    assert string_tension_n(189.1303, 150, 0.10) == pytest.approx(321.93, abs=0.005)


def test_single_string_of_the_collection() -> None:
    # T 300 N, m 0.1 kg/m, L 0.15 m: 182.57419 Hz (derived)
    assert expected_frequency_hz(300, 150, 0.1) == pytest.approx(182.57419, abs=5e-6)


def test_a_pinned_beam_without_tension_is_the_limit_of_no_string() -> None:
    # pinned ends, no tension: beta·L = π, f1 = (π/2L²)·sqrt(EI/m)
    f1 = math.pi / (2 * 0.15**2) * math.sqrt(0.05 / 0.1)
    assert expected_frequency_hz(0.0, 150, 0.1, 0.05, kappa=1.0) == pytest.approx(f1, rel=1e-12)
