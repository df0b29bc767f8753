"""Recordings read in a process of their own: the same readings as here, an end to those that take too long."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from tests.recording.made import plucked_wav

from twoturn.acts import read_apart
from twoturn.acts.drive_files import shipped_drives
from twoturn.acts.fill_readings import fill_readings
from twoturn.acts.job_files import FolderFiles
from twoturn.acts.job_folder import Job
from twoturn.acts.read_apart import reading_apart
from twoturn.drive.load import read_drive
from twoturn.errors import RecordingError
from twoturn.job.rows import job_of_rows

WHO = {"by": "A Tester", "entered": "2026-03-02T17:40:00"}
ROWS = [
    {"kind": "pluck", "file": "note.wav", "span": "roller:camshaft", "done": "prove-setting", **WHO},
    {"kind": "pluck", "file": "none.wav", "span": "roller:camshaft", "done": "prove-setting", **WHO},
]


@pytest.fixture
def job(tmp_path: Path) -> Job:
    (tmp_path / "note.wav").write_bytes(plucked_wav(144.3))
    (tmp_path / "none.wav").write_bytes(b"RIFF, and no sound")
    drive = read_drive(shipped_drives()["alder-one-cam"], "alder-one-cam")
    return Job(FolderFiles(tmp_path), job_of_rows(ROWS, "a job", drive.name), drive)


def test_it_reads_and_refuses_as_without_a_process(job: Job) -> None:
    with reading_apart() as reader:
        apart = fill_readings(job, reader=reader)
    here = fill_readings(job)
    assert apart == here
    assert apart.entries[0].reading.frequency_hz == pytest.approx(144.3, rel=0.003)  # type: ignore[attr-defined]
    assert list(apart.unread) == [2]


def test_one_that_takes_too_long_is_unread_and_says_so(job: Job) -> None:
    with reading_apart(seconds=0.001) as reader:
        found = fill_readings(job, reader=reader)
    assert "the analysis of note.wav took longer than 0.001 s" in found.unread[1].why
    assert "cut out the part" in found.unread[1].why
    assert found.entries[0].reading is None  # type: ignore[attr-defined]


def ended(*_: object) -> None:
    """A reader's process that ends at once."""
    os._exit(3)


def test_one_whose_process_ends_is_unread_and_the_next_is_read(job: Job, monkeypatch: pytest.MonkeyPatch) -> None:
    read_there = read_apart._read_there
    entry, path = job.file.entries[0], job.find("note.wav")
    assert path is not None
    with reading_apart() as reader:
        monkeypatch.setattr(read_apart, "_read_there", ended)
        with pytest.raises(RecordingError, match="broken off"):
            reader(job, entry, path)  # type: ignore[arg-type]
        monkeypatch.setattr(read_apart, "_read_there", read_there)
        reading, words = reader(job, entry, path)  # type: ignore[arg-type]
    assert reading is not None
    assert words.startswith("note.wav: 144")
