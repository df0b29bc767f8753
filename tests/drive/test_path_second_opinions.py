"""The belt path against other ways to find it: a geometry library's hull, closed forms, a belt of straight pieces."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from twoturn.drive.path import Path, as_complex, belt_path, pulley_gaps, span_clearances

ARC_STEPS = 1000


def path_of(circles: list[tuple[float, float, float]], inside: list[bool], sense: int = 1) -> Path:
    centres = as_complex([(x, y) for x, y, _ in circles])
    radii = np.array([radius for _, _, radius in circles])
    return belt_path(centres, radii, np.array(inside), sense)


def hull_length(circles: list[tuple[float, float, float]]) -> float:
    """Length of a tight band round discs, from the library's hull, Richardson over two fineness steps."""
    coarse, fine = (
        shapely.unary_union([shapely.Point(x, y).buffer(r, quad_segs=steps) for x, y, r in circles]).convex_hull.length
        for steps in (ARC_STEPS, 2 * ARC_STEPS)
    )
    return fine + (fine - coarse) / 3


def clockwise(circles: list[tuple[float, float, float]]) -> list[tuple[float, float, float]]:
    x = sum(c[0] for c in circles) / len(circles)
    y = sum(c[1] for c in circles) / len(circles)
    return sorted(circles, key=lambda c: -math.atan2(c[1] - y, c[0] - x))


@pytest.mark.parametrize(
    "circles",
    [
        [(0, 0, 30), (200, 0, 60)],
        [(0, 0, 33.3), (-60, 250, 66.7), (90, 240, 66.7)],
        [(0, 0, 30), (-120, 40, 25), (-90, 300, 60), (80, 310, 60), (110, 60, 30)],
    ],
)
def test_length_is_that_of_the_hull_of_a_geometry_library(circles: list[tuple[float, float, float]]) -> None:
    ordered = clockwise(circles)
    path = path_of(ordered, [True] * len(ordered))
    assert path.closed
    assert float(path.length_mm) == pytest.approx(hull_length(circles), rel=1e-9)


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.tuples(st.floats(0.5, 1.5), st.floats(5, 60)), min_size=3, max_size=7),
    st.floats(250, 900),
    st.floats(0, 6.28),
)
def test_pulleys_round_a_ring_give_the_hull(pieces: list[tuple[float, float]], size: float, turn: float) -> None:
    count = len(pieces)
    circles = []
    for index, (_, radius) in enumerate(pieces):
        angle = turn - 2 * math.pi * index / count
        circles.append((size * math.cos(angle), size * math.sin(angle), radius))
    path = path_of(circles, [True] * count)
    assert path.closed
    assert float(path.length_mm) == pytest.approx(hull_length(circles), rel=1e-9)


def test_a_slow_loop_gives_the_same_as_the_vectorised_kernel() -> None:
    rng = np.random.default_rng(11)
    centres = as_complex([[0, 0], [-62, 120], [-80, 300], [80, 300], [55, 130]]) + rng.normal(0, 3, (200, 5))
    radii = np.array([33.0, 22.0, 60.0, 60.0, 24.0]) + rng.normal(0, 0.5, (200, 5))
    inside = np.array([True, False, True, True, False])
    together = belt_path(centres, radii, inside, 1)
    for case in range(200):
        wanted = slow_length(centres[case], radii[case], inside)
        assert together.length_mm[case] == pytest.approx(wanted, rel=1e-12)


def slow_length(centres: np.ndarray, radii: np.ndarray, inside: np.ndarray) -> float:
    """Arcsines of one pair of circles at a time, in plain numbers."""
    headings, total = [], 0.0
    count = len(radii)
    for index in range(count):
        after = (index + 1) % count
        dx, dy = (centres[after] - centres[index]).real, (centres[after] - centres[index]).imag
        one, other = (radii[k] if inside[k] else -radii[k] for k in (index, after))
        lean = math.asin((other - one) / math.hypot(dx, dy))
        headings.append(math.atan2(dy, dx) + lean)
        total += math.hypot(dx, dy) * math.cos(lean)
    for index in range(count):
        turned = (headings[index - 1] - headings[index]) * (1 if inside[index] else -1)
        total += radii[index] * (turned % (2 * math.pi))
    return total


def tangent(one: tuple[float, float, float, int], other: tuple[float, float, float, int]) -> tuple[float, float]:
    """Clock-free brute force: the contact angle on ``one`` from which the line just touches ``other``; and on that."""
    from scipy.optimize import brentq

    def miss(angle: float) -> float:
        heading = angle - one[3] * math.pi / 2
        x, y = one[0] + one[2] * math.cos(angle), one[1] + one[2] * math.sin(angle)
        right = (other[0] - x) * math.sin(heading) - (other[1] - y) * math.cos(heading)
        return right - other[3] * other[2]

    def ahead(angle: float) -> float:
        heading = angle - one[3] * math.pi / 2
        return (other[0] - one[0]) * math.cos(heading) + (other[1] - one[1]) * math.sin(heading)

    places = np.linspace(0.001, 0.001 + 2 * math.pi, 721)
    for low, high in pairwise(places):
        if miss(low) * miss(high) < 0 and ahead(low) > 0:
            found = brentq(miss, low, high, xtol=1e-14)
            return found, found if one[3] == other[3] else found + math.pi
    raise AssertionError("no tangent")


def test_a_belt_of_straight_pieces_with_pulleys_on_its_back() -> None:
    circles = [(0.0, 0.0, 30.0), (-62.0, 120.0, 22.0), (-80.0, 300.0, 60.0), (80.0, 300.0, 60.0), (55.0, 130.0, 24.0)]
    inside = [True, False, True, True, False]
    turned = [(x, y, r, 1 if front else -1) for (x, y, r), front in zip(circles, inside, strict=True)]
    leaves, enters = [], [0.0] * 5
    for index, circle in enumerate(turned):
        out, into = tangent(circle, turned[(index + 1) % 5])
        leaves.append(out)
        enters[(index + 1) % 5] = into
    lengths = []
    for pieces in (4000, 8000):
        points = []
        for (x, y, r, way), begin, end in zip(turned, enters, leaves, strict=True):
            swept = (way * (begin - end)) % (2 * math.pi)
            angles = begin - way * np.linspace(0, swept, pieces)
            points += [(x + r * math.cos(a), y + r * math.sin(a)) for a in angles]
        loop = shapely.LinearRing(points)
        assert loop.is_simple
        lengths.append(loop.length)
    assert float(path_of(circles, inside).length_mm) == pytest.approx(
        lengths[1] + (lengths[1] - lengths[0]) / 3, rel=1e-9
    )


def test_no_tangent_and_no_warning() -> None:
    centres = as_complex([[[0, 0], [100, 0]], [[0, 0], [10, 0]], [[0, 0], [0, 0]]])
    path = belt_path(centres, np.array([30.0, 50.0]), np.array([True, True]), 1)
    assert path.closed.tolist() == [True, False, False]
    assert np.isnan(path.length_mm).tolist() == [False, True, True]


def test_travel_against_the_order_of_the_list_does_not_close() -> None:
    circles = [(0.0, 0.0, 30.0), (-60.0, 250.0, 60.0), (90.0, 240.0, 60.0)]
    assert path_of(circles, [True] * 3, 1).closed
    assert not path_of(circles[::-1], [True] * 3, 1).closed
    assert path_of(circles[::-1], [True] * 3, -1).closed


def test_gaps_and_clearances_against_the_geometry_library() -> None:
    circles = [(0.0, 0.0, 30.0), (-62.0, 120.0, 22.0), (-80.0, 300.0, 60.0), (80.0, 300.0, 60.0), (55.0, 130.0, 24.0)]
    inside = [True, False, True, True, False]
    path = path_of(circles, inside)
    centres, radii = as_complex([c[:2] for c in circles]), np.array([c[2] for c in circles])
    gaps, clear = pulley_gaps(centres, radii), span_clearances(path, centres, radii)
    for a in range(5):
        span = shapely.LineString(
            [(path.leaves[a].real, path.leaves[a].imag), (path.enters[a].real, path.enters[a].imag)]
        )
        for b in range(5):
            if a != b:
                apart = shapely.Point(circles[a][:2]).distance(shapely.Point(circles[b][:2]))
                assert gaps[a, b] == pytest.approx(apart - radii[a] - radii[b], abs=1e-9)
            if b not in (a, (a + 1) % 5):
                assert clear[a, b] == pytest.approx(span.distance(shapely.Point(circles[b][:2])) - radii[b], abs=1e-9)


def test_tangents_touch_their_pulleys_at_right_angles() -> None:
    circles = [(0.0, 0.0, 30.0), (-62.0, 120.0, 22.0), (-80.0, 300.0, 60.0), (80.0, 300.0, 60.0)]
    path = path_of(circles, [True, False, True, True])
    for index, (x, y, r) in enumerate(circles):
        arm = path.leaves[index] - complex(x, y)
        assert abs(arm) == pytest.approx(r, rel=1e-12)
        assert (arm * path.directions[index].conjugate()).real == pytest.approx(0, abs=1e-10)
        after = complex(*circles[(index + 1) % 4][:2])
        assert abs(path.enters[index] - after) == pytest.approx(circles[(index + 1) % 4][2], rel=1e-12)
