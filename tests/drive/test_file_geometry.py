"""Geometry that cannot be: against the support function of the pulleys by brute force, and cases drawn by hand."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.drive.file_texts import WHOLE

from twoturn.drive.check.geometry import geometry_faults
from twoturn.drive.load import read_drive
from twoturn.drive.parts import Belt
from twoturn.drive.path import belt_path, span_crossings
from twoturn.drive.radii import pitch_line_radii_mm

HEAD = '[drive]\nname = "invented"\ncrank_turns = "clockwise"\nsource = "test"\n[[belt]]\nteeth = 100\npitch_mm = 8\n'


def _belt(*pulleys: tuple[int, bool], back_mm: float = 0.0) -> Belt:
    """A belt over pulleys of (teeth, inside) as a list drive; the first is the crankshaft."""
    text = HEAD + f"double_sided = true\nback_mm = {back_mm}\n"
    for number, (teeth, inside) in enumerate(pulleys):
        role = "oil pump" if number else "crankshaft"
        side = "teeth" if inside else "back"
        text += f'[[pulley]]\nid = "p{number}"\nrole = "{role}"\nteeth = {teeth}\nbelt_side = "{side}"\n'
    return read_drive(text, "test.toml").belts[0]


def _refusals(belt: Belt, *centres: tuple[float, float]) -> set[str]:
    return {fault.refusal for fault in geometry_faults(belt, np.array(centres))}


def _wraps_by_brute_force(centres: np.ndarray, radii: np.ndarray) -> tuple[np.ndarray, bool]:
    """Wraps of a tight belt round all circles: degrees of directions in which each reaches farthest.

    Also whether it meets them in the order of the list, clockwise.
    """
    angles = np.linspace(2 * np.pi, 0, 7200, endpoint=False)
    reach = centres @ np.array([np.cos(angles), np.sin(angles)]) + radii[:, None]
    farthest = reach.argmax(axis=0)
    met = farthest[np.nonzero(farthest != np.roll(farthest, 1))]
    in_order = bool(np.all((met - np.roll(met, 1)) % len(radii) == 1))
    return np.bincount(farthest, minlength=len(radii)) / 20.0, in_order


@settings(max_examples=150, deadline=None)
@given(st.integers(0, 10**9))
def test_pulleys_inside_are_legal_just_when_a_tight_belt_touches_each(seed: int) -> None:
    random = np.random.default_rng(seed)
    count = int(random.integers(3, 7))
    belt = _belt(*((int(teeth), True) for teeth in random.integers(16, 48, count)))
    radii = pitch_line_radii_mm(belt)
    angles = np.sort(random.uniform(0, 2 * np.pi, count))[::-1]  # clockwise, as the belt travels
    centres = random.uniform(80, 300, count)[:, None] * np.stack([np.cos(angles), np.sin(angles)], axis=-1)
    gaps = np.linalg.norm(centres[:, None] - centres, axis=-1) - radii - radii[:, None] + 1e9 * np.eye(count)
    refusals = _refusals(belt, *map(tuple, centres))
    if gaps.min() <= 0:
        assert refusals == {"pulley-overlap"}
        return
    wraps, in_order = _wraps_by_brute_force(centres, radii)
    if in_order and wraps.min() > 3.2 and wraps.max() < 299:
        assert refusals == set()
    elif not in_order or wraps.min() < 2.8 or wraps.max() > 301:
        assert refusals & {"wrap-narrow", "wrap-wide", "wrap-sum", "span-through", "belt-crosses"}


def test_two_pulleys_and_a_roller_pressed_in_from_outside() -> None:
    belt = _belt((20, True), (20, False), (20, True))
    assert _refusals(belt, (0, 0), (-45, 100), (0, 200)) == set()
    assert "wrap-narrow" in _refusals(belt, (0, 0), (-50.9, 100), (0, 200))  # hardly touches
    assert "wrap-wide" in _refusals(belt, (0, 0), (-60, 100), (0, 200))  # stands clear of the belt
    told = next(fault.found for fault in geometry_faults(belt, np.array([(0, 0), (-60, 100), (0, 200)])))
    # by hand: the belt runs at x = −80/π mm, the roller's rim at −60 + 80/π
    assert told.startswith("a wrap of 3")
    assert f'the belt does not touch "p1" there: it passes about {60 - 160 / np.pi:.1f} mm clear' in told
    assert _refusals(belt, (0, 0), (-20, 30), (0, 200)) == {"pulley-overlap"}


def test_a_span_through_a_pulley_names_all_three() -> None:
    belt = _belt((20, True), (20, False), (20, True), (20, True))
    centres = np.array([(0, 0), (-30, 100), (0, 250), (-6, 160)], dtype=float)
    faults = geometry_faults(belt, centres)
    through = [fault for fault in faults if fault.refusal == "span-through"]
    assert through
    assert all(set(fault.words) == {"one", "other", "third"} for fault in through)
    assert all("mm into it" in fault.found for fault in through)


def test_no_room_for_the_belt_between_crossed_neighbours() -> None:
    """Circles that do not overlap leave room for every tangent; only a back that is thick fills the gap."""
    text = WHOLE.replace("back_mm = 1.6", "back_mm = 90")
    belt = read_drive(text, "thick.toml").belts[0]
    centres = np.array([(0.0, 0.0), (-60.0, 174.0), (0.0, 368.0), (64.0, 150.0)])
    assert {fault.refusal for fault in geometry_faults(belt, centres)} == {"pulley-overlap"}


def test_an_unknown_centre_leaves_only_what_does_not_depend_on_it() -> None:
    belt = _belt((20, True), (20, True), (20, True), (20, True))
    nowhere = (np.nan, np.nan)
    assert _refusals(belt, (0, 0), nowhere, (0, 200), (200, 100)) == set()
    assert _refusals(belt, (0, 0), nowhere, (0, 200), (0, 20)) == {"pulley-overlap"}
    assert "wrap-wide" in _refusals(belt, nowhere, (0, 200), (-5, 100), (0, 0))
    assert _refusals(belt, nowhere, nowhere, nowhere, nowhere) == set()


@pytest.mark.parametrize("way", ["clockwise", "counter-clockwise"])
def test_a_mirrored_drive_is_as_legal(way: str) -> None:
    sign = 1 if way == "clockwise" else -1
    text = WHOLE.replace('crank_turns = "clockwise"', f'crank_turns = "{way}"')
    text = text.replace("[64.0, 150.0]", f"[{sign * 64.0}, 150.0]")
    assert read_drive(text, "mirrored.toml").belts[0].has_coordinates


def test_a_belt_that_crosses_itself_is_refused() -> None:
    """By hand: from the pump on the right to a back pulley on the far left, through the run up the left side.

    The wraps add up and every pulley is clear of every span, so nothing else shows it.
    """
    belt = _belt((22, True), (20, False), (44, True), (20, True), (12, False))
    refusals = _refusals(belt, (0.0, 0.0), (-27.0, 180.0), (0.0, 368.0), (64.0, 150.0), (-37.0, 90.0))
    assert refusals == {"belt-crosses"}


@settings(max_examples=100, deadline=None)
@given(st.integers(0, 10**9))
def test_spans_cross_just_where_a_fine_walk_along_both_says_so(seed: int) -> None:
    """Second opinion: the two segments' common point by solving the two line equations."""
    random = np.random.default_rng(seed)
    centres = random.uniform(-300, 300, 5) + 1j * random.uniform(-300, 300, 5)
    path = belt_path(centres, np.full(5, 5.0), random.uniform(size=5) < 0.7, 1)
    crossings = span_crossings(path)
    for i in range(5):
        for j in range(5):
            a, b, c, d = path.leaves[i], path.enters[i], path.leaves[j], path.enters[j]
            matrix = np.array([[(b - a).real, (c - d).real], [(b - a).imag, (c - d).imag]])
            if i == j or np.isnan(matrix).any() or abs(np.linalg.det(matrix)) < 1e-9:
                continue
            share = np.linalg.solve(matrix, [(c - a).real, (c - a).imag])
            assert crossings[i, j] == bool(np.all((share > 0) & (share < 1)))
