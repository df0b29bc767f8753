"""No file of another kind is ever overwritten by a sheet or a drawing; practice drives go by their names."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from typer.testing import CliRunner

from twoturn.acts.outputs import check_output, write_output
from twoturn.cli.main import app, run
from twoturn.demo.jobs_shipped import JOBS, write_job
from twoturn.errors import TwoTurnError
from twoturn.simulate.span import RingingSpan, Workshop, plucked
from twoturn.simulate.wav import wav_bytes


@pytest.fixture
def job(tmp_path: Path) -> Path:
    write_job(JOBS[1], tmp_path / "job")
    return tmp_path / "job"


def test_a_job_file_is_not_overwritten_by_its_own_sheet(job: Path) -> None:
    before = (job / "job.toml").read_bytes()
    answer = CliRunner().invoke(app, ["prove", str(job), "-o", str(job / "job.toml")])
    assert isinstance(answer.exception, TwoTurnError)
    assert ".pdf" in answer.exception.sentence
    assert (job / "job.toml").read_bytes() == before


def test_a_file_of_another_kind_under_the_right_name_is_kept(tmp_path: Path) -> None:
    place = tmp_path / "sheet.pdf"
    place.write_text("notes of mine")
    with pytest.raises(TwoTurnError, match="another kind of file"):
        write_output(place, b"%PDF-1.7", ".pdf", "the plan")
    assert place.read_text() == "notes of mine"


def test_an_older_sheet_is_replaced(tmp_path: Path) -> None:
    place = tmp_path / "sheet.pdf"
    write_output(place, b"%PDF-1.7 old", ".pdf", "the plan")
    write_output(place, b"%PDF-1.7 new", ".pdf", "the plan")
    assert place.read_bytes().endswith(b"new")


def test_a_folder_that_is_not_there_is_one_sentence(tmp_path: Path) -> None:
    with pytest.raises(TwoTurnError, match="folder that exists"):
        write_output(tmp_path / "no" / "sheet.pdf", b"%PDF", ".pdf", "the plan")
    check_output(tmp_path / "sheet.pdf", ".pdf", "the plan")


@pytest.mark.parametrize("command", ["drive", "plan"])
def test_practice_drives_go_by_their_names(command: str) -> None:
    answer = CliRunner().invoke(app, [command, "birch-two-cams", "--json"])
    assert answer.exit_code == 0
    assert json.loads(answer.output)


def test_on_a_list_drive_the_note_still_counts(tmp_path: Path) -> None:
    shop = Workshop()
    sound = plucked(RingingSpan(f1_hz=120.0), (0.5, 1.3, 2.1), shop, np.random.default_rng(4))
    (tmp_path / "a.wav").write_bytes(wav_bytes(sound, shop.rate_hz))
    command = ["pluck", str(tmp_path / "a.wav"), "--drive", "damson-rotary-pump", "--span", "roller:camshaft", "--json"]
    answer = CliRunner().invoke(app, command)
    assert answer.exit_code == 0
    found = json.loads(answer.output)
    assert abs(found["frequency_hz"]["value"] - 120.0) < 0.6
    assert found["tension_n"] is None
    assert found["why"]


@pytest.mark.parametrize("arguments", [["drive"], ["plan"], ["pluck"], ["capture"], ["prove"]])
def test_what_the_computer_refuses_is_one_sentence_too(
    arguments: list[str], monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("sys.argv", ["twoturn", *arguments, "x" * 5000])
    with pytest.raises(SystemExit) as left:
        run()
    assert left.value.code == 2
    told = capsys.readouterr().err
    assert "cannot be used" in told
    assert told.count("\n") == 1
    assert len(told) < 200


def test_a_job_is_not_opened_in_a_file(tmp_path: Path) -> None:
    place = tmp_path / "notes"
    place.write_text("mine")
    answer = CliRunner().invoke(app, ["open", str(place), "--drive", "alder-one-cam"])
    assert isinstance(answer.exception, TwoTurnError)
    assert "is a file, not a folder" in answer.exception.sentence
