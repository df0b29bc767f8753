"""Every kind of entry as a plain sentence, without a key of the job file in it."""

from __future__ import annotations

import json
import re
from datetime import datetime
from typing import Any

import pytest
from tests.job.paper_jobs import make_entry

from twoturn.demo.jobs_shipped import JOBS, job_text
from twoturn.job.entries.union import KINDS
from twoturn.job.entry_words import SENTENCES, entry_row, entry_words
from twoturn.job.file import read_job

SAID: list[tuple[dict[str, Any], str]] = [
    (
        {"kind": "vehicle", "registration": "QX 10 DEMO", "fuel": "petrol", "hybrid": False, "stop_start": True},
        "Vehicle: QX 10 DEMO, petrol, no hybrid, stop-start",
    ),
    ({"kind": "odometer", "km": 118400}, "Odometer: 118 400 km"),
    ({"kind": "temperature", "temperature_c": "overnight"}, "Engine block: stood overnight"),
    ({"kind": "temperature", "temperature_c": "hand-warm"}, "Engine block: hand-warm"),
    ({"kind": "temperature", "of": "shop air", "temperature_c": 18.5}, "Shop air: 18.5 °C"),
    (
        {"kind": "tool", "tool": "A", "class": "II A", "low_nm": 5, "high_nm": 60, "calibrated": "2025-10-14"},
        "Torque wrench A: 5–60 N·m, class II A, calibrated 2025-10-14",
    ),
    (
        {"kind": "torque", "row": {"coolant pump bolts": 6}, "tool": "A"},
        "Tightened: coolant pump bolts 6 N·m (as set), tool A",
    ),
    (
        {"kind": "torque", "fastener": "hub bolt", "set": [50, "90°"], "new": True},
        "Tightened: hub bolt 50 N·m, then turn on by 90° (as set), new",
    ),
    ({"kind": "torque", "fastener": "all", "to_plan": True}, "Tightened to plan: all fasteners"),
    ({"kind": "loosened", "fastener": ["roller nut", "stud"]}, "Loosened: roller nut and stud"),
    ({"kind": "turned", "turns": 2}, "Turned by hand: two turns"),
    (
        {"kind": "turned", "turns": 2.5, "overshot": True, "turned_back": 5},
        "Turned by hand: 2.5 turns, overshot, turned back by 5°",
    ),
    ({"kind": "turned", "turns": 0, "turned_back": True}, "Turned by hand: turned back"),
    ({"kind": "waited", "minutes": 5}, "Waited: five minutes"),
    (
        {"kind": "belt fitted", "teeth": 109, "arrow": "with travel", "width_mm": 22},
        "Belt fitted: 109 teeth, 22 mm wide, arrow with travel",
    ),
    (
        {"kind": "belt fitted", "teeth": 90, "teeth_from": "counted", "arrow": "none"},
        "Belt fitted: 90 teeth, counted, no arrow on it",
    ),
    (
        {"kind": "part fitted", "part": "tensioner", "number": "T 12", "at": "roller"},
        "Part fitted: tensioner, at roller, number T 12",
    ),
    ({"kind": "adjuster moved", "at": "roller", "to_plan": True}, "Roller set to plan"),
    ({"kind": "adjuster moved", "to": "notch", "way": "clockwise"}, "Tensioner set: notch, clockwise"),
    ({"kind": "step done", "done": "road-test"}, "Step done"),
    ({"kind": "step done", "step": "road-test", "yes": False, "note": "no plates"}, "Left: road-test. Note: no plates"),
    ({"kind": "mark", "at": "camshaft", "reads": "one", "way": "late"}, "Camshaft mark: one tooth late"),
    (
        {"kind": "mark", "at": ["crankshaft", "camshaft"], "reads": "on", "as_found": True},
        "Crankshaft and camshaft marks, as found: on",
    ),
    ({"kind": "mark", "at": "all", "reads": "on"}, "All marks: on"),
    ({"kind": "mark", "at": "camshaft", "reads": "half"}, "Camshaft mark: half a tooth off"),
    ({"kind": "mark", "at": "camshaft", "off_mm": 1.5, "way": "early"}, "Camshaft mark: 1.5 mm early"),
    ({"kind": "pointer", "at": "roller", "reads": "in the notch"}, "Pointer of roller: in the notch"),
    ({"kind": "pointer", "reads": "past", "widths": 2}, "Pointer: two pointer widths past the notch"),
    ({"kind": "pin in", "pin": "pump pin", "use": "check"}, "Pin check: pump pin goes in by hand"),
    (
        {"kind": "pin in", "pin": "pump pin", "use": "check", "freely": False},
        "Pin check: pump pin does not go in by hand",
    ),
    ({"kind": "pin in", "pin": "all", "use": "hold"}, "Pins to hold: all pins in"),
    ({"kind": "pin out", "pin": "all", "count": 2}, "Pins out: all pins, two on the bench"),
    (
        {"kind": "deflection", "at": "roller:camshaft", "deflection_mm": 3.4, "force_n": 20},
        "Span roller to camshaft gives 3.4 mm under 20 N",
    ),
    (
        {"kind": "twist", "at": "roller:camshaft", "as_prescribed": True},
        "Twist of span roller to camshaft by hand: as prescribed",
    ),
    (
        {"kind": "pump lift", "at": "injection pump", "lift_mm": 0.92, "u_mm": 0.01},
        "Pump lift, injection pump: 0.92 mm, u 0.01 mm",
    ),
    ({"kind": "protrusion", "protrusion_mm": 8.2}, "Ram standing out: 8.2 mm"),
    ({"kind": "measured", "quantity": "width", "value": "25,3 mm"}, "Belt width: 25.3 mm"),
    (
        {"kind": "measured", "quantity": "play", "at": "roller", "as_prescribed": False},
        "Bearing play, roller: not as prescribed",
    ),
    (
        {"kind": "pluck", "file": "a.wav", "span": "roller:camshaft"},
        "Plucked span roller to camshaft: not read yet, from a.wav",
    ),
    (
        {"kind": "capture", "file": "a.csv", "crank": "CH1"},
        "Sensor recording: not read yet, crankshaft on CH1, from a.csv",
    ),
    ({"kind": "finding", "finding": "pump-leak"}, "Found: coolant pump leaks"),
    ({"kind": "finding", "finding": "pump-leak", "present": False}, "Not found: coolant pump leaks"),
    (
        {"kind": "finding", "finding": "all", "present": False, "except": "pump-leak"},
        "All clear but: coolant pump leaks",
    ),
    ({"kind": "cured", "finding": "pump-leak", "how": "pump renewed"}, "Cured: coolant pump leaks: pump renewed"),
    ({"kind": "photo", "file": "a.jpg", "shows": "old belt"}, "Photo: old belt, from a.jpg"),
    ({"kind": "override", "check": "torque-roller-nut", "reason": "towed"}, "In spite of torque roller nut: towed"),
    ({"kind": "left out", "entry": 12, "reason": "gauge slipped"}, "Left out, entry 12: gauge slipped"),
    ({"kind": "struck out", "replaces": 3, "reason": "another car"}, "Struck out, entry 3: another car"),
    ({"kind": "remark", "text": "Belt smells of oil.", "replaces": 2}, "Belt smells of oil. (corrects entry 2)"),
    ({"kind": "moved at end", "moved": False}, "Nothing moved after the last turns"),
    ({"kind": "moved at end", "moved": True, "what": "roller nut"}, "Moved after the last turns: roller nut"),
    ({"kind": "signed"}, "Signed as technician"),
    ({"kind": "decided", "text": "Renew now."}, "Renew now."),
]
KEYS = re.compile(r"\b(reads|freely no|moved no|to plan;|temperature temperature|km \d|turns \d|teeth \d)\b|_")


@pytest.mark.parametrize(("row", "words"), SAID, ids=[words[:40] for _, words in SAID])
def test_an_entry_is_a_sentence(row: dict[str, Any], words: str) -> None:
    assert entry_words(make_entry(**row)) == words


def test_every_kind_but_references_has_its_sentence() -> None:
    assert set(KINDS) - set(SENTENCES) == {"reference", "step done"}
    assert {row["kind"] for row, _ in SAID} == set(KINDS) - {"reference"}


@pytest.mark.parametrize("job", JOBS, ids=[job.id for job in JOBS])
def test_no_key_of_the_file_is_read_aloud_in_a_shipped_job(job: Any) -> None:
    for entry in read_job(job_text(job), job.id).entries:
        assert not KEYS.search(entry_words(entry)), json.dumps(entry.model_dump(mode="json", exclude_none=True))


def test_a_step_is_called_by_its_title_where_it_is_known() -> None:
    titles = {"road-test": "Road test"}
    entry = make_entry(kind="step done", done="road-test", **{"pass": 2}, entered=datetime(2026, 3, 2, 9))
    row = entry_row(4, entry, titles)
    assert (row["words"], row["done"]) == ("Done: Road test", "Road test (round 2)")
    assert entry_row(4, entry)["done"] == "road-test (round 2)"
