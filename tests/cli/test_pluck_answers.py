"""What ``twoturn pluck`` says beside note and newtons: requirement, doubts of the drive file, what to do next.

The recording is the simulated one of a shipped job; its note is 144.3 Hz, which the job's drive requires to lie between
136 and 153 Hz. Lengths: T = 4·m·L²·f₁² (P. M. Morse, Vibration and Sound, 2nd ed., section 9) makes newtons go by L².
"""

from __future__ import annotations

import json
import re
import wave
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from tests.docs.examples import twoturn
from tests.pluck.generator import SpanTruth, ring

from twoturn.acts.drive_files import shipped_drives
from twoturn.demo.jobs_shipped import JOBS, write_job

LIST_DRIVE = """[drive]
name = "list drive of a test (invented)"
crank_turns = "clockwise"
source = "invented for this test"
[[belt]]
teeth = 109
pitch_mm = 9.525
width_mm = 19.0
mass_kg_per_m = 0.098
[[pulley]]
id = "crankshaft"
role = "crankshaft"
teeth = 20
[[pulley]]
id = "roller"
role = "tensioner"
[[pulley]]
id = "camshaft"
role = "camshaft"
teeth = 40
[[tensioner]]
kind = "locked eccentric"
"""


@pytest.fixture(scope="module")
def files(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The recording, the drive it belongs to, that drive with the camshaft moved up by 4 mm, and a list drive."""
    folder = tmp_path_factory.mktemp("files")
    write_job(JOBS[0], folder / "job")
    alder = shipped_drives()["alder-one-cam"]
    moved = alder.replace("at_mm = [8.0, 359.0]", "at_mm = [10.0, 363.0]").replace("[-42.0, 150.0]", "[-40.0, 160.0]")
    assert moved != alder
    tight = alder.replace("low = 136.0", "low = 146.0")
    for name, text in (("alder", alder), ("moved", moved), ("tight", tight), ("list", LIST_DRIVE)):
        (folder / f"{name}.toml").write_text(text, encoding="utf-8")
    return folder


def said(files: Path, *words: str) -> str:
    status, text = twoturn(["pluck", str(files / "job" / "after-turns.wav"), *words])
    assert status == 0, text
    return text


def asked(files: Path, *words: str) -> dict[str, Any]:
    return json.loads(said(files, *words, "--json"))  # type: ignore[no-any-return]


@pytest.fixture(scope="module")
def plain(files: Path) -> str:
    return said(files, "--drive", str(files / "alder.toml"), "--span", "roller to camshaft")


def test_caution_is_first_and_the_next_step_last(plain: str) -> None:
    lines = plain.splitlines()
    assert lines[0].startswith("Caution: Pluck with the engine off")
    assert lines[-1].startswith("Next: enter it in the job")
    assert 'span = "roller:camshaft", file = "after-turns.wav"' in lines[-1]


def test_the_requirement_stands_by_its_source_and_what_is_computed_is_not_taken_for_it(plain: str) -> None:
    assert "required: 136–153 Hz, at 20 °C (invented workshop sheet Alder 8, table 3): inside." in plain
    assert "computed from the drive file (not what is required)" in plain


def test_a_note_outside_the_requirement_is_told_so(files: Path) -> None:
    answer = asked(files, "--drive", str(files / "tight.toml"), "--span", "roller:camshaft")
    assert [row["says"] for row in answer["requirements"]] == ["outside"]


def test_what_adds_little_stands_in_one_line_and_the_largest_says_what_helps(plain: str) -> None:
    rows = re.findall(r"^  .* adds (\S+) N \(", plain, re.MULTILINE)
    assert all(float(row) >= 1 for row in rows)
    assert re.search(r"^  belt mass .*: weigh the belt on the kitchen scale$", plain, re.MULTILINE)
    assert "add less than 1 N." in plain


def test_newtons_by_a_drive_file_that_contradicts_itself_carry_the_doubt(files: Path) -> None:
    words = ("--drive", str(files / "moved.toml"), "--span", "roller:camshaft")
    text = said(files, *words)
    assert "Doubt: the drive file contradicts itself" in text
    assert "longer than the belt" in text
    assert "--length-mm" in text
    assert "Note to expect: none can be computed." in text
    measured = said(files, *words, "--length-mm", "188,3")
    assert "contradicts itself" not in measured
    assert "length_mm = 188.3" in measured


def test_a_job_takes_no_newtons_from_such_a_drive_file(files: Path, tmp_path: Path) -> None:
    sound = tmp_path / "after-turns.wav"
    sound.write_bytes((files / "job" / "after-turns.wav").read_bytes())
    job = f'format = 1\ndrive = "{files / "moved.toml"}"\n[[entry]]\nkind = "pluck"\nspan = "roller to camshaft"\n'
    job += 'by = "A. First (invented)"\nentered = 2026-05-04T16:30:00\nfile = "after-turns.wav"\n'
    for more, newtons in (("", False), ("length_mm = 188.3\n", True)):
        (tmp_path / "job.toml").write_text(job + more, encoding="utf-8")
        answer = json.loads(twoturn(["prove", str(tmp_path), "--json"])[1])
        words = answer["read_now"][0]["words"]
        assert (" N" in words) is newtons
        assert ("contradicts itself" in words) is not newtons


def test_newtons_of_such_a_drive_file_are_held_against_nothing(files: Path) -> None:
    needs = '\n[[requirement]]\nid = "pull"\nquantity = "tension"\nlow = 200\nhigh = 400\nunit = "N"\n'
    needs += 'at = "roller:camshaft"\nsource = "invented for this test"\n'
    says = {}
    for name in ("alder", "moved"):
        path = files / f"{name}-pull.toml"
        path.write_text((files / f"{name}.toml").read_text(encoding="utf-8") + needs, encoding="utf-8")
        answer = asked(files, "--drive", str(path), "--span", "roller:camshaft")
        says[name] = {row["id"]: row["says"] for row in answer["requirements"]}["pull"]
    assert says == {"alder": "inside", "moved": None}


def test_a_measured_free_span_gives_newtons_without_coordinates(files: Path) -> None:
    words = ("--drive", str(files / "list.toml"), "--span", "roller:camshaft")
    untold = asked(files, *words)
    assert untold["tension_n"] is None
    assert "--length-mm" in untold["tension_why"]
    short, long = (asked(files, *words, "--length-mm", mm)["tension_n"]["value"] for mm in ("180", "190"))
    assert long / short == pytest.approx((190 / 180) ** 2, rel=0.01)
    assert "its free length with --length-mm" in said(files, "--drive", str(files / "list.toml"))


def test_a_measured_span_far_from_the_drawn_one_is_told(files: Path) -> None:
    words = ("--drive", str(files / "alder.toml"), "--span", "camshaft to roller", "--length-mm")
    assert "170 mm, is not the 188 mm of the drive file" in said(files, *words, "170")
    assert "of the drive file" not in said(files, *words, "190").replace("computed from the drive file", "")


def test_plucks_at_two_notes_are_held_against_nothing(files: Path) -> None:
    rate = 16000
    out = 0.002 * np.random.default_rng(7).standard_normal(6 * rate)
    for number, hertz in enumerate((145.0, 145.0, 145.0, 112.0, 112.0)):
        span = SpanTruth(hertz, 0.001, 0.06)
        part = ring(span, rate, 0.6, at=np.full(1, 0.31), glide=np.zeros(1), strength=np.ones(1))[0]
        out[int((0.4 + number) * rate) :][: len(part)] += part
    with wave.open(str(files / "two.wav"), "wb") as sound:
        sound.setnchannels(1)
        sound.setsampwidth(2)
        sound.setframerate(rate)
        sound.writeframes((np.clip(0.3 * out, -1, 1) * 32000).astype("<i2").tobytes())
    words = ["pluck", str(files / "two.wav"), "--drive", str(files / "alder.toml"), "--span", "roller:camshaft"]
    text = twoturn(words)[1]
    assert "none of the notes counts" in text
    assert "not compared, no sure reading of it" in text
    assert text.splitlines()[-1].startswith("Next: record one span alone")


@pytest.mark.parametrize(
    ("words", "refused"),
    [
        (("--length-mm", "5000", "--span", "roller:camshaft"), "20 to 2000 mm"),
        (("--length-mm", "180"), "--span FROM:TO"),
        (("--span", "roller to moon"), "roller:camshaft"),
    ],
)
def test_a_span_that_cannot_be_is_refused(files: Path, words: tuple[str, ...], refused: str) -> None:
    sound = str(files / "job" / "after-turns.wav")
    status, text = twoturn(["pluck", sound, "--drive", str(files / "alder.toml"), *words])
    assert status == 2
    assert refused in text


@pytest.mark.parametrize(
    ("name", "text", "told"),
    [
        ("a.csv", "Time[s], Channel 0\n0.0, 1\n0.1, 0\n0.2, 1\n0.3, 0\n", "twoturn capture a.csv"),
        ("b.csv", "crank;cam\n0,003;0,563\n0,007;1,136\n0,012;1,710\n", "twoturn capture b.csv"),
        ("c.m4a", "#EXTM3U\n#EXTINF:5,\nclean.wav\n", "give the sound file itself"),
        ("d.wav", "A pluck recording, Tuesday\n" * 30, "is text, not a sound"),
    ],
)
def test_text_is_told_for_what_it_is(tmp_path: Path, name: str, text: str, told: str) -> None:
    (tmp_path / name).write_text(text, encoding="utf-8")
    status, answer = twoturn(["pluck", str(tmp_path / name)])
    assert status == 2
    assert told in answer
    assert answer.count("\n") == 1


def test_one_bad_recording_does_not_keep_the_others_from_being_read(files: Path, tmp_path: Path) -> None:
    (tmp_path / "empty.wav").write_bytes(b"")
    status, text = twoturn(["pluck", str(tmp_path / "empty.wav"), str(files / "job" / "after-turns.wav")])
    assert status == 2
    assert "empty.wav is empty" in text
    assert "Note: 144" in text


def test_several_recordings_are_read_in_turn_and_silence_is_asked_for_once(files: Path, tmp_path: Path) -> None:
    silent = tmp_path / "silent.wav"
    with wave.open(str(silent), "wb") as sound:
        sound.setnchannels(1)
        sound.setsampwidth(2)
        sound.setframerate(8000)
        sound.writeframes(bytes(32000))
    text = said(files, str(silent))
    assert "== after-turns.wav" in text
    assert "== silent.wav" in text
    assert "was the microphone on?\n" in text
    status, text = twoturn(["pluck", str(silent), str(silent), "--json"])
    assert status == 2


def test_a_drive_file_that_is_not_there_is_told_in_one_plain_sentence(tmp_path: Path) -> None:
    status, text = twoturn(["drive", str(tmp_path / "none.toml")])
    assert status == 2
    assert re.fullmatch(r"there is no file \S+none\.toml; check the name and the folder\.\n", text)


def test_drive_ties_the_two_gaps_of_a_wrong_file_together(files: Path) -> None:
    text = twoturn(["drive", str(files / "moved.toml")])[1]
    assert "That is the same gap as the one to check first" in text
    assert "same gap" not in twoturn(["drive", str(files / "alder.toml")])[1]


def test_a_fixed_roller_without_window_is_not_said_to_stand_in_one(files: Path) -> None:
    text = twoturn(["drive", str(files / "alder.toml")])[1]
    assert "anywhere in its window" not in text
    assert "not what is required" in text
