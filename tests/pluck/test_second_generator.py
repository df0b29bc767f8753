"""The second generator holds its own truth: what is drawn rings at it once the sharp start is over."""

from __future__ import annotations

import numpy as np
import pytest
from tests.pluck.second.draw import draw_plucking
from tests.pluck.second.spans import RATE_HZ, draw_span, string


def late_hertz(sound: np.ndarray, near_hz: float, start_s: float, turns: int = 12) -> float:
    """Frequency [Hz] by how far the phase against ``near_hz`` runs between two windows of some turns [-]."""
    width = round(turns / near_hz * RATE_HZ)
    first = int(start_s * RATE_HZ)
    turned = sound * np.exp(-2j * np.pi * near_hz / RATE_HZ * np.arange(len(sound)))
    one, other = (np.sum(turned[k : k + width] * np.hanning(width)) for k in (first, first + width))
    return float(near_hz + np.angle(other / one) / (2 * np.pi * width / RATE_HZ))


@pytest.mark.parametrize("seed", [3, 5, 8])
def test_a_drawn_span_rings_late_at_its_truth(seed: int) -> None:
    rng = np.random.default_rng(seed)
    while True:
        how = draw_plucking(rng, "quiet")
        if 260 < how.f1_hz < 420 and how.tau_s > 0.025:
            break
    span = draw_span(rng, how)
    moved, _ = string(rng, span, how, 1.0, 3.2 * how.tau_s + 30 / how.f1_hz, scatter=0.0)
    assert late_hertz(moved @ span.weight, how.f1_hz, 3 * how.tau_s) == pytest.approx(how.f1_hz, rel=2e-4)
