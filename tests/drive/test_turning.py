"""Turning the crankshaft: against closed forms, brute force, a general geometry library and mirror images."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import Point
from shapely.ops import unary_union
from tests.drive.turning_drives import HEAD, SIX, SIX_ROLLER_MM, drive_of, laid_of, mirrored, two_equal

import twoturn.demo
from twoturn.drive import turning
from twoturn.drive.laid import distance_to_mark_mm, line_zero_mm, places
from twoturn.drive.load import load_drive

DRIVES = sorted((Path(twoturn.demo.__path__[0]) / "drives").glob("*.toml"))


@pytest.fixture(scope="module", params=DRIVES, ids=lambda path: path.stem)
def shipped(request: pytest.FixtureRequest) -> turning.Drive:
    return load_drive(request.param)


def test_every_mark_returns_after_marks_return_and_not_before(shipped: turning.Drive) -> None:
    back = turning.marks_return(shipped)
    assert back.turns is not None
    ratios = [shaft.ratio for shaft in shipped.shafts if shaft.phased]
    assert shipped.crankshaft.ratio == 1
    first = next(turn for turn in range(1, 10_000) if all((turn * ratio).denominator == 1 for ratio in ratios if ratio))
    assert back.turns == first


def test_lines_and_marks_meet_again_after_realign_and_not_before(shipped: turning.Drive) -> None:
    for belt in shipped.belts:
        back = turning.realign(shipped, belt).turns
        assert back is not None
        teeth = [belt.table.teeth, *(pulley.teeth for pulley in (belt.driver, *belt.marked))]
        passed, each = 0, belt.driver.teeth
        turns_of_driver = 0
        while True:
            turns_of_driver += 1
            passed += each
            if all(passed % count == 0 for count in teeth):
                break
        ratio = abs(shipped.shaft(belt.driver.shaft).ratio)
        assert back == Fraction(turns_of_driver) / ratio
        assert turning.lines_meet_after(shipped, belt, back)
        assert not turning.lines_meet_after(shipped, belt, back / 2)


def test_after_two_turns_marks_meet_but_painted_lines_do_not() -> None:
    """Common practice, no source: painted lines need not meet the marks again after two turns."""
    drive = drive_of(SIX)
    assert turning.marks_return(drive).turns == 2
    assert turning.realign(drive, drive.belts[0]).turns == 2 * 131
    assert turning.lines_meet_after(drive, drive.belts[0], 2) is False


def test_the_cam_turns_once_in_two_crank_turns_the_way_of_the_crank() -> None:
    drive = drive_of(SIX)
    angles = turning.pulley_angles_deg(drive, drive.belts[0], np.array([0.0, 90.0, 720.0]))
    assert angles["crank"] == pytest.approx([0, 90, 720])
    assert angles["left cam"] == pytest.approx([0, 45, 360])
    mirror = drive_of(mirrored(SIX))
    other = turning.pulley_angles_deg(mirror, mirror.belts[0], np.array([90.0]))
    assert other["left cam"] == pytest.approx([-45])
    smooth = turning.pulley_angles_deg(drive, drive.belts[0], 360.0)["roller"]
    assert smooth == pytest.approx(-360 * 22 * 8 / (2 * np.pi * 31.5))


def test_marks_move_with_their_sprockets() -> None:
    drive = drive_of(SIX)
    marks = turning.mark_angles_deg(drive, drive.belts[0], np.array([0.0, 360.0, 720.0]))
    assert marks["left cam"] == pytest.approx([340, 160, 340])
    assert marks["crank"] == pytest.approx([10, 10, 10])
    assert "pump" not in marks


def test_two_equal_sprockets_by_hand() -> None:
    """Closed form: on two equal sprockets side by side the upper run is horizontal and moves one pitch a tooth."""
    drive = drive_of(two_equal(20, 24))
    laid = laid_of(drive)
    radius = 24 * 8 / (2 * np.pi)
    where = turning.line_places(drive, laid, [0.0, 15.0, 360.0 * 64 / 24], lines=[0, 5, 20, 32])
    assert where.point[0, 0] == pytest.approx(1j * radius, abs=1e-9)
    assert where.point[0, 1] == pytest.approx(40 + 1j * radius)
    assert where.point[0, 2] == pytest.approx(160 + 1j * radius)
    assert where.point[0, 3] == pytest.approx(160 - 1j * radius)
    assert where.point[1, 0] == pytest.approx(8 + 1j * radius)
    assert where.point[2] == pytest.approx(where.point[0], abs=1e-9)
    assert where.on_pulley[0].tolist() == [True, False, True, True] or not where.on_pulley[0, 0]
    assert where.direction[0, 1] == pytest.approx(1)


def test_places_against_a_geometry_librarys_hull() -> None:
    """Peer: the hull of the wheels in shapely, walked along its border, for a drive without back pulleys."""
    text = SIX.split("[[tensioner]]")[0].replace('role = "tensioner"', 'role = "idler"')
    text = text.replace('belt_side = "back"', 'at_mm = [-80.0, 130.0]\nbelt_side = "teeth"')
    drive = drive_of(text)
    laid = laid_of(drive)
    circles = [
        Point(centre.real, centre.imag).buffer(radius, quad_segs=4096)
        for centre, radius in zip(laid.centres, laid.radii_mm, strict=True)
    ]
    ring = unary_union(circles).convex_hull.exterior
    assert ring.length == pytest.approx(laid.length_mm, rel=1e-6)
    ahead = np.linspace(0, drive.belts[0].table.teeth, 57)
    points = places(laid, ahead).point
    start = ring.project(Point(points[0].real, points[0].imag))
    sign = -1 if ring.is_ccw else 1
    for teeth, point in zip(ahead, points, strict=True):
        peer = ring.interpolate((start + sign * teeth * laid.mm_per_tooth) % ring.length)
        assert abs(complex(peer.x, peer.y) - point) < 2e-3


@given(st.floats(-1e4, 1e4))
@settings(max_examples=50)
def test_a_line_moves_steadily_and_stays_on_the_belt(crank_deg: float) -> None:
    drive = drive_of(SIX)
    laid = laid_of(drive, SIX_ROLLER_MM)
    step = 0.01
    pair = turning.line_places(drive, laid, [crank_deg, crank_deg + step])
    moved = (pair.point[1] - pair.point[0]) / (step / 360 * 22 * laid.mm_per_tooth)
    assert moved == pytest.approx(pair.direction[0], abs=2e-3)
    radial = np.abs(pair.point - laid.centres[pair.piece])
    assert radial[pair.on_pulley] == pytest.approx(laid.radii_mm[pair.piece][pair.on_pulley])
    on_wheel = pair.on_pulley
    clock = np.radians(pair.clock_deg[on_wheel])
    seen = laid.centres[pair.piece[on_wheel]] + laid.radii_mm[pair.piece[on_wheel]] * (
        np.sin(clock) + 1j * np.cos(clock)
    )
    assert seen == pytest.approx(pair.point[on_wheel])


@given(st.floats(0, 5000))
@settings(max_examples=50)
def test_a_mirrored_drive_gives_mirrored_places(crank_deg: float) -> None:
    left, right = drive_of(SIX), drive_of(mirrored(SIX))
    here = turning.line_places(left, laid_of(left, SIX_ROLLER_MM), crank_deg)
    there = turning.line_places(right, laid_of(right, -SIX_ROLLER_MM.conjugate()), crank_deg)
    assert there.point == pytest.approx(-here.point.conjugate(), abs=1e-6)
    marks, other = (turning.mark_angles_deg(drive, drive.belts[0], crank_deg) for drive in (left, right))
    for name, angle in marks.items():
        assert (angle + other[name]) % 360 == pytest.approx(0, abs=1e-6) or (angle + other[name]) % 360 > 359.99


def test_line_zero_stands_at_the_crank_mark_and_comes_back_after_the_teeth_of_the_belt() -> None:
    drive = drive_of(SIX.replace("mark_deg = 10.0", "mark_deg = 150.0"))
    laid = laid_of(drive, SIX_ROLLER_MM)
    place = turning.line_places(drive, laid, 0.0, lines=[0])
    assert place.clock_deg[0, 0] == pytest.approx(150.0)
    assert line_zero_mm(laid) == distance_to_mark_mm(laid, 0, 150.0)
    there = turning.line_places(drive, laid, [0.0, 360.0, 360.0 * 131], lines=[0, 131 - 22])
    assert there.point[1, 1] == pytest.approx(there.point[0, 0], abs=1e-6)
    assert there.point[2] == pytest.approx(there.point[0], abs=1e-6)


def test_one_belt_tooth_in_crank_degrees() -> None:
    """Mistiming arithmetic: z 20, 22, 24 on the crankshaft give 18, 16.3636, 15 crank degrees (derived, 360/z)."""
    for teeth, printed in ((20, 18.0), (22, 16.3636), (24, 15.0)):
        drive = drive_of(SIX.replace("teeth = 22", f"teeth = {teeth}").replace("teeth = 44", f"teeth = {2 * teeth}"))
        cam = turning.shaft_deg_per_tooth(drive, drive.shaft("left cam"))
        assert float(cam) == pytest.approx(printed, abs=5e-5)
        assert turning.shaft_deg_per_tooth(drive, drive.crankshaft) == Fraction(360, teeth)
    assert turning.shaft_deg_per_tooth(drive, drive.shaft("roller")) is None


def test_many_crank_angles_at_once_give_what_one_at_a_time_gives() -> None:
    drive = drive_of(SIX)
    laid = laid_of(drive, SIX_ROLLER_MM)
    angles = np.linspace(-100, 800, 37)
    together = turning.line_places(drive, laid, angles)
    for row, angle in enumerate(angles):
        single = turning.line_places(drive, laid, float(angle))
        assert together.point[row] == pytest.approx(single.point[0])


def test_a_drive_that_lacks_tooth_counts_says_why() -> None:
    text = (
        HEAD.format(turns="clockwise")
        + '[[belt]]\nid = "b"\nteeth = 100\n[[pulley]]\nid = "crank"\nrole = "crankshaft"\nteeth = 20\n'
        + '[[pulley]]\nid = "cam"\nrole = "camshaft"\nteeth = 40\n'
    )
    drive = drive_of(text)
    shafts = tuple(
        turning.Shaft(shaft.id, shaft.role, None if shaft.id == "cam" else shaft.ratio, shaft.phased)
        for shaft in drive.shafts
    )
    lacking = turning.Drive(**{**vars(drive), "shafts": shafts})
    assert turning.marks_return(lacking).turns is None
    assert '"cam"' in turning.marks_return(lacking).why
