"""Gauge block calibration by drawing, beside first order.

Source: JCGM 101:2008 (supplement 1 to the GUM), 9.5.4: standard uncertainty 32 nm by the guide, 36 nm by Monte Carlo.
The inputs are those of JCGM 101, table 10: t distributions for what was estimated, rectangular and arc sine ones, and
bounded ones with inexactly known limits. Tolerance: half a nanometre, the last printed digit (10⁶ draws settle u to
0.03 nm).
"""

from __future__ import annotations

import numpy as np
import pytest
from tests.published.test_gum_end_gauge import INPUTS, length

from twoturn.quantity.budget import propagate
from twoturn.quantity.montecarlo import simulate


def test_first_order_and_drawing_differ_as_published() -> None:
    drawn = simulate(length, INPUTS, "nm", np.random.default_rng(20240801), draws=1_000_000)
    assert propagate(length, INPUTS, "nm").u_c == pytest.approx(32, abs=0.5)
    assert drawn.u == pytest.approx(36, abs=0.5)
