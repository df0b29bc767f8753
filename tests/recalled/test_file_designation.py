"""Designations of automotive belts in the style of ISO 9010 and ISO 12046; the codes are from memory.

From memory: a belt is marked teeth, pitch letter and profile letter, width ("120 ZA 19"); Z stands for a pitch of
9.525 mm, Y for 8.000 mm; profiles A and B straight-sided, H, R, S curvilinear.
"""

from __future__ import annotations

import pytest

from twoturn.drive.designation import parse_designation


@pytest.mark.parametrize(
    ("text", "teeth", "pitch_mm", "width_mm"),
    [
        ("120 ZA 19", 120, 9.525, 19),
        ("141 ZA 25.4", 141, 9.525, 25.4),
        ("141ZB25,4", 141, 9.525, 25.4),
        ("153 YU 25", 153, 8.0, 25),
        ("104 YH 17 mm", 104, 8.0, 17),
        ("97 za x 15", 97, 9.525, 15),
        ("123 ZS", 123, 9.525, None),
    ],
)
def test_what_a_print_says(text: str, teeth: int, pitch_mm: float, width_mm: float | None) -> None:
    found = parse_designation(text)
    assert found is not None
    assert (found.teeth, found.pitch_mm, found.width_mm) == (teeth, pitch_mm, width_mm)


@pytest.mark.parametrize("text", ["", "1200 H8M 25", "8M 1200", "ZA 120", "141 XX 25", "141", "word"])
def test_other_styles_are_not_interpreted(text: str) -> None:
    assert parse_designation(text) is None
