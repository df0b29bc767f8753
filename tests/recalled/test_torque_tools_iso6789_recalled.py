"""Other classes of torque tools, deviation and calibration interval.

Source: ISO 6789, from memory: tools with dial or electronics (type I B, C, E) as type II A, bending bars (I A, D) ±6 %;
deviation (indicated − reference)/reference; recalibration after 5000 cycles or 12 months.
"""

from __future__ import annotations

from datetime import date

import pytest

from twoturn.fastener.torque_tools import TorqueTool, permissible_deviation, unfit


@pytest.mark.parametrize(
    ("kind", "large", "small"),
    [("I A", 0.06, 0.06), ("I B", 0.04, 0.06), ("I C", 0.04, 0.06), ("I D", 0.06, 0.06), ("I E", 0.04, 0.06)],
)
def test_permissible_deviation(kind: str, large: float, small: float) -> None:
    assert permissible_deviation(kind, 100.0) == large
    assert permissible_deviation(kind, 8.0) == small


def test_twelve_months_or_5000_cycles() -> None:
    wrench = TorqueTool("A", 5.0, 25.0, calibrated=date(2023, 5, 31), cycles=5000)
    assert unfit(wrench, 20.0, date(2024, 5, 31)) == []
    assert "ended on 2024-05-31" in unfit(wrench, 20.0, date(2024, 6, 1))[0]
    worn = TorqueTool("A", 5.0, 25.0, calibrated=date(2023, 5, 31), cycles=5001)
    assert "5001 cycles" in unfit(worn, 20.0, date(2023, 6, 1))[0]
