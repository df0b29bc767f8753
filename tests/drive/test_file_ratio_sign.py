"""One rule for the sign of a ratio, for shafts and pulleys: its size counts, a minus sign must agree."""

from __future__ import annotations

import pytest

from twoturn.drive.load import read_drive
from twoturn.errors import FileFaults

FILE = """
[drive]
name = "invented"
crank_turns = "clockwise"
source = "test"
[[belt]]
teeth = 100
[[shaft]]
id = "inlet cam"
role = "camshaft"
[[shaft]]
id = "exhaust cam"
role = "camshaft"
{shaft}
[[link]]
from = "inlet cam"
to = "exhaust cam"
teeth_from = 24
teeth_to = 24
kind = "{kind}"
[[pulley]]
id = "crank"
role = "crankshaft"
teeth = 22
[[pulley]]
id = "cam"
shaft = "inlet cam"
teeth = 44
{pulley}
[[pulley]]
id = "roller"
role = "tensioner"
[[tensioner]]
pulley = "roller"
kind = "locked eccentric"
"""


def keys_refused(text: str) -> list[str]:
    try:
        read_drive(text, "test.toml")
    except FileFaults as found:
        return [row.key for row in found.faults]
    return []


@pytest.mark.parametrize(
    ("kind", "stated", "accepted"),
    [
        ("gears", 0.5, True),
        ("gears", -0.5, True),
        ("gears", -1.0, False),
        ("chain", 0.5, True),
        ("chain", -0.5, False),
    ],
)
def test_a_shaft_behind_a_link(kind: str, stated: float, accepted: bool) -> None:
    refusals = keys_refused(FILE.format(kind=kind, shaft=f"ratio = {stated}", pulley=""))
    assert refusals == ([] if accepted else ["shaft[2].ratio"])


@pytest.mark.parametrize(("stated", "accepted"), [(0.5, True), (-0.5, False)])
def test_a_pulley(stated: float, accepted: bool) -> None:
    refusals = keys_refused(FILE.format(kind="gears", shaft="", pulley=f"ratio = {stated}"))
    assert refusals == ([] if accepted else ["pulley[2].ratio"])
