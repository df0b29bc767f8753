"""What technicians commonly tighten to: common practice, no source.

An M8 on a tensioner about 25 N·m, an M10 about 50 N·m; class 8.8 at 90 % of yield and friction 0.12 gives 24.6 and 48
N·m (the second as in VDI 2230 table A1, from memory).
"""

from __future__ import annotations

import pytest

from twoturn.fastener.preload import assembly_torque, make_bolt
from twoturn.fastener.strength import find_grade
from twoturn.fastener.thread import parse_thread


@pytest.mark.parametrize(("designation", "table_nm", "practice_nm"), [("M8", 24.6, 25), ("M10", 48, 50)])
def test_common_torque_is_near_90_percent_of_yield(designation: str, table_nm: float, practice_nm: float) -> None:
    thread = parse_thread(designation)
    full = assembly_torque(make_bolt(thread, find_grade("8.8", thread.diameter_mm)), 0.12)
    assert full == pytest.approx(table_nm, rel=0.0125)
    assert practice_nm == pytest.approx(full, rel=0.05)
