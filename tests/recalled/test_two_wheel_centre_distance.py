"""Centre distance of two toothed wheels for a belt of a given tooth count.

Source: derived (no publication): three independent forms, among them the auxiliary angle of ISO 5295
(inv φ = π(zb − z2)/(z2 − z1), C = p(z2 − z1)/(2π·cos φ)). Here the path's length at that distance must be the belt's,
and the teeth in mesh z1(½ − α/π).
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from twoturn.drive.path import as_complex, belt_path

ROWS = [
    (80, 20, 40, 9.525, 236.17622, 9.18048),
    (104, 24, 48, 9.525, 321.79102, 11.13441),
    (113, 22, 44, 8.0, 318.76848, 10.38384),
    (100, 22, 44, 8.0, 266.52668, 10.26266),
    (120, 20, 60, 5.08, 200.58723, 8.96909),
    (60, 20, 20, 9.525, 190.5, 10.0),
]


@pytest.mark.parametrize(("belt", "small", "large", "pitch", "apart", "meshing"), ROWS)
def test_length_is_the_belts(belt: int, small: int, large: int, pitch: float, apart: float, meshing: float) -> None:
    radii = np.array([small, large]) * pitch / (2 * math.pi)
    path = belt_path(as_complex([[0, 0], [apart, 0]]), radii, np.array([True, True]), 1)
    assert float(path.length_mm) / pitch == pytest.approx(belt, abs=1.1e-5 / pitch * 2)
    assert np.degrees(path.wraps_rad[0]) / 360 * small == pytest.approx(meshing, abs=5e-6)
