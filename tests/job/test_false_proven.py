"""Of readings whose true value lies on a limit, at most one in forty is proven (ISO 14253-1, JCGM 106: guard band U).

The rule itself is tried on 10⁶ readings where it is made; here whole jobs are judged, so that nothing on the way from
an entry to its check (units, combining, instruments) loosens it. Single readings are drawn at evenly spaced quantiles,
so that chance plays no part; for combined ones three standard deviations of the count are allowed for.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from scipy.special import ndtri
from tests.job.paper_jobs import WHEN, engine, made

from twoturn.job.assess import assess

JOBS = 800
MOST = 0.0255
DRIVE = engine("alder-one-cam")
HEAD = [
    {"kind": "temperature", "temperature_c": 20},
    {"kind": "belt fitted", "teeth": 109, "arrow": "none"},
    {"kind": "turned", "turns": 2},
]


def share_proven(limit: float, check: str, rows: Any) -> float:
    """Share of jobs whose check is proven while the true value lies on the limit."""
    rng = np.random.default_rng(20260302)
    head = [made({**row, "by": "A", "entered": WHEN}) for row in HEAD]
    proven = 0
    for _ in range(JOBS):
        entries = [made({**row, "by": "A", "entered": WHEN}) for row in rows(limit, rng)]
        proven += assess(DRIVE, [*head, *entries]).check(check).verdict.value == "proven"
    return proven / JOBS


def test_single_readings_on_a_limit_spread_as_the_normal_law_has_it() -> None:
    head = [made({**row, "by": "A", "entered": WHEN}) for row in HEAD]
    for limit, check, key in (
        (136.0, "note-of-the-slack-span", "frequency"),
        (153.0, "note-of-the-slack-span", "frequency"),
        (2.7, "deflection-of-the-slack-span", "deflection"),
    ):
        proven = 0
        for number in range(JOBS):
            value = limit + 0.2 * float(ndtri((number + 0.5) / JOBS))
            row = {"kind": "measured", "quantity": key, "at": "roller:camshaft", "value": value, "u": 0.2}
            found = assess(DRIVE, [*head, made({**row, "by": "A", "entered": WHEN})])
            proven += found.check(check).verdict.value == "proven"
        assert 0.0245 <= proven / JOBS <= 0.0255


def one_note(value: float, rng: np.random.Generator) -> list[dict[str, Any]]:
    read = {"frequency_hz": float(rng.normal(value, 1.0)), "u_hz": 1.0}
    return [{"kind": "pluck", "file": "a.wav", "span": "roller:camshaft", "reading": read}]


def three_repeats(value: float, rng: np.random.Generator) -> list[dict[str, Any]]:
    """The uncertainty of three repeats is found from the repeats: two degrees of freedom, U = 4.30 u."""
    repeats = rng.normal(value, 1.0, 3)
    read = {"frequency_hz": float(repeats.mean()), "u_hz": float(repeats.std(ddof=1) / math.sqrt(3)), "dof": 2}
    return [{"kind": "pluck", "file": "a.wav", "span": "roller:camshaft", "reading": read}]


def two_notes(value: float, rng: np.random.Generator) -> list[dict[str, Any]]:
    return [*one_note(value, rng), *one_note(value, rng)]


def one_rule_twice(value: float, rng: np.random.Generator) -> list[dict[str, Any]]:
    """One belt gauge read twice: its error is the same both times."""
    off = float(rng.normal(0, 0.1))
    row = {"kind": "deflection", "at": "roller:camshaft", "force_n": 20, "instrument": "belt gauge"}
    return [{**row, "deflection_mm": max(0.0, value + off)} for _ in range(2)]


@pytest.mark.parametrize(
    ("limit", "check", "rows"),
    [
        (136.0, "note-of-the-slack-span", one_note),
        (136.0, "note-of-the-slack-span", three_repeats),
        (153.0, "note-of-the-slack-span", two_notes),
        (4.1, "deflection-of-the-slack-span", one_rule_twice),
    ],
    ids=["one note", "three repeats", "two notes", "one gauge twice"],
)
def test_at_a_limit_at_most_one_in_forty_is_proven(limit: float, check: str, rows: Any) -> None:
    allowed = MOST + 3 * math.sqrt(MOST * (1 - MOST) / JOBS)
    share = share_proven(limit, check, rows)
    assert share <= allowed
    assert share > 0.004, "a rule that proves nothing is no rule"
