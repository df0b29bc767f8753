"""Proof loads and least breaking loads of bolts with coarse thread.

Source: ISO 898-1, tables of proof load and minimum ultimate tensile load, as restated alike by three fastener
suppliers. The standard multiplies the *nominal* stress area, printed to three digits, so those areas stand here.
Printed loads have three digits, some rounded up and some down: the tolerance is one of the third.
"""

from __future__ import annotations

import pytest

from twoturn.fastener.strength import find_grade
from twoturn.fastener.thread import parse_thread

NOMINAL_AREA_MM2 = {"M6": 20.1, "M8": 36.6, "M10": 58.0, "M12": 84.3, "M14": 115.0}
PROOF_LOAD_N = {
    "8.8": [11600, 21200, 33700, 48900, 66700],
    "10.9": [16700, 30400, 48100, 70000, 95500],
    "12.9": [19500, 35500, 56300, 81800, 112000],
}
BREAKING_LOAD_N = {
    "8.8": [16100, 29200, 46400, 67400, 92000],
    "10.9": [20900, 38100, 60300, 87700, 120000],
    "12.9": [24500, 44600, 70800, 103000, 140000],
}
ROWS = [(thread, grade, row) for row, thread in enumerate(NOMINAL_AREA_MM2) for grade in PROOF_LOAD_N]


def digit(load_n: float) -> float:
    """One of the third digit [N]."""
    return 1000 if load_n >= 100_000 else 100


@pytest.mark.parametrize(("thread", "grade", "row"), ROWS)
def test_loads(thread: str, grade: str, row: int) -> None:
    area = NOMINAL_AREA_MM2[thread]
    strength = find_grade(grade, parse_thread(thread).diameter_mm)
    assert strength.proof_mpa is not None
    proof, breaking = PROOF_LOAD_N[grade][row], BREAKING_LOAD_N[grade][row]
    assert area * strength.proof_mpa == pytest.approx(proof, abs=digit(proof))
    assert area * strength.tensile_mpa == pytest.approx(breaking, abs=digit(breaking))


@pytest.mark.parametrize(("thread", "area"), NOMINAL_AREA_MM2.items())
def test_our_areas_are_the_nominal_ones(thread: str, area: float) -> None:
    assert parse_thread(thread).stress_area_mm2 == pytest.approx(area, abs=0.05 if area < 100 else 0.5)


@pytest.mark.parametrize(
    ("grade", "diameter_mm", "proof", "tensile", "strength"),
    [
        ("4.6", 8, 225, 400, 240),
        ("4.8", 8, 310, 420, 340),
        ("5.6", 8, 280, 500, 300),
        ("5.8", 8, 380, 520, 420),
        ("6.8", 8, 440, 600, 480),
        ("8.8", 16, 580, 800, 640),
        ("8.8", 18, 600, 830, 660),
        ("9.8", 16, 650, 900, 720),
        ("10.9", 20, 830, 1040, 940),
        ("12.9", 20, 970, 1220, 1100),
    ],
)
def test_least_strengths(grade: str, diameter_mm: float, proof: float, tensile: float, strength: float) -> None:
    """ISO 898-1:2013, table 3, as restated by a fastener supplier's technical page."""
    found = find_grade(grade, diameter_mm)
    assert (found.proof_mpa, found.tensile_mpa, found.yield_mpa) == (proof, tensile, strength)
