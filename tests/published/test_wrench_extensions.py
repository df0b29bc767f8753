"""What to set on a torque wrench with an extension.

Sources: a torque-wrench manual (16 in, 2 in); a maker's web note (12 in, 6 in); an aircraft maintenance manual,
chapter 20 (10 in, 1.5 in, longer and shorter); a worked text (40 cm, 5 cm, in line and square); US Army TM 9-254
gives the same relation. Units cancel. Tolerance: half of the last printed digit.
"""

from __future__ import annotations

import pytest

from twoturn.fastener.torque_tools import extension_setting


@pytest.mark.parametrize(
    ("wrench", "extension", "angle_deg", "wanted", "printed", "digit"),
    [
        (16, 2, 0, 50, 44.44, 0.005),
        (12, 6, 0, 30, 20, 0.005),
        (10, 1.5, 0, 135, 117.39, 0.005),
        (10, 1.5, 180, 135, 158.82, 0.005),
        (10, -1.5, 0, 135, 158.82, 0.005),
        (40, 5, 0, 80, 71.1, 0.05),
        (40, 5, 90, 80, 80, 1e-9),
    ],
)
def test_setting(
    wrench: float, extension: float, angle_deg: float, wanted: float, printed: float, digit: float
) -> None:
    assert extension_setting(wanted, wrench, extension, angle_deg) == pytest.approx(printed, abs=digit)
