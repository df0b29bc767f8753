"""What was not met once and was put right is told; slips of the pen and what is still not met are not."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

from tests.job.paper_jobs import engine, make_entry

from twoturn.acts.drive_files import shipped_drives
from twoturn.job.assess import assess
from twoturn.job.put_right import put_right
from twoturn.quantity.conformity import Verdict

DRIVE = engine("alder-one-cam")
START: tuple[dict[str, Any], ...] = (
    {"kind": "belt fitted", "teeth": 109, "arrow": "with travel", "done": "thread-belt"},
    {"kind": "turned", "turns": 2, "done": "turn-by-hand"},
)
LATE: dict[str, Any] = {"kind": "mark", "at": "camshaft", "reads": "one", "way": "late", "done": "prove-timing"}
ON: dict[str, Any] = {"kind": "mark", "at": ["crankshaft", "camshaft"], "reads": "on", "done": "prove-timing"}
AGAIN: tuple[dict[str, Any], ...] = tuple({**row, "pass": 2} for row in (*START, ON))


def told(*rows: dict[str, Any]) -> list[str]:
    entries = [make_entry(**row) for row in (*START, *rows)]
    return [one.words for one in put_right(DRIVE, entries, assess(DRIVE, entries))]


def test_a_tooth_that_was_late_and_was_put_right_is_told_with_its_entry() -> None:
    assert told(LATE, *AGAIN) == ["Was not met once, put right: Timing of the camshaft (entry 3)"]


def test_what_is_still_not_met_was_never_put_right() -> None:
    entries = [make_entry(**row) for row in (*START, LATE)]
    assert assess(DRIVE, entries).verdict is Verdict.NOT_MET
    assert told(LATE) == []


def test_a_slip_that_was_corrected_or_struck_out_is_not_told() -> None:
    assert told(LATE, {**ON, "replaces": 3}) == []
    assert told(LATE, {"kind": "struck out", "replaces": 3, "reason": "misread"}, ON) == []
    assert told(ON) == []


def test_the_first_page_of_the_sheet_says_so(tmp_path: Path) -> None:
    from pypdf import PdfReader

    from twoturn.acts.prove import prove

    (tmp_path / "alder.toml").write_text(shipped_drives()["alder-one-cam"], encoding="utf-8")
    lines = ["format = 1", 'drive = "alder.toml"']
    signed = {"by": "A. First (invented)", "entered": "2026-05-04T16:30:00"}
    for row in (START[0] | signed, START[1], LATE, *AGAIN):
        lines += ["[[entry]]", *(f"{key} = {json.dumps(value)}" for key, value in row.items())]
    (tmp_path / "job.toml").write_text("\n".join(lines), encoding="utf-8")
    prove(tmp_path, tmp_path / "sheet.pdf")
    text = re.sub(r"\s+", " ", PdfReader(tmp_path / "sheet.pdf").pages[0].extract_text())
    assert "Was not met once, put right: Timing of the camshaft (entry 3)." in text
