"""Diameters and stress areas of metric threads.

Sources: ISO 724 and DIN 13-19:1999 as restated by a metric-thread results page (M10) and by a hardware table of ISO
724 reference data (fine pitches); nominal stress areas from ISO 898-1. Tolerance: half of the last printed digit;
M14x1.5 is printed 125 mm² in ISO 898-1, its formula gives 124.5.
"""

from __future__ import annotations

import numpy as np
import pytest

from twoturn.fastener.thread import (
    minor_diameter,
    parse_thread,
    pitch_diameter,
    root_diameter,
    stress_area,
    triangle_height,
)


def test_m10_after_din_13() -> None:
    thread = parse_thread("M10")
    assert thread.pitch_mm == 1.5
    assert triangle_height(thread.pitch_mm) == pytest.approx(1.299038, abs=5e-7)
    assert thread.pitch_diameter_mm == pytest.approx(9.026, abs=5e-4)
    assert thread.minor_diameter_mm == pytest.approx(8.376, abs=5e-4)
    assert thread.root_diameter_mm == pytest.approx(8.160, abs=5e-4)


@pytest.mark.parametrize(
    ("designation", "d2", "d3", "d1", "area"),
    [
        ("M8x1", 7.35, 6.773, 6.917, 39.2),
        ("M10x1.25", 9.188, 8.466, 8.647, 61.2),
        ("M12x1.5", 11.026, 10.16, 10.376, 88.1),
        ("M12x1.25", 11.188, 10.466, 10.647, 92.1),
    ],
)
def test_fine_threads(designation: str, d2: float, d3: float, d1: float, area: float) -> None:
    thread = parse_thread(designation)
    assert thread.pitch_diameter_mm == pytest.approx(d2, abs=6e-4)
    assert thread.root_diameter_mm == pytest.approx(d3, abs=6e-4)
    assert thread.minor_diameter_mm == pytest.approx(d1, abs=6e-4)  # M8x1: printed cut off, 6.9175
    assert thread.stress_area_mm2 == pytest.approx(area, abs=0.05)


def test_m14_fine() -> None:
    thread = parse_thread("M14x1.5")
    assert thread.pitch_diameter_mm == pytest.approx(13.026, abs=5e-4)
    assert thread.root_diameter_mm == pytest.approx(12.16, abs=5e-4)
    assert thread.minor_diameter_mm == pytest.approx(12.376, abs=5e-4)
    assert thread.stress_area_mm2 == pytest.approx(125, abs=0.5)


@pytest.mark.parametrize(("designation", "area"), [("M6", 20.1), ("M8", 36.6), ("M10", 58.0), ("M12", 84.3)])
def test_nominal_stress_areas(designation: str, area: float) -> None:
    assert parse_thread(designation).stress_area_mm2 == pytest.approx(area, abs=0.05)


def test_many_threads_at_once_equal_one_by_one() -> None:
    sizes = [parse_thread(text) for text in ("M6", "M8", "M10x1.25", "M14x1.5")]
    d, p = (np.array([getattr(size, name) for size in sizes]) for name in ("diameter_mm", "pitch_mm"))
    assert pitch_diameter(d, p) == pytest.approx([size.pitch_diameter_mm for size in sizes])
    assert minor_diameter(d, p) == pytest.approx([size.minor_diameter_mm for size in sizes])
    assert root_diameter(d, p) == pytest.approx([size.root_diameter_mm for size in sizes])
    assert stress_area(d, p) == pytest.approx([size.stress_area_mm2 for size in sizes])
