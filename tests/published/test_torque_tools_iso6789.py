"""Permissible deviation of torque wrenches.

Source: ISO 6789:2003 (values kept in ISO 6789-1:2017) as restated by a torque-tool manual: adjustable graduated
wrenches (type II class A) ±4 % where the greatest torque is over 10 N·m, ±6 % up to 10 N·m; the edition of 2017 as
told by a tool maker: the range starts at the lowest marked value.
"""

from __future__ import annotations

from datetime import date

import pytest

from twoturn.fastener.torque_tools import TorqueTool, permissible_deviation, unfit


@pytest.mark.parametrize(("high_nm", "share"), [(200.0, 0.04), (10.1, 0.04), (10.0, 0.06), (5.0, 0.06)])
def test_adjustable_graduated_wrench(high_nm: float, share: float) -> None:
    assert permissible_deviation("II A", high_nm) == share
    assert TorqueTool("wrench", high_nm / 5, high_nm).permissible_deviation == share


@pytest.mark.parametrize(("torque_nm", "fit"), [(19.9, False), (20.0, True), (100.0, True), (100.1, False)])
def test_the_range_starts_at_the_lowest_marked_value(torque_nm: float, fit: bool) -> None:
    wrench = TorqueTool("wrench B", 20.0, 100.0, calibrated=date(2024, 3, 1))
    assert (unfit(wrench, torque_nm, date(2024, 6, 1)) == []) is fit
