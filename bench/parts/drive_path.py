"""The belt path: speed over many drives at once, agreement with a geometry library's hull and with plain arcsines."""

from __future__ import annotations

import math

import numpy as np
import shapely
from tests.drive.test_path_second_opinions import slow_length

from bench.table import Row, best_of
from twoturn.drive.path import as_complex, belt_path

DRIVES = 100_000
COMPARED = 300


def measure() -> list[Row]:
    """Rows of the belt path."""
    return [_speed(), _against_hull(), _against_brute_force()]


def _five_pulleys(rng: np.random.Generator, cases: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    centres = as_complex([[0, 0], [-62, 120], [-80, 300], [80, 300], [55, 130]])
    centres = centres + rng.normal(0, 3, (cases, 5)) + 1j * rng.normal(0, 3, (cases, 5))
    radii = np.array([33.0, 22.0, 60.0, 60.0, 24.0]) + rng.normal(0, 0.5, (cases, 5))
    return centres, radii, np.array([True, False, True, True, False])


def _speed() -> Row:
    centres, radii, inside = _five_pulleys(np.random.default_rng(70), DRIVES)
    assert belt_path(centres, radii, inside, 1).closed.all()
    seconds = best_of(lambda: belt_path(centres, radii, inside, 1))
    rate = DRIVES / seconds
    how = "10⁵ different drives of five pulleys (two on the back) in one call: spans, wraps, length"
    return Row("belt path, speed", how, f"{rate:,.0f} drives/s", "100,000 drives/s", rate >= 1e5)


def _against_hull() -> Row:
    rng = np.random.default_rng(71)
    worst = 0.0
    for _ in range(COMPARED):
        count = int(rng.integers(2, 8))
        turn, size = rng.uniform(0, 2 * math.pi), rng.uniform(250, 900)
        angles = turn - 2 * np.pi * np.arange(count) / count
        radii = rng.uniform(5, 60, count)
        centres = size * np.exp(1j * angles)
        length = float(belt_path(centres, radii, np.ones(count, dtype=bool), 1).length_mm)
        worst = max(worst, abs(length / _hull_mm(centres, radii) - 1))
    how = f"{COMPARED} drives of two to seven pulleys; discs of 4,000 and 8,000 corners, Richardson step"
    return Row("belt length against the hull of shapely", how, f"{worst:.1e}", "1e-9 relative", worst < 1e-9)


def _hull_mm(centres: np.ndarray, radii: np.ndarray) -> float:
    def length(quarter: int) -> float:
        pairs = zip(centres, radii, strict=True)
        discs = [shapely.Point(at.real, at.imag).buffer(radius, quad_segs=quarter) for at, radius in pairs]
        return float(shapely.unary_union(discs).convex_hull.length)

    coarse, fine = length(1000), length(2000)
    return fine + (fine - coarse) / 3


def _against_brute_force() -> Row:
    centres, radii, inside = _five_pulleys(np.random.default_rng(72), 5000)
    lengths = belt_path(centres, radii, inside, 1).length_mm
    slow = np.array([slow_length(centres[case], radii[case], inside) for case in range(5000)])
    worst = float(np.max(np.abs(lengths / slow - 1)))
    how = "5,000 drives with two pulleys on the back; arcsines of one pair of pulleys at a time"
    return Row("belt length against brute force", how, f"{worst:.1e}", "1e-9 relative", worst < 1e-9)
