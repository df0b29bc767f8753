"""Straight lines against a general least-squares library."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from twoturn.errors import QuantityError
from twoturn.quantity.line import fit_line


@given(st.integers(0, 10_000), st.integers(3, 40), st.floats(-50, 50))
def test_against_linear_regression(seed: int, count: int, origin: float) -> None:
    generator = np.random.default_rng(seed)
    x = generator.uniform(-10, 10, count)
    y = 2.0 - 0.3 * x + generator.normal(0, 0.5, count)
    line, other = fit_line(x, y, "mm", origin), stats.linregress(x - origin, y)
    assert line.slope == pytest.approx(other.slope, rel=1e-7, abs=1e-9)
    assert line.intercept == pytest.approx(other.intercept, rel=1e-7, abs=1e-7)
    assert line.u_slope == pytest.approx(other.stderr, rel=1e-6)
    assert line.u_intercept == pytest.approx(other.intercept_stderr, rel=1e-6)


def test_the_origin_changes_nothing_that_is_read() -> None:
    x, y = [0.0, 1.0, 2.0, 4.0], [1.0, 1.4, 2.1, 2.9]
    here, there = fit_line(x, y, "mm").at(3.0), fit_line(x, y, "mm", origin=100.0).at(3.0)
    assert here.value == pytest.approx(there.value)
    assert here.u == pytest.approx(there.u, rel=1e-6)


@pytest.mark.parametrize(
    ("x", "y", "words"),
    [
        ([1.0, 2.0], [1.0, 2.0], "three points"),
        ([1.0, 2.0, 3.0], [1.0, 2.0], "3 and 2"),
        ([1.0, 1.0, 1.0], [1.0, 2.0, 3.0], "all points lie at 1"),
        ([1.0, 2.0, np.nan], [1.0, 2.0, 3.0], "not a number"),
    ],
)
def test_points_that_make_no_line(x: list[float], y: list[float], words: str) -> None:
    with pytest.raises(QuantityError, match=words):
        fit_line(x, y, "mm")
