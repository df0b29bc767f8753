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
    first = capture_lines(answer(probability))[1]
    assert "1 belt tooth late" in first
    assert told in first


@pytest.mark.parametrize(
    ("deg", "u", "told"),
    [
        (18.236, 0.0208, "18.24° late ± 0.04°"),
        (-18.236, 0.208, "18.2° early ± 0.4°"),
        (2.0, 1.4, "2.0° late ± 2.7°"),
    ],
)
def test_a_shift_has_the_digits_of_its_uncertainty(deg: float, u: float, told: str) -> None:
    """JCGM 100:2008, 7.2.6."""
    given = answer(0.9)
    given["shifts"][0] |= {"deg": deg, "u": u}  # type: ignore[index]
    assert told in capture_lines(given)[1]


def test_cam_edges_and_cylinders_have_the_digits_of_their_uncertainty() -> None:
    edges = [
        {"edge": "rising", "angle_deg": 41.263, "u": 0.061, "scatter_deg": 0.2, "count": 9},
        {"edge": "falling", "angle_deg": 221.9, "u": 1.02, "scatter_deg": 2.0, "count": 9},
    ]
    cam = {"channel": "2", "edges": edges}
    cylinders = [{"cylinder": 1, "at_deg": 0.0, "share": -0.123, "u": 0.011}]
    lines = capture_lines({**answer(0.9), "shifts": [], "cams": [cam], "cylinders": cylinders})
    assert any("  41.26 ± 0.12° (19" in line for line in lines)
    assert any(" 222 ± 2° (19" in line for line in lines)
    assert any("1: −12.3 ± 2.2 %" in line for line in lines)
