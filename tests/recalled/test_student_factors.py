"""Student's factors for 95 %.

Source: JCGM 100:2008 (GUM), table G.2, from memory. Tolerance: half of the last printed digit.
"""

from __future__ import annotations

import math

import pytest

from twoturn.quantity.reading import coverage_factor


@pytest.mark.parametrize(
    ("dof", "factor"),
    [(1, 12.71), (2, 4.30), (3, 3.18), (4, 2.78), (5, 2.57), (10, 2.23), (20, 2.09), (50, 2.01), (math.inf, 1.960)],
)
def test_factor(dof: float, factor: float) -> None:
    assert coverage_factor(dof) == pytest.approx(factor, abs=0.005)
