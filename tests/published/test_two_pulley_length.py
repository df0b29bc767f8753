"""Length and wrap of a belt round two pulleys.

Sources, read: R. S. Khurmi and J. K. Gupta, Theory of Machines, flat-belt example (crossed, 450 and 200 mm, 1.95 m
apart; question read on three study pages, result from memory: 4.975 m, 199.2°); a study page (open, 1600 and 500 mm,
12 m apart: 27.32 m); a school problem (open, 105 and 393, 697 mm apart: 2.2 m; its page takes an arctangent for the
arcsine, so only the rounded length is safe). Tolerance: half of the last printed digit.
"""

from __future__ import annotations

import numpy as np
import pytest

from twoturn.drive.path import Path, as_complex, belt_path


def two(small: float, large: float, apart: float, crossed: bool) -> Path:
    return belt_path(
        as_complex([[0, 0], [apart, 0]]), np.array([large / 2, small / 2]), np.array([True, not crossed]), 1
    )


@pytest.mark.parametrize(
    ("small", "large", "apart", "crossed", "printed_m", "digit_m"),
    [
        (200, 450, 1950, True, 4.975, 0.0005),
        (500, 1600, 12_000, False, 27.32, 0.005),
        (105, 393, 697, False, 2.2, 0.05),
    ],
)
def test_length(small: float, large: float, apart: float, crossed: bool, printed_m: float, digit_m: float) -> None:
    assert float(two(small, large, apart, crossed).length_mm) / 1000 == pytest.approx(printed_m, abs=digit_m)


def test_wrap_of_the_crossed_belt() -> None:
    wraps = np.degrees(two(200, 450, 1950, crossed=True).wraps_rad)
    assert wraps == pytest.approx([199.2, 199.2], abs=0.05)
