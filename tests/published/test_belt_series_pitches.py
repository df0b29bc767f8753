"""Pitches of the trapezoidal series in inches and millimetres, and a worked drive sheet.

Sources, read: GB/T 11616-1989 (equivalent to ISO 5296-1/-2:1989), pitches; JB/T 7512.3-1994, worked sheet for a 3M belt
(two wheels of 20 teeth: d = 19.10, printed 19.09859; belt 936 mm, 312 teeth, centre distance 438 mm, ten in mesh).
Tolerance: half of the last printed digit.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from twoturn.drive.path import as_complex, belt_path


@pytest.mark.parametrize(
    ("inch", "mm"),
    [(0.080, 2.032), (0.125, 3.175), (0.200, 5.080), (0.375, 9.525), (0.500, 12.700), (0.875, 22.225), (1.250, 31.750)],
)
def test_pitches_are_inches(inch: float, mm: float) -> None:
    assert inch * 25.4 == pytest.approx(mm, abs=5e-4)


def test_worked_sheet_of_a_3m_drive() -> None:
    radius = 20 * 3 / (2 * math.pi)
    assert 2 * radius == pytest.approx(19.09859, abs=5e-6)
    path = belt_path(as_complex([[0, 0], [438, 0]]), np.array([radius, radius]), np.array([True, True]), 1)
    assert float(path.length_mm) == pytest.approx(936, abs=5e-9)
    assert float(path.length_mm) / 3 == pytest.approx(312, abs=1e-9)
    assert np.degrees(path.wraps_rad) / 360 * 20 == pytest.approx([10, 10], abs=1e-9)
