"""``twoturn plan``: JSON keys, text, PDF, the job folder, refusals."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest
from tests.plan.plan_drives import FOLDER, SIX, demo_plan
from typer.testing import CliRunner

from twoturn.acts.plan import vehicle_of
from twoturn.cli.main import app
from twoturn.errors import FileFaults
from twoturn.job.file import read_job
from twoturn.plan import VehicleFacts

JOB = """
format = 1
drive = "birch-two-cams"
[[entry]]
kind = "vehicle"
registration = "AB 12"
hybrid = true
fuel = "petrol"
by = "A. Tester"
entered = 2026-03-02T17:40:00
[[entry]]
kind = "vehicle"
stop_start = false
[[entry]]
kind = "finding"
finding = "belt-jumped"
"""


def _run(*words: str) -> str:
    result = CliRunner().invoke(app, ["plan", *words], catch_exceptions=False)
    assert result.exit_code == 0
    return result.stdout


@pytest.mark.parametrize("name", SIX)
def test_json_has_the_promised_keys_and_nothing_else_on_stdout(name: str) -> None:
    answer = json.loads(_run(str(FOLDER / f"{name}.toml"), "--json"))
    assert {"steps", "parts", "torque_tools", "minutes", "pins", "tools", "single_use"} <= set(answer)
    assert answer["minutes"] is None
    wanted = {"id", "stage", "text", "caution", "tools", "value", "record", "applies_because", "precondition"}
    assert all(wanted <= set(step) for step in answer["steps"])
    assert [step["id"] for step in answer["steps"]] == [step.id for step in demo_plan(name).steps]
    assert all(tool["low_nm"] < tool["high_nm"] for tool in answer["torque_tools"])


@pytest.mark.parametrize("name", SIX)
def test_text_fits_a_terminal_and_says_everything(name: str) -> None:
    text = _run(str(FOLDER / f"{name}.toml"))
    assert max(map(len, text.splitlines())) <= 92
    flat = " ".join(text.split())
    for step in demo_plan(name).steps:
        assert f"[{step.id}]" in text
        for act in step.acts:
            assert " ".join(act.split()[:4]) in flat
    assert "The vehicle maker's procedure and values come first" in flat
    assert "P12" not in text


def test_pdf_is_written_and_named(tmp_path: Path) -> None:
    output = tmp_path / "plan.pdf"
    answer = json.loads(_run(str(FOLDER / "alder-one-cam.toml"), "-o", str(output), "--json"))
    assert answer["pdf"] == str(output)
    assert output.read_bytes().startswith(b"%PDF-1.7")


def test_a_job_says_what_vehicle_it_is(tmp_path: Path) -> None:
    (tmp_path / "job.toml").write_text(JOB, encoding="utf-8")
    answer = json.loads(_run(str(FOLDER / "birch-two-cams.toml"), "--job", str(tmp_path), "--json"))
    steps = {step["id"]: step for step in answer["steps"]}
    assert steps["isolate-high-voltage"]["only_if"] is None
    assert "arrival-checks" not in steps
    assert answer["vehicle"] == "AB 12, petrol, hybrid, no stop-start, belt broken or jumped"


def test_later_entries_add_to_what_earlier_ones_say() -> None:
    facts = vehicle_of(read_job(JOB, "job.toml"))
    assert facts == VehicleFacts(True, False, "petrol", True, "AB 12")


def test_a_bad_job_file_is_refused(tmp_path: Path) -> None:
    (tmp_path / "job.toml").write_text("format = 1\n[[entry]]\nkind = 'nonsense'\n", encoding="utf-8")
    with pytest.raises(FileFaults):
        CliRunner().invoke(
            app, ["plan", str(FOLDER / "alder-one-cam.toml"), "--job", str(tmp_path)], catch_exceptions=False
        )


@pytest.mark.parametrize("words", [["none-such.toml"], [str(FOLDER / "alder-one-cam.toml"), "--job", "none-such"]])
def test_a_missing_file_is_one_sentence_and_status_2(words: list[str]) -> None:
    done = subprocess.run(
        [sys.executable, "-c", "from twoturn.cli.main import run; run()", "plan", *words],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 2
    assert "none-such" in done.stderr
    assert "Traceback" not in done.stderr


def test_a_pdf_that_cannot_be_written_is_one_sentence_and_status_2(tmp_path: Path) -> None:
    words = ["plan", str(FOLDER / "alder-one-cam.toml"), "-o", str(tmp_path / "no" / "plan.pdf")]
    done = subprocess.run(
        [sys.executable, "-c", "from twoturn.cli.main import run; run()", *words],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 2
    assert done.stderr.count("\n") == 1
    assert "cannot be written" in done.stderr
