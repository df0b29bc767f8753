"""Numbers that come with a sending: whatever stands in their place, no page breaks over it."""

from __future__ import annotations

import math
from typing import Any

import pytest

from twoturn.job.asked.model import Units
from twoturn.web.forms.filled import filled_of_json
from twoturn.web.forms.numbers import MOST_S, number_of, seconds_of


@pytest.mark.parametrize(
    ("sent", "seconds"),
    [(10**400, MOST_S), (-(10**400), 0.0), (1e300, MOST_S), (math.inf, MOST_S), (math.nan, 0.0), (-3, 0.0), (90, 90.0),
     ("12.5", 12.5), ("1e999", MOST_S), ("soon", 0.0), (None, 0.0), ([60], 0.0), ({}, 0.0)],
)  # fmt: skip
def test_a_time_is_clamped(sent: Any, seconds: float) -> None:
    assert seconds_of(sent) == seconds


@pytest.mark.parametrize(
    ("sent", "number"),
    [(10**400, None), (-1, None), (7, 7), ("7", 7), (" 12 ", 12), ("9" * 5000, None), ("²", None), ("", None),
     (True, None), (2.0, None), (None, None)],
)  # fmt: skip
def test_a_number_is_one_or_none(sent: Any, number: int | None) -> None:
    assert number_of(sent) == number


def test_boxes_wait_no_longer_than_can_be() -> None:
    assert filled_of_json({"waited_s": 10**400}, Units()).waited_s == MOST_S
