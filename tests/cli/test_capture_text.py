"""What ``twoturn capture`` prints of a shift: no certainty that no measurement has (common practice, no source)."""

from __future__ import annotations

import pytest

from twoturn.cli.capture_text import capture_lines


def answer(probability: float) -> dict[str, object]:
    shift = {"shaft": "camshaft", "channel": "2", "deg": 18.2, "u": 0.02, "teeth": 1, "tolerance_deg": None}
    rest = {"crank": None, "rpm": None, "turns": None, "cams": [], "why": [], "notes": [], "authority": "maker"}
    return {**rest, "shifts": [{**shift, "probability": probability}]}


@pytest.mark.parametrize(("probability", "told"), [(1.0, "more than 99 % sure"), (0.874, "(87 % sure)")])
def test_whole_teeth_are_never_told_as_certain(probability: float, told: str) -> None:
    first = capture_lines(answer(probability))[0]
    assert "1 belt tooth late" in first
    assert told in first
