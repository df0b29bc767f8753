"""Draws of inputs against their closed forms, and intervals against brute force."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from twoturn.errors import DomainError, QuantityError
from twoturn.quantity.budget import Input, propagate
from twoturn.quantity.montecarlo import draw, shortest_interval, simulate, symmetric_interval

COUNT = 200_000


@pytest.mark.parametrize(
    ("item", "distribution"),
    [
        (Input("a", 5.0, 0.5, "mm"), stats.norm(5.0, 0.5)),
        (Input("a", 5.0, 0.5, "mm", dof=3), stats.t(3, 5.0, 0.5)),
        (Input.between("a", 5.0, 0.5, "mm"), stats.uniform(4.5, 1.0)),
        (Input.between("a", 5.0, 0.5, "mm", shape="triangular"), stats.triang(0.5, 4.5, 1.0)),
        (Input.between("a", 5.0, 0.5, "mm", shape="arcsine"), stats.arcsine(4.5, 1.0)),
    ],
    ids=["normal", "t", "rectangular", "triangular", "arcsine"],
)
def test_draws_follow_their_distribution(item: Input, distribution: object) -> None:
    drawn = draw(item, np.random.default_rng(3), COUNT)
    assert stats.kstest(drawn, distribution.cdf).pvalue > 1e-3  # type: ignore[attr-defined]


@pytest.mark.parametrize("shape", ["rectangular", "triangular", "arcsine"])
def test_the_spread_of_a_bounded_input_is_its_u(shape: str) -> None:
    item = Input.between("a", 5.0, 0.5, "mm", shape=shape)
    drawn = draw(item, np.random.default_rng(4), COUNT)
    assert drawn.std() == pytest.approx(item.u, rel=0.01)
    assert np.all(np.abs(drawn - 5.0) <= 0.5 + 1e-12)


def test_an_inexact_half_width_is_drawn_too() -> None:
    """JCGM 101:2008, 6.4.3: limits known to ±d give the variance (w²/3)·(1 + d²/(3w²))."""
    item = Input.between("a", 0.0, 1.0, "mm").said("", dof=50)  # d = w/√(2·50) = 0.1
    drawn = draw(item, np.random.default_rng(5), 10 * COUNT)
    assert drawn.var() == pytest.approx((1 + 0.01 / 3) / 3, rel=0.002)
    assert 1.0 < np.abs(drawn).max() <= 1.1


def test_the_same_seed_gives_the_same_answer() -> None:
    inputs = [Input("a", 1.0, 0.1, "-"), Input("b", 2.0, 0.1, "-")]
    first, second = (simulate(np.multiply, inputs, "-", np.random.default_rng(8)) for _ in range(2))
    assert first == second


def test_correlated_inputs_agree_with_first_order() -> None:
    inputs = [Input("a", 10.0, 0.1, "-"), Input("b", 20.0, 0.2, "-"), Input("c", 1.0, 0.1, "-", dof=4)]
    pairs = {("a", "b"): -0.8}
    drawn = simulate(lambda a, b, c: a + b + 0 * c, inputs, "-", np.random.default_rng(9), correlation=pairs)
    assert drawn.u == pytest.approx(propagate(lambda a, b, c: a + b + 0 * c, inputs, "-", pairs).u_c, rel=0.02)
    with pytest.raises(QuantityError, match="c cannot be drawn"):
        simulate(np.add, inputs[1:], "-", np.random.default_rng(9), correlation={("b", "c"): 0.5})


def test_impossible_draws_are_counted_and_refused() -> None:
    with pytest.raises(DomainError, match="of 1000 draws"), np.errstate(invalid="ignore"):
        simulate(np.sqrt, [Input("a", 0.1, 0.1, "-")], "-", np.random.default_rng(1), draws=1000)


def test_too_few_draws_are_refused() -> None:
    with pytest.raises(QuantityError, match="10 draws"):
        simulate(np.sqrt, [Input("a", 1.0, 0.1, "-")], "-", np.random.default_rng(1), draws=10)
    with pytest.raises(QuantityError, match="hold no interval"):
        shortest_interval(np.array([1.0, 2.0]))


def test_the_reading_carries_the_symmetric_interval() -> None:
    drawn = simulate(np.square, [Input("a", 0.0, 1.0, "-")], "-", np.random.default_rng(2))
    assert (drawn.reading.low, drawn.reading.high) == drawn.interval
    assert drawn.shortest[1] - drawn.shortest[0] < drawn.interval[1] - drawn.interval[0]
    assert drawn.value == pytest.approx(1.0, abs=0.02)  # chi-square with one degree of freedom
    assert drawn.u == pytest.approx(math.sqrt(2), abs=0.03)


@given(st.integers(0, 2**32 - 1), st.integers(40, 400))
def test_the_shortest_interval_is_the_shortest_of_all(seed: int, size: int) -> None:
    draws = np.random.default_rng(seed).gamma(2.0, 1.0, size)
    low, high = shortest_interval(draws)
    ordered, inside = np.sort(draws), round(0.95 * size)
    brute = min(ordered[start + inside] - ordered[start] for start in range(size - inside))
    assert high - low == pytest.approx(brute)
    # the symmetric one lies between draws, this one on draws: they may differ by what lies between neighbours
    assert high - low <= np.ptp(symmetric_interval(draws)) + 2 * np.max(np.diff(ordered))
