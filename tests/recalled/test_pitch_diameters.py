"""Pitch diameters of toothed pulleys, d = z·p/π.

Source: catalogue and standard values (ISO 5294, ISO 13050), from memory. Tolerance: half of the last digit, 0.005 mm.
Rows marked derived are computed, not recalled.
"""

from __future__ import annotations

import pytest
from tests.drive.turning_drives import HEAD

from twoturn.drive.load import read_drive
from twoturn.drive.radii import pitch_line_radius_mm

ROWS = [
    ("MXL", 2.032, 20, 12.94),
    ("XL", 5.080, 10, 16.17),
    ("L", 9.525, 20, 60.64),
    ("H", 12.700, 20, 80.85),
    ("XH", 22.225, 20, 141.49),
    ("XXH", 31.750, 20, 202.13),
    ("H5M", 5.0, 20, 31.83),
    ("H8M", 8.0, 22, 56.02),
    ("H8M", 8.0, 32, 81.49),
    ("XL, derived", 5.080, 20, 32.34),
    ("L, derived", 9.525, 10, 30.32),
    ("H3M, derived", 3.0, 20, 19.10),
    ("H8M, derived", 8.0, 44, 112.05),
    ("H14M, derived", 14.0, 28, 124.78),
]


@pytest.mark.parametrize(("name", "pitch_mm", "teeth", "diameter_mm"), ROWS)
def test_pitch_diameter(name: str, pitch_mm: float, teeth: int, diameter_mm: float) -> None:
    text = HEAD.format(turns="clockwise") + (
        f"[[belt]]\nteeth = 120\npitch_mm = {pitch_mm}\n"
        f'[[pulley]]\nid = "a"\nrole = "crankshaft"\nteeth = {teeth}\nbelt_side = "teeth"\n'
        f'[[pulley]]\nid = "b"\nrole = "camshaft"\nteeth = {teeth}\nbelt_side = "teeth"\n'
    )
    belt = read_drive(text, "pitch.toml").belts[0]
    radius = pitch_line_radius_mm(belt.pulleys[0], belt)
    assert radius is not None
    assert 2 * radius == pytest.approx(diameter_mm, abs=0.005)
