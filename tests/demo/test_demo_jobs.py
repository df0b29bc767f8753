"""The five invented jobs end as they are meant to, for the reason they are meant to, and their sheets say so."""

from __future__ import annotations

import io
import socket
from pathlib import Path

import pytest
from pypdf import PdfReader
from typer.testing import CliRunner

from twoturn.acts.demo import show_jobs
from twoturn.acts.prove import Proof, prove
from twoturn.cli.main import app
from twoturn.demo.jobs_shipped import JOBS, write_job
from twoturn.quantity.conformity import Verdict


@pytest.fixture(scope="module")
def proofs(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Proof]:
    folder = tmp_path_factory.mktemp("jobs")
    return {shown.job.id: shown.proof for shown in show_jobs(folder)}


@pytest.mark.parametrize("job", JOBS, ids=lambda job: job.id)
def test_every_invented_job_ends_with_its_verdict(job, proofs) -> None:
    assert proofs[job.id].assessment.verdict.value == job.verdict


def test_the_proven_job_rests_on_note_and_recording(proofs) -> None:
    found = proofs["alder-proven"].assessment
    readings = {check.id: check for check in found.checks}
    assert readings["note-of-the-slack-span"].verdict is Verdict.PROVEN
    assert readings["phase-camshaft"].verdict is Verdict.PROVEN
    assert abs(readings["note-of-the-slack-span"].value.value - 144.3) < 0.5
    assert abs(readings["phase-camshaft"].value.value - 0.4) < 0.2


def test_marks_and_recording_both_find_the_tooth(proofs) -> None:
    found = proofs["cedar-one-tooth-late"].assessment
    assert {"timing-camshaft", "phase-camshaft"} <= set(found.not_met)


def test_the_early_note_does_not_count_and_the_reason_names_the_turns(proofs) -> None:
    found = proofs["alder-note-too-early"].assessment
    check = found.check("note-of-the-slack-span")
    assert check.verdict is Verdict.NOT_SHOWN
    assert "turn" in check.why.lower()


def test_the_job_that_lacks_things_says_which(proofs) -> None:
    found = proofs["fir-not-all-shown"].assessment
    assert {"arrow", "torque-ram-bolts", "ram-stands-out"} <= set(found.not_shown)


def test_the_sheet_keeps_its_text_and_prints_the_record_number(proofs) -> None:
    for proof in proofs.values():
        text = "".join(page.extract_text() for page in PdfReader(io.BytesIO(proof.proof_sheet.read_bytes())).pages)
        flat = " ".join(text.split())
        assert proof.checkpoint.short in flat
        assert proof.job.drive.name in flat
        for check in proof.assessment.required:
            assert " ".join(check.title.split()) in flat
        assert "vehicle maker's procedure and values come first" in flat.replace("’", "'")


def test_the_same_seed_writes_the_same_files(tmp_path: Path) -> None:
    for name in ("one", "two"):
        write_job(JOBS[0], tmp_path / name)
    for file in (tmp_path / "one").iterdir():
        assert file.read_bytes() == (tmp_path / "two" / file.name).read_bytes()


def test_a_recording_that_is_already_read_is_not_read_again(tmp_path: Path) -> None:
    write_job(JOBS[0], tmp_path / "job")
    text = (tmp_path / "job" / "job.toml").read_text()
    reading = 'file = "after-turns.wav"\nreading = { frequency_hz = 120.0, u_hz = 0.2 }'
    (tmp_path / "job" / "job.toml").write_text(text.replace('file = "after-turns.wav"', reading))
    assert "note-of-the-slack-span" in prove(tmp_path / "job").assessment.not_met


def test_the_command_prints_the_main_job_and_names_its_sheet(tmp_path: Path) -> None:
    answer = CliRunner().invoke(app, ["demo", "--into", str(tmp_path / "demo")])
    assert answer.exit_code == 0
    assert "Alder 8, one camshaft (invented): proven" in answer.output
    assert "proof-sheet.pdf" in answer.output
    assert (tmp_path / "demo" / "alder-proven" / "plan.pdf").read_bytes().startswith(b"%PDF")


def test_a_recording_that_cannot_be_drawn_is_said_on_the_sheet(tmp_path: Path) -> None:
    write_job(JOBS[0], tmp_path / "job")
    (tmp_path / "job" / "after-turns.wav").write_text("this is a text")
    proof = prove(tmp_path / "job", tmp_path / "sheet.pdf")
    text = "".join(page.extract_text() for page in PdfReader(tmp_path / "sheet.pdf").pages)
    assert proof.assessment.verdict is not Verdict.NOT_MET
    assert "after-turns.wav is not drawn" in " ".join(text.split())


def test_a_port_that_is_in_use_is_told_before_the_jobs_are_worked_through(tmp_path: Path) -> None:
    with socket.create_server(("127.0.0.1", 0)) as held:
        port = held.getsockname()[1]
        answer = CliRunner().invoke(app, ["demo", "--into", str(tmp_path / "demo"), "--serve", "--port", str(port)])
    assert answer.exit_code != 0
    other = f".venv/bin/twoturn demo --serve --port {port + 1}"
    said = f"port {port} is in use: stop what uses it, or run `{other}`"
    assert said in " ".join((answer.output + str(answer.exception)).split())
    assert not (tmp_path / "demo").exists()
