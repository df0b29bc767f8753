"""A tooth out is told on a loose hub too: half a tooth off is never "on its tooth" (common practice, no source)."""

from __future__ import annotations

import pytest

from twoturn.timing.whole_teeth import told_teeth


@pytest.mark.parametrize("rest_sigma", [1.5, 6.0, 8.5])
@pytest.mark.parametrize("tooth", [15.0, 16.4, 18.0])
def test_whole_teeth_are_told_on_every_hub(rest_sigma: float, tooth: float) -> None:
    for teeth in (-2, -1, 1, 2):
        assert told_teeth(teeth * tooth, 0.1, tooth, rest_sigma)[0] == teeth
    for rest in (-3.0, 0.0, 3.0):
        assert told_teeth(rest, 0.1, tooth, rest_sigma)[0] == 0


def test_a_loose_hub_makes_it_less_sure_and_a_coarse_reading_decides_nothing() -> None:
    keyed, slotted = (told_teeth(15.0, 0.1, 15.0, rest)[1] for rest in (1.5, 8.5))
    assert keyed > 0.99
    assert slotted < 0.5
    assert told_teeth(10.0, 8.0, 18.0, 1.5)[0] == 0
