"""Torque tools: which are needed, which are fit on the day, and the setting with an extension."""

from __future__ import annotations

import math
from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from twoturn.errors import DomainError
from twoturn.fastener.torque_tools import (
    USUAL_RANGES_NM,
    TorqueTool,
    calibration_end,
    choose_tool,
    extension_setting,
    permissible_deviation,
    tools_needed,
    unfit,
)

DAY = date(2024, 6, 1)
TORQUES = st.lists(st.floats(0.5, 1500), max_size=8)


@given(TORQUES)
def test_every_torque_finds_one_tool_whose_range_holds_it(torques: list[float]) -> None:
    tools = tools_needed(torques)
    homes = [torque for tool in tools for torque in tool.torques_nm]
    assert sorted(homes) == sorted(set(torques))
    assert all(tool.low_nm <= torque <= tool.high_nm for tool in tools for torque in tool.torques_nm)
    assert all(tool.torques_nm for tool in tools)
    assert [tool.low_nm for tool in tools] == sorted(tool.low_nm for tool in tools)


@given(TORQUES.filter(bool))
def test_no_fewer_tools_would_do(torques: list[float]) -> None:
    """Second way: greedy stabbing from the smallest torque upward, exact for ranges that rise at both ends."""
    count, left = 0, sorted(set(torques))
    while left:
        reach = max(high for low, high in USUAL_RANGES_NM if low <= left[0] <= high)
        left = [torque for torque in left if torque > reach]
        count += 1
    assert len(tools_needed(torques)) == count


def test_a_usual_job_needs_two_wrenches() -> None:
    """Common practice, no source: cover bolts 8 to 10, tensioner 20 to 25, idlers and mounts 45 to 60 N·m."""
    ranges = [(tool.low_nm, tool.high_nm) for tool in tools_needed([8, 9, 22, 25, 45, 55, 60])]
    assert ranges == [(5.0, 25.0), (20.0, 100.0)]


def test_a_single_torque_is_not_put_at_an_end() -> None:
    (tool,) = tools_needed([25.0])
    assert (tool.low_nm, tool.high_nm) == (10.0, 50.0)


@pytest.mark.parametrize("torque_nm", [0.1, 5000.0, -1.0, math.nan])
def test_a_torque_no_tool_reaches(torque_nm: float) -> None:
    with pytest.raises(DomainError, match="no usual torque tool"):
        tools_needed([25.0, torque_nm])


def test_the_best_of_the_workshops_tools() -> None:
    small, middle, large = (TorqueTool(n, lo, hi) for n, lo, hi in (("A", 5, 25), ("B", 20, 100), ("C", 40, 200)))
    assert choose_tool(10.0, [small, middle, large]) is small
    assert choose_tool(22.0, [small, middle, large]) is small
    assert choose_tool(45.0, [large, middle]) is middle
    assert choose_tool(300.0, [small, middle, large]) is None


@given(st.dates(date(2000, 1, 1), date(2100, 1, 1)))
def test_a_calibration_holds_a_year(day: date) -> None:
    end = calibration_end(TorqueTool("A", 5, 25, calibrated=day))
    assert end is not None
    assert timedelta(days=364) <= end - day <= timedelta(days=366)
    assert (end.year, end.month) == (day.year + 1, day.month)


def test_leap_day() -> None:
    assert calibration_end(TorqueTool("A", 5, 25, calibrated=date(2024, 2, 29))) == date(2025, 2, 28)


def test_a_date_given_with_the_tool_rules() -> None:
    tool = TorqueTool("A", 5, 25, calibrated=date(2022, 1, 1), due=date(2024, 6, 1), cycles=9000)
    assert unfit(tool, 20.0, DAY) == []
    assert unfit(tool, 20.0, DAY + timedelta(days=1)) == ["The calibration of A ended on 2024-06-01."]


def test_all_reasons_are_named() -> None:
    tool = TorqueTool("wrench A", 5, 25, calibrated=date(2025, 1, 1), cycles=6000)
    reasons = unfit(tool, 30.0, DAY)
    assert len(reasons) == 3
    assert "outside the range of wrench A, 5 to 25 N·m" in reasons[0]
    assert "after the work" in reasons[1]
    assert "6000 cycles" in reasons[2]
    assert unfit(TorqueTool("B", 5, 25), 20.0, DAY) == ["No calibration of B is on record."]


@pytest.mark.parametrize(("low", "high", "kind"), [(25, 5, "II A"), (0, 25, "II A"), (5, 25, "III A")])
def test_tools_that_cannot_be(low: float, high: float, kind: str) -> None:
    with pytest.raises(DomainError, match="A: "):
        TorqueTool("A", low, high, kind)


def test_an_unknown_class_is_refused() -> None:
    with pytest.raises(DomainError, match="'III A' are not in ISO 6789"):
        permissible_deviation("III A", 100.0)


@given(st.floats(1, 300), st.floats(100, 1000), st.floats(-85, 85), st.floats(0, 360))
def test_the_force_of_the_hand_gives_the_torque_wanted(
    wanted: float, wrench: float, extension: float, angle: float
) -> None:
    """Second way: the moment of the hand's force about the bolt, in coordinates."""
    setting = float(extension_setting(wanted, wrench, extension, angle))
    hand_force = np.array([0.0, setting / wrench])
    bolt_to_hand = np.array(
        [wrench + extension * math.cos(math.radians(angle)), extension * math.sin(math.radians(angle))]
    )
    moment = bolt_to_hand[0] * hand_force[1] - bolt_to_hand[1] * hand_force[0]
    assert moment == pytest.approx(wanted, rel=1e-9)


def test_an_uncorrected_extension_overtightens() -> None:
    """A 50 mm extension on a 300 mm wrench turns 25 into 29.2 N·m (common practice, derived)."""
    assert 25.0 * 25.0 / float(extension_setting(25.0, 300.0, 50.0)) == pytest.approx(29.2, abs=0.05)


@pytest.mark.parametrize(
    ("wrench", "extension", "angle"),
    [
        (0.0, 50.0, 0.0),
        (-1.0, 50.0, 0.0),
        (300.0, -300.0, 0.0),
        (300.0, 300.0, 180.0),
        (300.0, 5000.0, 0.0),
        (300.0, 50.0, math.inf),
    ],
)
def test_levers_that_cannot_be(wrench: float, extension: float, angle: float) -> None:
    with pytest.raises(DomainError, match="extension of"):
        extension_setting(25.0, wrench, extension, angle)
