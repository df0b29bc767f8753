"""What a job says in words: doubts beside their check, the span an entry names, one of two, the record for people."""

from __future__ import annotations

import json
import re
import shutil
from datetime import datetime
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from tests.docs.examples import twoturn
from tests.job.paper_jobs import engine, make_entry

from twoturn.acts.drive_files import shipped_drives
from twoturn.demo.jobs_shipped import JOBS, write_job
from twoturn.job.assess import Assessment, assess
from twoturn.job.checks.phase import shift_words
from twoturn.job.entry_words import entry_words
from twoturn.job.template import template_entries
from twoturn.quantity.conformity import Verdict
from twoturn.quantity.reading import Reading

NOTE, GIVE = "note-of-the-slack-span", "deflection-of-the-slack-span"
BASE: list[dict[str, Any]] = [
    {"kind": "temperature", "temperature_c": 20.0},
    {"kind": "belt fitted", "teeth": 109, "arrow": "with travel"},
    {"kind": "turned", "turns": 2},
]


def judged(*rows: dict[str, Any]) -> Assessment:
    signed = [{**row, "by": "A. First", "entered": datetime(2026, 3, 2, 9)} for row in (*BASE, *rows)]
    return assess(engine("alder-one-cam"), [make_entry(**row) for row in signed])


def pluck(span: str, hertz: float = 144.0, **more: Any) -> dict[str, Any]:
    reading = {"frequency_hz": hertz, "u_hz": 0.3, **more}
    return {"kind": "pluck", "file": "a.wav", "span": span, "reading": reading}


def test_a_doubt_of_the_recording_stands_beside_its_check() -> None:
    found = judged(pluck("roller:camshaft", doubts=["the recording is clipped: pluck more gently"]))
    assert found.check(NOTE).verdict is Verdict.PROVEN
    assert found.check(NOTE).notes == ("Doubt: The recording is clipped: pluck more gently.",)


def test_a_clipped_recording_is_told_on_the_terminal_and_in_the_json(tmp_path: Path) -> None:
    write_job(JOBS[0], tmp_path / "job")
    sound = tmp_path / "job" / "after-turns.wav"
    raw = bytearray(sound.read_bytes())
    start = raw.index(b"data") + 8
    samples = np.frombuffer(bytes(raw[start : start + 2 * ((len(raw) - start) // 2)]), "<i2").astype(float)
    loud = np.clip(samples * 12, -32768, 32767).astype("<i2").tobytes()
    sound.write_bytes(bytes(raw[:start]) + loud)
    text = job_without_digests(tmp_path / "job")
    (tmp_path / "job" / "job.toml").write_text(text, encoding="utf-8")
    said = twoturn(["prove", str(tmp_path / "job")])[1]
    assert "Doubt: The recording is clipped" in re.sub(r"\s+", " ", said)
    answer = json.loads(twoturn(["prove", str(tmp_path / "job"), "--json"])[1])
    check = next(row for row in answer["checks"] if row["id"] == NOTE)
    assert any(note.startswith("Doubt: The recording is clipped") for note in check["notes"])


def test_a_doubt_stands_beside_a_value_that_nothing_is_required_of() -> None:
    newtons = {"tension_n": 290.0, "u_n": 13.0}
    found = judged(pluck("roller:camshaft", **newtons, doubts=["only one pluck heard"]))
    (value,) = found.value_only
    assert value.note == "Doubt: Only one pluck heard."


def job_without_digests(folder: Path) -> str:
    text = (folder / "job.toml").read_text(encoding="utf-8")
    return re.sub(r"^(sha256|reading|reader) = .*\n", "", text, flags=re.MULTILINE)


@pytest.mark.parametrize("span", ["crankshaft:roller", "crankshaft to roller"])
def test_an_entry_of_another_span_is_named(span: str) -> None:
    check = judged(pluck(span)).check(NOTE)
    assert check.verdict is Verdict.NOT_SHOWN
    assert f"entry 4 is of {span}" in check.why
    assert check.entries == (4,)


def test_a_span_as_it_is_printed_is_understood() -> None:
    assert judged(pluck("roller to camshaft")).check(NOTE).verdict is Verdict.PROVEN


def test_one_of_two_that_is_not_met_leaves_the_other_unneeded_and_says_so() -> None:
    found = judged(pluck("roller:camshaft", 120.0))
    assert found.verdict is Verdict.NOT_MET
    assert not found.check(GIVE).required
    assert "one of the two is enough" in found.check(GIVE).why


def test_of_two_that_are_not_shown_one_is_said_to_be_enough() -> None:
    found = judged()
    for check in (found.check(NOTE), found.check(GIVE)):
        assert check.required
        assert any("One is enough" in note for note in check.notes)


def test_the_record_speaks_to_people() -> None:
    edges = [{"shaft": "camshaft", "edge": "falling", "angle_deg": 186.413279, "u_deg": 0.0153272, "dof": 7.39179}]
    read = {"edges": edges, "rpm": 218.4, "zeros": 2, "wheel": "60-2", "place_deg": 6.0}
    wave = {"per_cycle": 4, "slowest_deg": 114.2, "u_deg": 0.5}
    words = entry_words(make_entry(kind="capture", file="a.csv", reading={**read, "wave": wave}))
    assert "camshaft falling 186.41 ± 0.04°" in words  # t(7.39; 97.5 %) = 2.34 times 0.0153 (JCGM 100:2008, G.3)
    assert "crank wheel 60-2" in words
    note = entry_words(make_entry(**pluck("roller:camshaft", dof=7.39179, plucks=5)))
    assert "144.0 ± 0.7 Hz, five plucks" in note
    for word in ("dof", "zeros", "per cycle", "place", "0.0153272", "7.39"):
        assert word not in words + note
    assert entry_words(make_entry(kind="finding", finding="all", present=False)) == "All clear"


def test_a_shift_keeps_the_digits_of_its_uncertainty() -> None:
    """JCGM 100:2008, 7.2.6: value and uncertainty end at the same digit."""
    assert shift_words(Reading(1.2003, 0.02, "°")) == "1.20° crank late ± 0.04°"
    assert shift_words(Reading(-0.001, 0.02, "°")) == "on time ± 0.04°"


def test_a_new_job_waits_for_the_sensor_recording_where_the_drive_states_cam_edges() -> None:
    kinds = [line.keys["kind"] for line in template_entries(engine("alder-one-cam"), "x")]
    assert kinds.count("capture") == 1
    assert kinds.index("capture") < kinds.index("moved at end")


def test_the_band_shaded_is_what_is_required_after_the_work() -> None:
    from twoturn.acts.recording_words import allowed_note
    from twoturn.drive.load import read_drive

    alder = shipped_drives()["alder-one-cam"]
    found = 'id = "before"\nquantity = "frequency"\nat = "roller:camshaft"\nlow = 60\nhigh = 90\nunit = "Hz"\n'
    found = f'[[requirement]]\n{found}state = "as found"\nsource = "invented for this test"\n'
    drive = read_drive(alder.replace("[[requirement]]", f"{found}\n[[requirement]]", 1), "alder.toml")
    entry = make_entry(kind="pluck", file="a.wav", span="roller:camshaft")
    assert allowed_note(entry, drive) == (136.0, 153.0)
    assert allowed_note(entry.model_copy(update={"as_found": True}), drive) is None


def test_a_recording_as_found_is_drawn_as_such(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from twoturn.acts import proof_sheet
    from twoturn.acts.fill_readings import fill_readings
    from twoturn.acts.job_folder import load_job

    write_job(JOBS[0], tmp_path / "job")
    shutil.copy(tmp_path / "job" / "as-left.csv", tmp_path / "as-left.csv")
    (tmp_path / "alder.toml").write_text(shipped_drives()["alder-one-cam"], encoding="utf-8")
    job = 'format = 1\ndrive = "alder.toml"\n[[entry]]\nkind = "capture"\nfile = "as-left.csv"\nas_found = true\n'
    (tmp_path / "job.toml").write_text(
        job + 'by = "A. First (invented)"\nentered = 2026-05-04T16:30:00\n', encoding="utf-8"
    )
    loaded = load_job(tmp_path)
    undrawn: list[str] = []
    (picture,) = proof_sheet._recordings(loaded, fill_readings(loaded), undrawn)
    assert undrawn == []
    assert "as found, before the work (entry 1)" in picture.title
    assert "as found: " in picture.svg
