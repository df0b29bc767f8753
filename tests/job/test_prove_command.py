"""``twoturn open`` and ``twoturn prove``: what they print, write and end with."""

from __future__ import annotations

import json
import random
import re
import tomllib
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest
from tests.job.paper_jobs import ENGINES, Care, engine, filled
from typer.testing import CliRunner

from twoturn.acts.drive_files import shipped_drives
from twoturn.acts.job_folder import load_job
from twoturn.acts.open_job import open_job
from twoturn.acts.prove import prove
from twoturn.cli.main import app
from twoturn.errors import DomainError, FileFaults
from twoturn.job.chain import checkpoint
from twoturn.job.template import BLANK, template_entries

RUN = CliRunner()
EXAMPLES = re.findall(
    r"```toml\n(.*?)```",
    (Path(__file__).resolve().parents[2] / "docs" / "job-file.md").read_text(encoding="utf-8"),
    re.DOTALL,
)
STATUS = {"proven": 0, "not shown": 3, "not met": 4}


def job(folder: Path, text: str) -> Path:
    (folder / "job.toml").write_text(text, encoding="utf-8")
    return folder


@pytest.mark.parametrize("text", EXAMPLES)
def test_json_has_its_keys_and_the_exit_status_tells_the_verdict(text: str, tmp_path: Path) -> None:
    result = RUN.invoke(app, ["prove", str(job(tmp_path, text)), "--json"])
    answer = json.loads(result.stdout)
    assert result.exit_code == STATUS[answer["verdict"]]
    wanted = {"verdict", "checks", "not_shown", "value_only", "overrides", "checkpoint", "proof_sheet"}
    assert wanted <= set(answer)
    keys = {"id", "title", "stage", "required", "verdict", "reading", "requirement", "why", "next"}
    assert all(keys <= set(check) for check in answer["checks"])
    ids = [check["id"] for check in answer["checks"]]
    assert len(set(ids)) == len(ids)
    assert all(re.fullmatch(r"[a-z0-9][a-z0-9.@-]*", one) for one in ids)
    assert answer["not_shown"] == [check["id"] for check in answer["checks"] if check["verdict"] == "not shown"]
    required = [check["verdict"] for check in answer["checks"] if check["required"]]
    worst = "not met" if "not met" in required else "not shown" if "not shown" in required else "proven"
    assert answer["verdict"] == worst
    assert answer["proof_sheet"] is None
    assert answer["checkpoint"]["entries"] == text.count("[[entry]]")
    assert answer["checkpoint"]["last_hash"] == checkpoint(tomllib.loads(text)["entry"]).last_hash


@pytest.mark.parametrize("text", EXAMPLES)
def test_text_fits_eighty_columns_and_names_the_worst_first(text: str, tmp_path: Path) -> None:
    result = RUN.invoke(app, ["prove", str(job(tmp_path, text))])
    lines = result.stdout.splitlines()
    assert max(map(len, lines)) <= 80
    heads = [line.split(" (")[0] for line in lines if re.match(r"(Not met|Not shown yet|Proven) \(", line)]
    assert heads == [head for head in ("Not met", "Not shown yet", "Proven") if head in heads]
    assert "The vehicle maker's procedure and values come first" in result.stdout
    assert "Record number: " in result.stdout


def test_proving_changes_nothing_in_the_folder(tmp_path: Path) -> None:
    folder = job(tmp_path, EXAMPLES[0])
    before = (folder / "job.toml").read_bytes()
    RUN.invoke(app, ["prove", str(folder)])
    assert [path.name for path in folder.iterdir()] == ["job.toml"]
    assert (folder / "job.toml").read_bytes() == before


def test_a_job_can_be_named_by_its_file(tmp_path: Path) -> None:
    folder = job(tmp_path, EXAMPLES[0])
    assert RUN.invoke(app, ["prove", str(folder / "job.toml")]).exit_code == 0


@pytest.mark.parametrize("name", ENGINES)
def test_a_new_job_is_valid_empty_and_never_written_over(name: str, tmp_path: Path) -> None:
    folder = tmp_path / "job"
    assert RUN.invoke(app, ["open", str(folder), "--drive", name]).exit_code == 0
    text = (folder / "job.toml").read_text(encoding="utf-8")
    assert load_job(folder).file.entries == ()
    result = RUN.invoke(app, ["prove", str(folder), "--json"])
    assert result.exit_code == 3
    answer = json.loads(result.stdout)
    assert set(answer["not_shown"]) == {check["id"] for check in answer["checks"]}
    again = RUN.invoke(app, ["open", str(folder), "--drive", name])
    assert isinstance(again.exception, DomainError)
    assert "already" in str(again.exception)
    assert (folder / "job.toml").read_text(encoding="utf-8") == text


@pytest.mark.parametrize("name", ENGINES)
def test_a_new_job_filled_in_by_hand_is_proven(name: str, tmp_path: Path) -> None:
    """The # taken away, every … written over: what a careful man reads stands in its place."""
    open_job(tmp_path / "job", name, datetime(2026, 3, 2, 8, 10))
    path = tmp_path / "job" / "job.toml"
    text = path.read_text(encoding="utf-8")
    uncommented = re.sub(r"^# |^#(?=#)", "", text, flags=re.MULTILINE)  # as an editor does, one # from every line
    blocks = re.split(r"^\[\[entry\]\]", uncommented, flags=re.MULTILINE)
    rng, drive, lines = random.Random(name), engine(name), template_entries(engine(name), "x")
    assert len(blocks) == len(lines) + 1
    out = [blocks[0]]
    for block, line in zip(blocks[1:], lines, strict=True):
        keys = dict(line.keys)
        row = filled(keys, drive, rng, Care(overshoots=0))
        out.append("" if row is None else "[[entry]]" + written_over(block, row))
    path.write_text("".join(out), encoding="utf-8")
    proof = prove(path)
    assert proof.assessment.verdict.value == "proven", [
        (check.id, check.why) for check in proof.assessment.required if check.verdict.value != "proven"
    ]


def written_over(block: str, row: dict[str, Any]) -> str:
    """A block of the new job file with every … replaced, and what a man adds beside it."""
    seen = set()
    lines = []
    for line in block.split("\n"):
        key = line.split(" = ")[0]
        if " = " in line and not line.startswith("#"):
            seen.add(key)
            if line.endswith(BLANK):
                line = f"{key} = {json.dumps(row[key], ensure_ascii=False)}"  # noqa: PLW2901
        lines.append(line)
    more = [f"{key} = {json.dumps(value)}" for key, value in row.items() if key not in seen and key != "entered"]
    return "\n".join([lines[0], *more, *lines[1:]])


def test_a_drive_file_is_named_as_seen_from_the_job(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "engines").mkdir()
    (tmp_path / "engines" / "mine.toml").write_text(shipped_drives()["alder-one-cam"], encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    open_job("jobs/one", "engines/mine.toml")
    assert 'drive = "../../engines/mine.toml"' in (tmp_path / "jobs" / "one" / "job.toml").read_text(encoding="utf-8")
    monkeypatch.chdir("/")
    assert load_job(tmp_path / "jobs" / "one").drive.name.startswith("Alder")


def test_an_unknown_drive_is_refused_before_anything_is_written(tmp_path: Path) -> None:
    result = RUN.invoke(app, ["open", str(tmp_path / "job"), "--drive", "adler-one-cam"])
    assert isinstance(result.exception, FileFaults)
    assert "alder-one-cam" in str(result.exception)
    assert not (tmp_path / "job").exists()


def test_faults_of_the_drive_file_are_told_with_its_own_lines(tmp_path: Path) -> None:
    broken = shipped_drives()["alder-one-cam"].replace('role = "tensioner"', 'role = "tensoiner"')
    (tmp_path / "mine.toml").write_text(broken, encoding="utf-8")
    job(tmp_path, EXAMPLES[2].replace('"alder-one-cam"', '"mine.toml"'))
    with pytest.raises(FileFaults) as caught:
        load_job(tmp_path)
    assert caught.value.faults[0].file.endswith("mine.toml")
    assert caught.value.faults[0].line == broken[: broken.index("tensoiner")].count("\n") + 1


def test_a_new_job_file_asks_a_pin_to_hold_only_where_the_drive_says_so() -> None:
    import re

    from twoturn.acts.drive_files import shipped_drives
    from twoturn.drive.load import read_drive
    from twoturn.job.template import job_template, template_entries

    for name, source in shipped_drives().items():
        drive = read_drive(source, name)
        purposes = {pin.id or pin.shaft: pin.purpose for pin in drive.file.pin}
        rows = [line.keys for line in template_entries(drive, "2026-03-02T08:00:00")]
        held = [row["pin"] for row in rows if row["kind"] == "pin in" and row["use"] == "hold"]
        assert all(purposes[pin] == "hold" for pin in held), name
        assert bool(held) == ("hold" in purposes.values()) == any(row["kind"] == "pin out" for row in rows), name
        remarks = [row for row in job_template(drive, name, "x").split("\n") if re.match("## ", row)]
        assert max(map(len, remarks)) <= 105, name
