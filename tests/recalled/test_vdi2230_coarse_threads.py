"""Assembly preload and tightening torque of headed bolts with coarse thread.

Source: VDI 2230 part 1:2003 and 2015, table A1, from memory.
Tolerance: preload 0.5 % and torque 1.25 %: the printed digits, and the seat and hole that the table's authors rounded.
"""

from __future__ import annotations

import pytest

from twoturn.fastener.preload import assembly_preload, assembly_torque, make_bolt
from twoturn.fastener.strength import find_grade
from twoturn.fastener.thread import parse_thread

PRINTED = {  # thread, class: (friction, preload [kN], torque [N·m])
    ("M6", "8.8"): [(0.10, 10.4, 9.0), (0.12, 10.2, 10.1), (0.14, 9.9, 11.3)],
    ("M6", "10.9"): [(0.10, 15.3, 13.2), (0.12, 14.9, 14.9), (0.14, 14.6, 16.5)],
    ("M6", "12.9"): [(0.10, 17.9, 15.4), (0.12, 17.5, 17.4), (0.14, 17.0, 19.3)],
    ("M8", "8.8"): [(0.10, 19.1, 21.6), (0.12, 18.6, 24.6), (0.14, 18.1, 27.3)],
    ("M8", "10.9"): [(0.10, 28.0, 31.8), (0.12, 27.3, 36.1), (0.14, 26.6, 40.1)],
    ("M8", "12.9"): [(0.10, 32.8, 37.2), (0.12, 32.0, 42.2), (0.14, 31.1, 46.9)],
    ("M10", "8.8"): [(0.10, 30.3, 43), (0.12, 29.6, 48), (0.14, 28.8, 54)],
    ("M10", "10.9"): [(0.10, 44.5, 63), (0.12, 43.4, 71), (0.14, 42.2, 79)],
    ("M10", "12.9"): [(0.10, 52.1, 73), (0.12, 50.8, 83), (0.14, 49.4, 93)],
    ("M12", "8.8"): [(0.10, 44.1, 73), (0.12, 43.0, 84), (0.14, 41.9, 93)],
    ("M12", "10.9"): [(0.10, 64.8, 108), (0.12, 63.2, 123), (0.14, 61.5, 137)],
    ("M12", "12.9"): [(0.10, 75.9, 126), (0.12, 74.0, 144), (0.14, 72.0, 160)],
}
ROWS = [(*key, *cell) for key, cells in PRINTED.items() for cell in cells]


@pytest.mark.parametrize(("designation", "grade", "friction", "preload_kn", "torque_nm"), ROWS)
def test_preload_and_torque(designation: str, grade: str, friction: float, preload_kn: float, torque_nm: float) -> None:
    thread = parse_thread(designation)
    bolt = make_bolt(thread, find_grade(grade, thread.diameter_mm))
    preload_n = assembly_preload(thread, bolt.grade.yield_mpa, friction)
    assert preload_n / 1000 == pytest.approx(preload_kn, rel=0.005)
    assert assembly_torque(bolt, friction) == pytest.approx(torque_nm, rel=0.0125)
