"""``prove`` reads recordings whose entries hold no reading, and leaves alone what is there."""

from __future__ import annotations

import hashlib
from pathlib import Path

import numpy as np
import pytest
from tests.job.paper_jobs import engine

from twoturn.acts.fill_readings import fill_readings
from twoturn.acts.job_files import inside
from twoturn.acts.job_folder import load_job
from twoturn.acts.prove import prove
from twoturn.demo.jobs_shipped import JOBS, write_job
from twoturn.job.entries.recordings import Capture, Pluck

HEAD = """format = 1
drive = "alder-one-cam"
[[entry]]
kind = "belt fitted"
teeth = 109
arrow = "none"
by = "A"
entered = 2026-03-02
[[entry]]
kind = "temperature"
temperature_c = 20
[[entry]]
kind = "turned"
turns = 2
"""
PLUCK = '[[entry]]\nkind = "pluck"\nfile = "note.wav"\nspan = "roller:camshaft"\n'


def write_wav(path: Path, hertz: float, seconds: float = 1.2, rate: int = 44100) -> None:
    """Three damped tones with one overtone: a simulated span, plucked three times."""
    import wave

    time = np.arange(int(seconds * rate)) / rate
    ring = np.exp(-time / 0.12) * (np.sin(2 * np.pi * hertz * time) + 0.4 * np.sin(2 * np.pi * 2.01 * hertz * time))
    noise = np.random.default_rng(7).normal(0, 0.002, 3 * ring.size)
    samples = np.tile(ring, 3) * 0.5 + noise
    with wave.open(str(path), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(rate)
        file.writeframes((np.clip(samples, -1, 1) * 32000).astype("<i2").tobytes())


def folder_with(tmp_path: Path, text: str, hertz: float = 144.0) -> Path:
    (tmp_path / "job.toml").write_text(text, encoding="utf-8")
    write_wav(tmp_path / "note.wav", hertz)
    return tmp_path


def test_a_missing_reading_is_read_from_the_recording(tmp_path: Path) -> None:
    proof = prove(folder_with(tmp_path, HEAD + PLUCK))
    check = proof.assessment.check("note-of-the-slack-span")
    assert check.verdict.value == "proven"
    assert check.value is not None
    assert check.value.value == pytest.approx(144.0, rel=0.01)
    entry = proof.filled.entries[3]
    assert isinstance(entry, Pluck)
    assert entry.sha256 == hashlib.sha256((tmp_path / "note.wav").read_bytes()).hexdigest()
    assert "Hz" in proof.filled.read[4]


def test_that_a_recording_is_cut_off_is_said_in_the_job(tmp_path: Path) -> None:
    folder = folder_with(tmp_path, HEAD + PLUCK)
    data = (folder / "note.wav").read_bytes()
    (folder / "note.wav").write_bytes(data[: len(data) * 3 // 4])
    proof = prove(folder)
    assert proof.assessment.check("note-of-the-slack-span").value is not None
    assert "the file is cut off: 2.7 s of 3.6 s could be read" in proof.filled.read[4]


def test_a_reading_that_is_there_is_never_replaced(tmp_path: Path) -> None:
    told = PLUCK + "reading = { frequency_hz = 120, u_hz = 0.2 }\n"
    proof = prove(folder_with(tmp_path, HEAD + told))
    assert proof.assessment.check("note-of-the-slack-span").verdict.value == "not met"
    assert proof.filled.read == {}


def test_a_file_that_changed_is_not_read(tmp_path: Path) -> None:
    told = PLUCK + f'sha256 = "{"0" * 64}"\n'
    proof = prove(folder_with(tmp_path, HEAD + told))
    assert proof.assessment.check("note-of-the-slack-span").verdict.value == "not shown"
    assert any("SHA-256" in warning for warning in proof.filled.warnings)


def test_a_recording_in_which_nothing_is_heard_says_why(tmp_path: Path) -> None:
    folder = folder_with(tmp_path, HEAD + PLUCK)
    write_wav(folder / "note.wav", 144.0, seconds=0.001)
    proof = prove(folder)
    assert proof.assessment.check("note-of-the-slack-span").verdict.value == "not shown"
    check = proof.assessment.check("note-of-the-slack-span")
    assert check.why == proof.filled.read[4]
    assert check.why.startswith("Entry 4: note.wav: ")
    assert "leave the recording out" in check.next


def test_a_recording_called_center_is_made_again_and_not_entered(tmp_path: Path) -> None:
    folder = folder_with(tmp_path, HEAD + PLUCK.replace("note.wav", "center.wav"))
    write_wav(folder / "center.wav", 144.0, seconds=0.001)
    assert "leave the recording out" in prove(folder).assessment.check("note-of-the-slack-span").next


def test_a_measured_span_far_from_the_drawn_one_is_a_doubt_of_the_reading(tmp_path: Path) -> None:
    (entry,) = fill_readings(load_job(folder_with(tmp_path, HEAD + PLUCK + "length_mm = 170\n"))).entries[3:]
    assert isinstance(entry, Pluck)
    assert entry.reading is not None
    assert any("170 mm, is not the 188 mm of the drive file" in doubt for doubt in entry.reading.doubts)


def test_a_text_that_is_named_as_a_recording_says_so(tmp_path: Path) -> None:
    folder = folder_with(tmp_path, HEAD + PLUCK)
    (folder / "note.wav").write_text("not a sound\n", encoding="utf-8")
    check = prove(folder).assessment.check("note-of-the-slack-span")
    assert check.verdict.value == "not shown"
    assert check.why.startswith("Entry 4: ")
    assert "note.wav" in check.why


def test_a_silent_recording_is_called_silent(tmp_path: Path) -> None:
    import wave

    folder = folder_with(tmp_path, HEAD + PLUCK)
    with wave.open(str(folder / "note.wav"), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(44100)
        file.writeframes(bytes(2 * 44100 * 2))
    check = prove(folder).assessment.check("note-of-the-slack-span")
    assert check.verdict.value == "not shown"
    assert "silen" in check.why.lower()


def test_a_recording_that_is_not_there_stops_nothing(tmp_path: Path) -> None:
    folder = folder_with(tmp_path, HEAD + PLUCK)
    (folder / "note.wav").rename(folder / "notes.wav")
    proof = prove(folder)
    check = proof.assessment.check("note-of-the-slack-span")
    assert check.verdict.value == "not shown"
    assert check.why == "Entry 4: note.wav is not in the job folder; notes.wav is there."
    assert check.why in proof.filled.warnings
    assert proof.assessment.check("teeth").verdict.value == "proven"


def test_a_reading_from_the_second_recording_stands_for_a_silent_first(tmp_path: Path) -> None:
    folder = folder_with(tmp_path, HEAD + PLUCK.replace("note.wav", "gone.wav") + PLUCK)
    assert prove(folder).assessment.check("note-of-the-slack-span").verdict.value == "proven"


def test_the_line_that_fixes_a_recording_is_printed(tmp_path: Path) -> None:
    from twoturn.cli.prove_text import prove_lines

    folder = folder_with(tmp_path, HEAD + PLUCK)
    digest = hashlib.sha256((folder / "note.wav").read_bytes()).hexdigest()
    proof = prove(folder)
    lines = list(prove_lines(proof))
    at = lines.index("To fix the recordings in the record, add:")
    assert lines[at + 1 : at + 3] == ["  to entry 4:", f'  sha256 = "{digest}"']
    assert proof.as_json()["read_now"][0]["sha256"] == digest
    (folder / "job.toml").write_text(HEAD + PLUCK + lines[at + 2] + "\n", encoding="utf-8")
    assert not any(line.startswith("To fix") for line in prove_lines(prove(folder)))


def test_names_that_lead_out_of_the_folder_are_refused(tmp_path: Path) -> None:
    assert inside(tmp_path, "../x.wav") is None
    assert inside(tmp_path, "/etc/passwd") is None
    assert inside(tmp_path, "sounds/x.wav") == (tmp_path / "sounds" / "x.wav").resolve()


def test_a_sensor_recording_gives_cam_edges(tmp_path: Path) -> None:
    """A wheel of 36 less 1 and a cam with one lobe, simulated at 250 rpm: the edges come at the angles put in."""
    rate, rpm, turns = 50000, 250.0, 24
    time = np.arange(int(turns * 60 / rpm * rate)) / rate
    angle = time * rpm * 6
    tooth = (angle % 10 < 5) & (angle % 360 < 350)
    cam = (angle % 720 > 186) & (angle % 720 < 420)
    rows = "\n".join(f"{t:.6f},{int(a)},{int(b)}" for t, a, b in zip(time, tooth, cam, strict=True))
    (tmp_path / "a.csv").write_text("time,crank,cam\n" + rows + "\n", encoding="utf-8")
    entry = '[[entry]]\nkind = "capture"\nfile = "a.csv"\ncams = { camshaft = "cam" }\n'
    (tmp_path / "job.toml").write_text(HEAD + entry, encoding="utf-8")
    (found,) = [one for one in fill_readings(load_job(tmp_path)).entries if isinstance(one, Capture)]
    assert found.reading is not None
    assert {edge.edge for edge in found.reading.edges} == {"rising", "falling"}
    rising = next(edge.angle_deg for edge in found.reading.edges if edge.edge == "rising")
    falling = next(edge.angle_deg for edge in found.reading.edges if edge.edge == "falling")
    assert (falling - rising) % 720 == pytest.approx(234, abs=0.5)
    assert found.reading.rpm == pytest.approx(rpm, rel=0.01)
    assert engine("alder-one-cam").file.timing.cam_edges[0].shaft == "camshaft"


def test_a_reading_of_sensors_keeps_what_makes_it_less_sure(tmp_path: Path) -> None:
    """A demo job whose capture says no unit of time: what the reader took it for stands beside the check."""
    write_job(next(job for job in JOBS if job.id == "alder-proven"), tmp_path)
    path = tmp_path / "as-left.csv"
    rows = [row.split(",", 1) for row in path.read_text(encoding="utf-8").splitlines()[2:]]
    scaled = [f"{1e6 * float(time):.0f},{levels}" for time, levels in rows]
    path.write_text("\n".join(["Time,crankshaft,camshaft", *scaled]) + "\n", encoding="utf-8")
    proof = prove(tmp_path)
    check = proof.assessment.check("phase-camshaft")
    assert any(note.startswith("Doubt: Times taken as microseconds") for note in check.notes)


def test_a_channel_that_never_changes_is_no_doubt(tmp_path: Path) -> None:
    """A recorder of four channels with two leads on the engine: the idle ones say nothing of the other two."""
    write_job(next(job for job in JOBS if job.id == "alder-proven"), tmp_path)
    path = tmp_path / "as-left.csv"
    first, heading, *rows = path.read_text(encoding="utf-8").splitlines()
    path.write_text("\n".join([first, f"{heading},D2,D3", *(f"{row},0,0" for row in rows)]) + "\n", encoding="utf-8")
    check = prove(tmp_path).assessment.check("phase-camshaft")
    assert check.value is not None
    assert not any(note.startswith("Doubt") for note in check.notes)


def test_plucks_at_two_notes_give_no_reading(tmp_path: Path) -> None:
    import wave

    folder = folder_with(tmp_path, HEAD + PLUCK, 145.0)
    write_wav(tmp_path / "other.wav", 112.0)
    parts = []
    for name in ("note.wav", "other.wav"):
        with wave.open(str(tmp_path / name)) as file:
            parts.append(file.readframes(file.getnframes()))
    with wave.open(str(tmp_path / "note.wav"), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(44100)
        file.writeframes(b"".join(parts))
    check = prove(folder).assessment.check("note-of-the-slack-span")
    assert check.verdict.value == "not shown"
    assert check.value is None
    assert "Hz, so that none of the notes counts" in f"{check}"
