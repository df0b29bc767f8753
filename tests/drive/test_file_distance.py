"""Coordinates from distances: networks whose truth the test knows, noise, mirror images, and what cannot be solved."""

from __future__ import annotations

import cmath
import math
import re
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.drive.file_texts import MEASURED, changed

from twoturn.acts.drive import solve_drive
from twoturn.drive.load import read_drive
from twoturn.drive.network import loose_points, solve_network
from twoturn.drive.network_model import Bearing, Distance, Network, NetworkError, Side
from twoturn.mechanics.setting.length_u import length_u_mm

TRUTH = {"crank": 0j, "cam": 10 + 300j, "pump": -80 + 120j, "idler": 95 + 160j, "bolt": -60 + 220j}


def _clock(step: complex) -> float:
    return 90.0 - math.degrees(cmath.phase(step))


def _network(
    truth: dict[str, complex],
    pairs: list[tuple[str, str]],
    u_mm: float = 0.3,
    noise: np.ndarray | None = None,
    sides: list[Side] | None = None,
) -> Network:
    errors = np.zeros(len(pairs)) if noise is None else noise
    rows = [Distance(a, b, abs(truth[b] - truth[a]) + e, u_mm) for (a, b), e in zip(pairs, errors, strict=True)]
    first = rows[0]
    bearing = Bearing(first.a, first.b, _clock(truth[first.b] - truth[first.a]), 0.0, first.mm)
    return Network({"crank": 0j}, rows, [bearing], sides or [])


EVERY_PAIR = [("crank", "cam"), *(pair for pair in combinations(TRUTH, 2) if pair != ("crank", "cam"))]
ONE_SIDE = [Side("pump", "crank", "x", 0)]


def _layout(seed: int) -> dict[str, complex]:
    """Three to six points round the crankshaft, none near another, none near a line through two others."""
    random = np.random.default_rng(seed)
    while True:
        points = random.uniform(-300, 300, (random.integers(3, 7), 2)) @ np.array([1.0, 1j])
        truth = {"crank": 0j, **{f"p{number}": complex(point) for number, point in enumerate(points)}}
        apart = min(abs(truth[a] - truth[b]) for a, b in combinations(truth, 2))
        if apart > 40 and min(_sine(truth, names) for names in combinations(truth, 3)) > 0.1:
            return truth


def _sine(truth: dict[str, complex], names: tuple[str, ...]) -> float:
    a, b, c = (truth[name] for name in names)
    return abs(((b - a) * (c - a).conjugate()).imag) / (abs(b - a) * abs(c - a))


def _sides(truth: dict[str, complex]) -> list[Side]:
    """True statements, both ways of every pair: what a careful person could say."""
    pairs = [(a, b) for a, b in combinations(truth, 2) if abs(truth[a].real - truth[b].real) > 1]
    return [Side(a, b, "x", 0) if truth[a].real < truth[b].real else Side(b, a, "x", 0) for a, b in pairs]


@settings(max_examples=80, deadline=None)
@given(st.integers(0, 10**9))
def test_every_layout_comes_back_from_its_distances(seed: int) -> None:
    truth = _layout(seed)
    mirrored = {name: (truth["p0"] / abs(truth["p0"])) ** 2 * place.conjugate() for name, place in truth.items()}
    sides = _sides(truth)
    if all(mirrored[side.b].real < mirrored[side.other].real for side in sides):
        return  # its mirror image looks the same from left to right
    found = solve_network(_network(truth, list(combinations(truth, 2)), sides=sides))
    assert max(abs(found.places[name] - truth[name]) for name in truth) < 1e-9
    assert max(map(abs, found.residuals_mm)) < 1e-9


def test_right_triangle_by_hand() -> None:
    """Crank to cam 400 mm straight up, pump 300 mm from the crank and 500 mm from the cam: it lies at (±300, 0)."""
    rows = [Distance("crank", "cam", 400, 0.5), Distance("crank", "pump", 300, 0.5), Distance("cam", "pump", 500, 0.5)]
    bearing = Bearing("crank", "cam", 0.0, 0.0, 400)
    for side, x in [(Side("pump", "crank", "x", 1), -300.0), (Side("crank", "pump", "x", 1), 300.0)]:
        found = solve_network(Network({"crank": 0j}, rows, [bearing], [side]))
        assert found.places["pump"] == pytest.approx(complex(x, 0.0), abs=1e-9)
        # d pump.x = d(crank pump) directly; pump.y = (300² + 400² − 500²)/(2·400): u from 300, 400, 500 times 0.5 mm
        # from y = (a² + h² − c²)/2h: dy = (a·da + (h − y)·dh − c·dc)/h with y = 0
        assert found.u_mm["pump"][0] == pytest.approx(0.5, rel=1e-6)
        assert found.u_mm["pump"][1] == pytest.approx(0.5 * math.sqrt(300**2 + 400**2 + 500**2) / 400, rel=1e-6)


def test_a_second_anchor_fixes_the_rotation() -> None:
    rows = [Distance("crank", "pump", 300, 0.5), Distance("cam", "pump", 500, 0.5)]
    network = Network({"crank": 0j, "cam": 400j}, rows, [], [Side("pump", "crank", "x", 0)])
    assert solve_network(network).places["pump"] == pytest.approx(-300 + 0j, abs=1e-9)


def test_scatter_of_solutions_is_the_stated_uncertainty_and_chi_squared_its_degrees_of_freedom() -> None:
    """400 drawn networks: ten distances, seven free coordinates, three surplus; JCGM 101 style propagation."""
    random = np.random.default_rng(3)
    u = 0.3
    found, chi = [], []
    for _ in range(400):
        network = _network(TRUTH, EVERY_PAIR, u, random.normal(0, u, len(EVERY_PAIR)), ONE_SIDE)
        try:
            solution = solve_network(network)
        except NetworkError as error:
            assert error.reason == "residual"  # noqa: PT017  (some draws lie beyond three uncertainties)
            continue
        found.append([solution.places[name] for name in TRUTH])
        chi.append(solution.chi_squared(network))
    assert len(found) > 375  # each of ten residuals lies beyond three of its own uncertainties in 0.27 % of draws
    stated = [solution.u_mm[name] for name in TRUTH if name != "crank"]
    scatter = np.array(found)[:, 1:]
    observed = np.stack([scatter.real.std(axis=0), scatter.imag.std(axis=0)], axis=-1)
    ratio = observed[np.array(stated) > 1e-3] / np.array(stated)[np.array(stated) > 1e-3]
    assert np.all(np.abs(ratio - 1) < 0.12)  # a standard deviation of 400 draws is known to 3.5 %
    assert np.mean(chi) == pytest.approx(3.0, abs=4 * math.sqrt(2 * 3 / 400))
    assert np.abs(scatter.mean(axis=0) - np.array(list(TRUTH.values())[1:])).max() < 4 * u / 20 * 2


def test_mirror_image_is_asked_for_and_settled() -> None:
    with pytest.raises(NetworkError) as caught:
        solve_network(_network(TRUTH, EVERY_PAIR))
    assert caught.value.reason == "mirror"
    left = solve_network(_network(TRUTH, EVERY_PAIR, sides=[Side("pump", "crank", "x", 0)])).places
    right = solve_network(_network(TRUTH, EVERY_PAIR, sides=[Side("crank", "pump", "x", 0)])).places
    axis = (TRUTH["cam"] / abs(TRUTH["cam"])) ** 2
    for name, place in left.items():
        assert right[name] == pytest.approx(axis * place.conjugate(), abs=1e-6)


def test_every_point_with_two_distances_only_needs_its_own_side() -> None:
    pairs = [("crank", "cam")] + [(end, name) for name in ("pump", "idler", "bolt") for end in ("crank", "cam")]
    sides = [Side("pump", "crank", "x", 1), Side("crank", "idler", "x", 3)]
    with pytest.raises(NetworkError) as caught:
        solve_network(_network(TRUTH, pairs, sides=sides))
    assert (caught.value.reason, caught.value.points) == ("mirror", ["bolt"])
    found = solve_network(_network(TRUTH, pairs, sides=[*sides, Side("bolt", "crank", "x", 5)]))
    assert all(abs(found.places[name] - TRUTH[name]) < 1e-6 for name in TRUTH)


def test_a_network_that_no_chain_of_circles_leads_through() -> None:
    """Two triangles joined by three bars, and one surplus bar: no point meets two circles after the first triangle."""
    truth = {"crank": 0j, "a": 200 + 10j, "b": 90 + 170j, "c": 30 + 310j, "d": 240 + 290j, "e": 120 + 420j}
    bars = ["crank a", "crank b", "a b", "c d", "c e", "d e", "crank c", "a d", "b e", "crank e"]
    pairs = [(bar.split()[0], bar.split()[1]) for bar in bars]
    found = solve_network(_network(truth, pairs, sides=[Side("crank", "a", "x", 0), Side("b", "a", "y", 0)]))
    assert all(abs(found.places[name] - truth[name]) < 1e-6 for name in truth)


def test_points_that_are_not_held_are_named() -> None:
    pairs = [pair for pair in EVERY_PAIR if "idler" not in pair]
    network = _network(TRUTH, [*pairs, ("crank", "idler")])
    assert loose_points(network) == ["idler"]
    with pytest.raises(NetworkError) as caught:
        solve_network(network)
    assert (caught.value.reason, caught.value.points) == ("lacking", ["idler"])


def test_no_bearing_and_one_anchor_is_no_rotation() -> None:
    network = _network(TRUTH, EVERY_PAIR)
    with pytest.raises(NetworkError) as caught:
        solve_network(Network(network.anchors, network.distances, []))
    assert caught.value.reason == "rotation"


def test_a_gross_mistake_is_refused() -> None:
    noise = np.zeros(len(EVERY_PAIR))
    noise[4] = 12.0
    with pytest.raises(NetworkError) as caught:
        solve_network(_network(TRUTH, EVERY_PAIR, 0.3, noise, ONE_SIDE))
    assert caught.value.reason == "residual"
    assert caught.value.residual_u > 3
    assert caught.value.rows == [4]
    assert caught.value.fitted_mm[0] == pytest.approx(abs(TRUTH[EVERY_PAIR[4][1]] - TRUTH[EVERY_PAIR[4][0]]), abs=0.5)


def test_each_residual_is_judged_against_its_own_uncertainty() -> None:
    """A braced square, one surplus bar: by hand.

    Sides and diagonals of a square balance in the one self-stress n = (1, 1, 1, 1, −√2, −√2)/√8, so q = n²: 1/8 for a
    side, 1/4 for a diagonal. An error of 10 u in a side leaves 10·√(1/8) = 3.5 of its own uncertainties everywhere,
    though no residual is beyond 1.8 u.
    """
    truth = {"crank": 0j, "a": 200 + 0j, "b": 200 + 200j, "c": 200j}
    pairs = [("crank", "a"), ("a", "b"), ("b", "c"), ("c", "crank"), ("crank", "b"), ("a", "c")]
    sides = [Side("crank", "a", "x", 0), Side("c", "a", "y", 3)]
    with pytest.raises(NetworkError) as caught:
        solve_network(_network(truth, pairs, 0.1, np.array([1.0, 0, 0, 0, 0, 0]), sides))
    assert caught.value.residual_u == pytest.approx(10 / math.sqrt(8), rel=0.02)
    assert caught.value.rows == list(range(6))
    assert caught.value.fitted_mm[0] == pytest.approx(200.0, abs=0.02)
    found = solve_network(_network(truth, pairs, 0.1, np.array([0.8, 0, 0, 0, 0, 0]), sides))
    assert np.abs(found.residuals_mm) == pytest.approx([0.1] * 4 + [0.1 * math.sqrt(2)] * 2, rel=0.02)


def test_the_measured_example_gives_centres_bolt_and_residuals() -> None:
    drive = read_drive(MEASURED, "measured.toml")
    belt = drive.belts[0]
    cam = belt.pulley("cam")
    assert cam.centre_mm is not None
    assert cam.centre_mm == pytest.approx((0.0, 368.2), abs=0.2)
    assert belt.tensioners[0].bolt_mm == pytest.approx((-19.3, 180.0), abs=0.8)
    assert set(drive.distances) == {":".join(row.between) for row in drive.file.distance}
    assert max(map(abs, drive.distances.values())) < 0.2
    assert belt.has_coordinates
    assert not drive.is_list
    assert all(0 <= u < 1.5 for pulley in belt.pulleys for u in pulley.centre_u_mm or ())


def test_above_and_left_of_speak_of_the_second_point() -> None:
    """bearing 90 turns the whole example a quarter clockwise: what was left now lies above."""
    text = changed(MEASURED, "bearing_deg = 0", "bearing_deg = 90").replace('left_of = "crank"', 'above = "crank"')
    turned = read_drive(text, "turned.toml").belts[0]
    upright = read_drive(MEASURED, "upright.toml").belts[0]
    for name in ("cam", "coolant pump"):
        x, y = upright.pulley(name).centre_mm or (0.0, 0.0)
        assert turned.pulley(name).centre_mm == pytest.approx((y, -x), abs=1e-6)


def test_surplus_coordinates_and_distances_may_mix() -> None:
    text = changed(MEASURED, "bearing_deg = 0\n", "")
    text = changed(text, 'role = "camshaft"', 'role = "camshaft"\nat_mm = [0.0, 368.0]')
    drive = read_drive(text, "mixed.toml")
    assert drive.belts[0].pulley("cam").centre_mm == (0.0, 368.0)
    assert drive.distances["crank:cam"] == pytest.approx(0.2)


SHARED = """
[drive]
name = "invented"
crank_turns = "clockwise"
source = "test"
[[belt]]
teeth = 100
pitch_mm = 8
stiffness_n = 4e5
[[pulley]]
id = "crank"
role = "crankshaft"
teeth = 20
[[pulley]]
id = "cam"
role = "camshaft"
teeth = 40
[[pulley]]
id = "pump"
role = "coolant pump"
teeth = 20
[[distance]]
between = ["crank", "cam"]
mm = 300.0
mm_u = 0.2
bearing_deg = 0
[[distance]]
between = ["crank", "pump"]
mm = 140.0
mm_u = 0.2
[[distance]]
between = ["pump", "cam"]
mm = 200.0
mm_u = 0.2
left_of = "pump"
"""


def test_u_of_a_path_counts_what_points_share(tmp_path: Path) -> None:
    """Against the distances drawn anew many times: points placed by the same distances move together."""
    random = np.random.default_rng(4)

    def solved(off: float) -> tuple[float, float]:
        def drawn(found: re.Match[str]) -> str:
            return f"\nmm = {float(found.group(1)) + off * random.normal(0, 0.2)}"

        file = tmp_path / "drive.toml"
        file.write_text(re.sub(r"\nmm = (\S+)", drawn, SHARED), encoding="utf-8")
        belt = solve_drive(file).belts[0]
        assert belt.shape is not None
        return float(belt.shape.path.length_mm), length_u_mm(belt.belt, belt.shape.path)

    stated = solved(0.0)[1]
    lengths = [solved(1.0)[0] for _ in range(150)]
    assert stated == pytest.approx(float(np.std(lengths)), rel=0.2)
