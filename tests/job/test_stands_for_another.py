"""Every requirement of the maker binds; another stands for it only where the drive file says so (common practice)."""

from __future__ import annotations

from datetime import datetime

import pytest
from tests.job.paper_jobs import make_entry

from twoturn.acts.drive_files import shipped_drives
from twoturn.drive.load import read_drive
from twoturn.job.assess import assess
from twoturn.quantity.conformity import Verdict

NOTE, GIVE = "note-of-the-slack-span", "deflection-of-the-slack-span"
LINK = 'instead_of = "note of the slack span"\n'


def assessed(text: str, deflection_mm: float | None, hertz: float | None):
    rows: list[dict[str, object]] = [
        {"kind": "temperature", "temperature_c": 20.0, "done": "cool-and-temperature"},
        {"kind": "belt fitted", "teeth": 109, "arrow": "with travel", "done": "thread-belt"},
        {"kind": "turned", "turns": 2, "done": "turn-by-hand"},
    ]
    if deflection_mm is not None:
        rows.append(
            {"kind": "deflection", "at": "roller:camshaft", "deflection_mm": deflection_mm, "force_n": 20, "u_mm": 0.1}
            | {"done": "prove-setting"}
        )
    if hertz is not None:
        reading = {"frequency_hz": hertz, "u_hz": 0.3}
        rows.append(
            {"kind": "pluck", "file": "a.wav", "span": "roller:camshaft", "reading": reading, "done": "prove-setting"}
        )
    signed = [{**row, "by": "A. First", "entered": datetime(2026, 3, 2, 9)} for row in rows]
    return assess(read_drive(text, "alder"), [make_entry(**row) for row in signed])


@pytest.fixture
def alder() -> str:
    text = shipped_drives()["alder-one-cam"]
    assert LINK in text
    return text


def test_without_the_link_both_bind(alder: str) -> None:
    found = assessed(alder.replace(LINK, ""), 3.4, None)
    assert found.check(GIVE).verdict is Verdict.PROVEN
    assert found.check(NOTE).verdict is Verdict.NOT_SHOWN
    assert found.check(NOTE).required


@pytest.mark.parametrize(("deflection", "hertz", "open_one"), [(3.4, None, NOTE), (None, 144.0, GIVE)])
def test_with_the_link_either_will_do(alder: str, deflection, hertz, open_one: str) -> None:
    found = assessed(alder, deflection, hertz)
    assert not found.check(open_one).required


def test_one_that_is_not_met_still_wins(alder: str) -> None:
    found = assessed(alder, 3.4, 120.0)
    assert found.check(NOTE).verdict is Verdict.NOT_MET
    assert found.check(NOTE).required


def test_neither_read_leaves_both_open(alder: str) -> None:
    found = assessed(alder, None, None)
    assert found.check(NOTE).required
    assert found.check(GIVE).required
