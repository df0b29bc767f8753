"""Belt teeth between marks: against closed forms, sums and simulated centres."""

from __future__ import annotations

import numpy as np
import pytest
from tests.drive.turning_drives import SIX, SIX_ROLLER_MM, drive_of, laid_of, mirrored, two_equal

from twoturn.drive.laid import laid_with
from twoturn.timing.counts import tooth_counts


@pytest.mark.parametrize(("apart", "z"), [(20, 24), (31, 20), (17, 40)])
def test_two_equal_sprockets_by_hand(apart: int, z: int) -> None:
    """Closed form: marks at the top of two equal sprockets are C/p teeth apart, and z + C/p the other way round."""
    rows = tooth_counts(laid_of(drive_of(two_equal(apart, z))))
    assert [row.teeth for row in rows] == pytest.approx([apart, z + apart])
    assert all(row.near_integer and row.meshes for row in rows)
    assert [row.closes for row in rows] == [False, True]


def test_counts_add_up_to_the_teeth_of_the_belt_and_are_the_same_in_a_mirror() -> None:
    rows = tooth_counts(laid_of(drive_of(SIX), SIX_ROLLER_MM))
    other = tooth_counts(laid_of(drive_of(mirrored(SIX)), -SIX_ROLLER_MM.conjugate()))
    assert sum(row.teeth for row in rows) == pytest.approx(131, abs=1e-9)
    assert [row.teeth for row in other] == pytest.approx([row.teeth for row in rows])
    assert [(row.start, row.end) for row in rows] == [
        ("crank", "left cam"),
        ("left cam", "right cam"),
        ("right cam", "crank"),
    ]


def test_a_wrong_coordinate_shows() -> None:
    """Four millimetres (half a tooth on the upper run) is no whole number of teeth."""
    rows = tooth_counts(laid_of(drive_of(two_equal(20).replace("160.0", "164.0"))))
    assert not rows[0].near_integer


def test_one_marked_sprocket_is_one_row_of_all_teeth() -> None:
    rows = tooth_counts(laid_of(drive_of(two_equal(20)[::-1].replace("mark_deg = 0.0"[::-1], "", 1)[::-1])))
    assert [(row.start, row.end, row.closes) for row in rows] == [("crank", "crank", False)]
    assert rows[0].teeth == pytest.approx(64)


def test_a_mark_on_a_tooth_is_half_a_tooth_from_a_gap() -> None:
    text = two_equal(20).replace("mark_deg = 0.0", 'mark_deg = 0.0\nmark_on = "gap"', 1)
    text = text[::-1].replace("mark_deg = 0.0"[::-1], 'mark_deg = 7.5\nmark_on = "tooth"'[::-1], 1)[::-1]
    rows = tooth_counts(laid_of(drive_of(text)))
    assert rows[0].teeth == pytest.approx(20.5)
    assert not rows[0].near_integer
    assert rows[0].meshes


def test_a_mark_on_a_hub_says_nothing_about_mesh() -> None:
    text = two_equal(20).replace("mark_deg = 0.0", 'mark_deg = 0.0\nmark_on = "hub"')
    assert tooth_counts(laid_of(drive_of(text)))[0].meshes is None


def test_uncertainty_equals_the_spread_of_simulated_centres() -> None:
    text = SIX.replace("at_mm = [90.0, 305.0]", "at_mm = [90.0, 305.0]\nat_mm_u = [0.4, 0.3]")
    text = text.replace("at_mm = [-90.0, 300.0]", "at_mm = [-90.0, 300.0]\nat_mm_u = [0.2, 0.5]")
    laid = laid_of(drive_of(text), SIX_ROLLER_MM)
    stated = [row.u for row in tooth_counts(laid)]
    rng = np.random.default_rng(3)
    spread = np.zeros((4000, 5), dtype=complex)
    spread[:, 3] = rng.normal(0, 0.4, 4000) + 1j * rng.normal(0, 0.3, 4000)
    spread[:, 2] = rng.normal(0, 0.2, 4000) + 1j * rng.normal(0, 0.5, 4000)
    drawn = [[row.teeth for row in tooth_counts(laid_with(_bare(laid), laid.centres + push))] for push in spread[:400]]
    assert np.std(drawn, axis=0) == pytest.approx(stated, rel=0.12)


def _bare(laid):
    """The same belt without uncertainties, so that a draw is quick."""
    from dataclasses import replace

    pulleys = tuple(replace(pulley, centre_u_mm=None) for pulley in laid.belt.pulleys)
    return replace(laid, belt=replace(laid.belt, pulleys=pulleys))


def test_uncertainty_of_a_mark_counts() -> None:
    text = two_equal(20).replace("mark_deg = 0.0", "mark_deg = 0.0\nmark_deg_u = 3.0", 1)
    row = tooth_counts(laid_of(drive_of(text)))[0]
    assert row.u == pytest.approx(3.0 / 15.0, rel=1e-6)
