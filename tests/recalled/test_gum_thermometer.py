"""Calibration of a thermometer by a straight line: the worked example H.3 of the guide.

Source: JCGM 100:2008 (GUM), annex H.3. The readings were read in an open data set; the results are from memory.
Tolerance: half of the last digit as remembered.
"""

from __future__ import annotations

import pytest

from twoturn.quantity.line import fit_line

TEMPERATURE_C = [21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511]
CORRECTION_C = [-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160]


def test_line_and_its_uncertainties() -> None:
    line = fit_line(TEMPERATURE_C, CORRECTION_C, "°C", origin=20.0)
    assert line.intercept == pytest.approx(-0.1712, abs=5e-5)
    assert line.u_intercept == pytest.approx(0.0029, abs=5e-5)
    assert line.slope == pytest.approx(0.00218, abs=5e-6)
    assert line.u_slope == pytest.approx(0.00067, abs=5e-6)
    assert line.correlation == pytest.approx(-0.930, abs=5e-4)
    assert line.scatter == pytest.approx(0.0035, abs=5e-5)


def test_correction_at_30_degrees() -> None:
    reading = fit_line(TEMPERATURE_C, CORRECTION_C, "°C", origin=20.0).at(30.0)
    assert reading.value == pytest.approx(-0.1494, abs=5e-5)
    assert reading.u == pytest.approx(0.0041, abs=5e-5)
    assert reading.dof == 9
