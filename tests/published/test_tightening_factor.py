"""Preload of an M12 bolt of class 8.8 at friction 0.14, and what the scatter of tightening leaves of it.

Source: worked example of a fastener supplier (2021) restating VDI 2230: M12x40, class 8.8, friction 0.14: greatest
preload 41.9 kN; a tightening factor of 1.8 leaves 23.3 kN; at fixed friction the torque is proportional to the
preload. Tolerance: half of the last printed digit, and 0.2 % for the greatest preload, which the table rounds down.
"""

from __future__ import annotations

import numpy as np
import pytest

from twoturn.fastener.preload import assembly_preload, make_bolt, preload_from_torque
from twoturn.fastener.strength import find_grade
from twoturn.fastener.thread import parse_thread


def test_greatest_and_least_preload() -> None:
    greatest_kn = assembly_preload(parse_thread("M12"), find_grade("8.8", 12).yield_mpa, 0.14) / 1000
    assert greatest_kn == pytest.approx(41.9, rel=0.002)
    assert greatest_kn / 1.8 == pytest.approx(23.3, abs=0.05)


def test_torque_is_proportional_to_preload() -> None:
    bolt = make_bolt(parse_thread("M12"), find_grade("8.8", 12))
    preload = preload_from_torque(bolt, np.array([20.0, 40.0, 80.0]), 0.14)
    assert preload / preload[0] == pytest.approx([1, 2, 4])
