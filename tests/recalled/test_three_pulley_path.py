"""Path of the three-pulley prototype with a back-side tensioner pulley.

Source: Beikmann, Perkins and Ulsoy (1996), as tabulated by Kong and Parker (2003, 2004); inputs and results from memory
(spans recalled before computing; the angles to the arm recalled later, so looser). Tolerance: half of the last digit;
0.02° for the angles, since the coordinates are rounded. Wraps and belt length are derived, a second computation.
"""

from __future__ import annotations

import numpy as np
import pytest

from twoturn.drive.path import as_complex, belt_path

CENTRES = as_complex([[552.5, 55.6], [347.7, 57.15], [0.0, 0.0]])
RADII_MM = np.array([88.9, 45.2, 26.97])
PIVOT = 250.8 + 63.5j
PATH = belt_path(CENTRES, RADII_MM, np.array([True, False, True]), -1)


def test_spans() -> None:
    assert PATH.closed
    assert PATH.spans_mm == pytest.approx([154.8, 344.9, 551.8], abs=0.05)


def test_arm_and_its_angles_to_the_spans() -> None:
    arm = CENTRES[1] - PIVOT
    assert abs(arm) == pytest.approx(97, abs=0.5)
    along = [PATH.directions[0], -PATH.directions[1]]
    angles = [np.degrees(abs(np.angle(-direction / arm))) for direction in along]
    assert sorted([180 - angle if angle < 90 else angle for angle in angles]) == pytest.approx(
        [135.79, 178.74], abs=0.02
    )


def test_derived_wraps_and_length() -> None:
    assert np.degrees(PATH.signed_wraps_rad) == pytest.approx([221.1251, -42.9530, 181.8279], abs=5e-5)
    assert float(PATH.length_mm) == pytest.approx(1514.092, abs=5e-4)
