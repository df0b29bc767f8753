"""Torque, preload and stages: properties, and second ways to the same number."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from twoturn.errors import DomainError
from twoturn.fastener.joint import ALUMINIUM_MPA, Joint, bolt_compliance, clamped_compliance, preload_per_degree
from twoturn.fastener.preload import (
    Band,
    assembly_preload,
    assembly_torque,
    friction_band,
    make_bolt,
    preload_from_torque,
    tighten,
    torque_arm,
)
from twoturn.fastener.stages import Stage, final_torque, follow_stages
from twoturn.fastener.strength import find_grade
from twoturn.fastener.thread import parse_thread

M8 = make_bolt(parse_thread("M8"), find_grade("8.8", 8))
M12 = make_bolt(parse_thread("M12x1.25"), find_grade("10.9", 12))
THREADS = st.sampled_from(["M6", "M8", "M8x1", "M10", "M10x1.25", "M12", "M12x1.5", "M14x1.5", "M16", "M18", "M20x1.5"])
GRADES = st.sampled_from(["5.6", "8.8", "10.9", "12.9", "A2-70"])


@given(THREADS, GRADES, st.floats(0.05, 0.3))
def test_the_tightened_bolt_sees_90_percent_of_its_yield(designation: str, grade: str, friction: float) -> None:
    """Second way: equivalent stress of tension and plastic torsion at the stress diameter, written out."""
    thread = parse_thread(designation)
    strength = find_grade(grade, thread.diameter_mm)
    preload = float(assembly_preload(thread, strength.yield_mpa, friction))
    thread_torque = (
        preload
        * thread.pitch_diameter_mm
        / 2
        * (thread.pitch_mm / (math.pi * thread.pitch_diameter_mm) + 1.155 * friction)
    )
    tension = preload / thread.stress_area_mm2
    torsion = thread_torque / (math.pi / 12 * thread.stress_diameter_mm**3)
    assert math.sqrt(tension**2 + 3 * torsion**2) == pytest.approx(0.9 * strength.yield_mpa, rel=1e-9)


@given(THREADS, st.floats(0.05, 0.3))
def test_the_torque_is_what_the_inclined_thread_needs(designation: str, friction: float) -> None:
    """Second way: the exact screw with its helix and flank angles, within 1.5 % of the simplified sum."""
    thread = parse_thread(designation)
    bolt = make_bolt(thread, find_grade("8.8", thread.diameter_mm))
    helix = math.atan(thread.pitch_mm / (math.pi * thread.pitch_diameter_mm))
    rubbing = math.atan(friction / math.cos(math.radians(30)))
    exact = thread.pitch_diameter_mm / 2 * math.tan(helix + rubbing) + bolt.seat_mean_mm / 2 * friction
    assert torque_arm(thread, bolt.seat_mean_mm, friction, friction) == pytest.approx(exact, rel=0.015)


@given(THREADS, GRADES, st.floats(0.3, 0.9))
def test_less_friction_more_preload_more_use(designation: str, grade: str, share: float) -> None:
    thread = parse_thread(designation)
    bolt = make_bolt(thread, find_grade(grade, thread.diameter_mm))
    torque = share * float(assembly_torque(bolt, 0.12))
    done = tighten(bolt, torque)
    for band in (done.preload_n, done.utilisation, done.torque_90_nm, done.yield_preload_n):
        assert band.low < band.value < band.high
    assert done.utilisation.value == pytest.approx(0.9 * share)
    assert done.preload_n.high == pytest.approx(float(preload_from_torque(bolt, torque, 0.08)))
    assert done.utilisation.high == pytest.approx(0.9 * torque / float(assembly_torque(bolt, 0.08)))
    at_full = tighten(bolt, float(assembly_torque(bolt, 0.12)))
    assert at_full.preload_n.value == pytest.approx(float(assembly_preload(thread, bolt.grade.yield_mpa, 0.12)))


def test_many_frictions_at_once() -> None:
    mu = np.linspace(0.08, 0.16, 9)
    assert assembly_torque(M8, mu) == pytest.approx([float(assembly_torque(M8, one)) for one in mu])


def test_a_left_hand_thread_has_the_same_preload() -> None:
    left = make_bolt(parse_thread("M8-LH"), find_grade("8.8", 8))
    assert tighten(left, 25.0).preload_n == tighten(M8, 25.0).preload_n


def test_a_wider_seat_takes_torque() -> None:
    flange = make_bolt(M8.thread, M8.grade, seat_mm=17.0)
    assert flange.seat_mean_mm == pytest.approx(13.0)
    assert tighten(flange, 25.0).preload_n.value < tighten(M8, 25.0).preload_n.value
    with pytest.raises(DomainError, match="a seat of 8 mm under M8"):
        make_bolt(M8.thread, M8.grade, seat_mm=8.0)


def test_an_unknown_head_is_said() -> None:
    bolt = make_bolt(parse_thread("M15x1.5"), find_grade("8.8", 15))
    assert not bolt.seat_known
    assert bolt.seat_mean_mm == pytest.approx(19.5)


@pytest.mark.parametrize(
    ("low", "high", "band"),
    [
        (None, None, Band(0.12, 0.08, 0.16)),
        (0.10, 0.14, Band(0.12, 0.10, 0.14)),
        (0.14, 0.18, Band(0.16, 0.14, 0.18)),
        (None, 0.10, Band(0.09, 0.08, 0.10)),
    ],
)
def test_friction_bands(low: float | None, high: float | None, band: Band) -> None:
    found = friction_band(low, high)
    assert (found.value, found.low, found.high) == pytest.approx((band.value, band.low, band.high))


@pytest.mark.parametrize(("low", "high"), [(0.2, 0.1), (0.0, 0.1), (0.1, 0.7), (0.2, None)])
def test_friction_that_cannot_be(low: float, high: float | None) -> None:
    with pytest.raises(DomainError, match="friction from"):
        friction_band(low, high)


@pytest.mark.parametrize("torque_nm", [0.0, -5.0, math.inf, math.nan])
def test_no_torque(torque_nm: float) -> None:
    with pytest.raises(DomainError, match="tightens nothing"):
        tighten(M8, torque_nm)


def test_a_torque_that_breaks_the_bolt_is_refused() -> None:
    with pytest.raises(DomainError, match=r"250 N·m would break M8 of class 8\.8.*24\.6 N·m"):
        tighten(M8, 250.0)


class TestStages:
    def test_torque_alone(self) -> None:
        (only,) = follow_stages(M8, [Stage("torque", 25.0)])
        assert only.preload_n is not None
        assert only.preload_n.value == pytest.approx(tighten(M8, 25.0).preload_n.value)
        assert not only.stretched

    def test_an_angle_without_grip_is_not_told(self) -> None:
        results = follow_stages(M12, [Stage("torque", 40.0), Stage("angle", 90.0), Stage("torque", 60.0)])
        assert [result.preload_n is None for result in results] == [False, True, True]
        assert "grip length" in results[1].why

    def test_a_small_angle_adds_what_the_stiffness_says(self) -> None:
        joint = Joint(40.0)
        first, second = follow_stages(M12, [Stage("torque", 40.0), Stage("angle", 10.0)], joint)
        assert first.preload_n is not None
        assert second.preload_n is not None
        step = 10 * preload_per_degree(M12, joint)
        assert second.preload_n.value - first.preload_n.value == pytest.approx(step)
        assert second.preload_n.high - first.preload_n.high == pytest.approx(1.25 * step)
        assert not second.stretched

    def test_a_large_angle_ends_at_the_yield_point(self) -> None:
        _, after = follow_stages(M12, [Stage("torque", 40.0), Stage("angle", 90.0)], Joint(40.0))
        assert after.stretched
        assert after.preload_n is not None
        assert after.preload_n.value == pytest.approx(tighten(M12, 40.0).yield_preload_n.value)
        assert after.preload_n.low < after.preload_n.value < after.preload_n.high

    def test_turned_loose_the_next_torque_counts_afresh(self) -> None:
        stages = [Stage("torque", 40.0), Stage("loosen", 180.0), Stage("torque", 20.0)]
        for joint in (None, Joint(40.0)):
            loose, last = follow_stages(M12, stages, joint)[1:]
            assert loose.preload_n == Band(0.0, 0.0, 0.0)
            assert last.preload_n is not None
            assert last.preload_n.value == pytest.approx(tighten(M12, 20.0).preload_n.value)

    def test_turned_back_a_little(self) -> None:
        stages = [Stage("torque", 40.0), Stage("loosen", 5.0)]
        assert follow_stages(M12, stages)[1].preload_n is None
        before, after = (result.preload_n for result in follow_stages(M12, stages, Joint(40.0)))
        assert before is not None
        assert after is not None
        assert 0 < after.value < before.value
        assert after.high - after.low > before.high - before.low

    def test_a_smaller_torque_turns_nothing(self) -> None:
        first, second = follow_stages(M12, [Stage("torque", 60.0), Stage("torque", 40.0)])
        assert second.preload_n == first.preload_n
        assert "nothing turns" in second.why

    @given(
        st.lists(
            st.one_of(
                st.builds(Stage, st.just("torque"), st.floats(1, 150)),
                st.builds(Stage, st.sampled_from(["angle", "loosen"]), st.floats(1, 400)),
            ),
            max_size=6,
        ),
        st.one_of(st.none(), st.builds(Joint, st.floats(5, 150))),
    )
    def test_no_stage_passes_what_the_bolt_can_bear(self, stages: list[Stage], joint: Joint | None) -> None:
        strength = float(assembly_preload(M12.thread, M12.grade.tensile_mpa, M12.friction.low, 1.0))
        results = follow_stages(M12, stages, joint)
        assert len(results) == len(stages)
        for band in (result.preload_n for result in results if result.preload_n is not None):
            assert 0 <= band.low <= band.value * (1 + 1e-12) <= band.high * (1 + 1e-12) <= strength * (1 + 1e-9)

    def test_the_torque_left_to_check(self) -> None:
        stages = [Stage("torque", 40.0), Stage("angle", 90.0)]
        assert final_torque(stages) is None
        assert final_torque(stages[:1]) == 40.0
        assert final_torque([]) is None

    @pytest.mark.parametrize("amount", [0.0, -1.0, math.nan, 1e6])
    def test_a_stage_that_cannot_be(self, amount: float) -> None:
        with pytest.raises(DomainError, match="cannot be right"):
            Stage("torque", amount)


class TestJoint:
    @given(st.floats(3, 120), st.floats(7, 20), st.floats(1.1, 3))
    def test_cones_against_their_integral(self, grip_mm: float, hole_mm: float, ratio: float) -> None:
        """Second way: midpoint sum of dx/(E·A(x)) through both cones."""
        seat_mm, slices = hole_mm * ratio, 20_000
        depth = (np.arange(slices) + 0.5) * grip_mm / 2 / slices
        width = seat_mm + 2 * math.tan(math.radians(30)) * depth
        area = math.pi / 4 * (width**2 - hole_mm**2)
        brute = 2 * float(np.sum(grip_mm / 2 / slices / (ALUMINIUM_MPA * area)))
        assert clamped_compliance(hole_mm, seat_mm, Joint(grip_mm, ALUMINIUM_MPA)) == pytest.approx(brute, rel=1e-5)

    def test_longer_and_softer_joints_take_less_preload_per_degree(self) -> None:
        steps = [preload_per_degree(M12, joint) for joint in (Joint(20), Joint(80), Joint(80, ALUMINIUM_MPA))]
        assert steps == sorted(steps, reverse=True)

    def test_a_long_bolt_is_a_rod(self) -> None:
        """A rod of area A3: l/(E·A3) per newton, head and nut apart."""
        per_mm = bolt_compliance(M12.thread, 200.0) - bolt_compliance(M12.thread, 100.0)
        assert per_mm == pytest.approx(100 / (205_000 * M12.thread.root_area_mm2))

    @pytest.mark.parametrize(("grip", "modulus"), [(0.0, 205e3), (-5.0, 205e3), (600.0, 205e3), (40.0, 10.0)])
    def test_joints_that_cannot_be(self, grip: float, modulus: float) -> None:
        with pytest.raises(DomainError, match="a grip of"):
            Joint(grip, modulus)
