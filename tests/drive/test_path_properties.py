"""What holds for any legal drive: wraps add up to a turn, the gradient is true, a mirror image changes nothing."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from twoturn.drive.path import as_complex, belt_path

INSIDE = np.array([True, False, True, True, False, True])
HOME = as_complex([[0, 0], [-60, 130], [-80, 300], [80, 300], [70, 180], [95, 60]])
RADII = np.array([33.0, 25.0, 60.0, 60.0, 22.0, 30.0])

shifts = st.lists(st.floats(-6, 6), min_size=12, max_size=12)
sizes = st.lists(st.floats(-4, 4), min_size=6, max_size=6)


def centres_and_radii(moved: list[float], grown: list[float]) -> tuple[np.ndarray, np.ndarray]:
    return HOME + np.array(moved[:6]) + 1j * np.array(moved[6:]), RADII + np.array(grown)


@settings(max_examples=150, deadline=None)
@given(shifts, sizes)
def test_signed_wraps_add_up_to_one_turn(moved: list[float], grown: list[float]) -> None:
    path = belt_path(*centres_and_radii(moved, grown), INSIDE, 1)
    assert path.closed
    assert np.degrees(path.signed_wraps_rad).sum() == pytest.approx(360.0, abs=1e-9)


@settings(max_examples=100, deadline=None)
@given(shifts, sizes)
def test_gradient_is_that_of_finite_differences(moved: list[float], grown: list[float]) -> None:
    centres, radii = centres_and_radii(moved, grown)
    path = belt_path(centres, radii, INSIDE, 1)
    step = 1e-4
    push = np.eye(6) * step
    for part, exact in ((1.0, path.pulls.real), (1j, path.pulls.imag)):
        ahead, behind = (belt_path(centres + sign * part * push, radii, INSIDE, 1) for sign in (1, -1))
        assert (ahead.length_mm - behind.length_mm) / (2 * step) == pytest.approx(exact, abs=1e-7)
    ahead, behind = (belt_path(centres, radii + sign * push, INSIDE, 1) for sign in (1, -1))
    assert (ahead.length_mm - behind.length_mm) / (2 * step) == pytest.approx(path.wraps_rad, abs=1e-7)


@settings(max_examples=60, deadline=None)
@given(shifts, sizes)
def test_mirrored_drive(moved: list[float], grown: list[float]) -> None:
    centres, radii = centres_and_radii(moved, grown)
    path = belt_path(centres, radii, INSIDE, 1)
    mirrored = belt_path(-centres.conj(), radii, INSIDE, -1)
    assert mirrored.length_mm == pytest.approx(path.length_mm, rel=1e-13)
    assert mirrored.wraps_rad == pytest.approx(path.wraps_rad, abs=1e-12)
    assert mirrored.directions == pytest.approx(-path.directions.conj(), abs=1e-12)


@settings(max_examples=60, deadline=None)
@given(shifts, st.floats(-3, 3), st.floats(0.5, 3))
def test_turned_moved_and_enlarged_drive(moved: list[float], turn: float, scale: float) -> None:
    centres, radii = centres_and_radii(moved, [0.0] * 6)
    path = belt_path(centres, radii, INSIDE, 1)
    other = belt_path((centres * scale + (40 - 7j)) * np.exp(1j * turn), radii * scale, INSIDE, 1)
    assert other.length_mm == pytest.approx(path.length_mm * scale, rel=1e-12)


def test_any_leading_shape() -> None:
    centres = HOME + np.zeros((4, 3, 1))
    path = belt_path(centres, RADII, INSIDE, 1)
    assert path.length_mm.shape == (4, 3)
    assert path.wraps_rad.shape == (4, 3, 6)
    assert np.ptp(path.length_mm) == 0
