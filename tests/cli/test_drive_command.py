"""The command ``twoturn drive``: JSON with the promised keys, text a technician reads, one sentence for bad input."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

import twoturn

DRIVES = sorted((Path(twoturn.__file__).parent / "demo" / "drives").glob("*.toml"))
TOP = {"name", "source", "temperature_c", "marks_return_turns", "shafts", "belts"}
SHAFT = {"id", "role", "ratio", "phased", "deg_per_tooth"}
BELT = {
    "id",
    "teeth",
    "pitch_mm",
    "length_mm",
    "path_length_mm",
    "closure",
    "pulleys",
    "spans",
    "tensioner",
    "tooth_counts",
    "realign_crank_turns",
    "fits",
    "thread_order",
    "why",
}
TENSIONER = {
    "kind",
    "pointer_deg",
    "adjuster_deg",
    "centre_mm",
    "tension_n",
    "on_stop",
    "short_mm",
    "short_pitches",
    "low_n",
    "high_n",
    "window",
    "settled",
    "n_per_deg",
    "deg_per_mm_belt",
    "n_per_k",
    "deg_per_k",
}


def twoturn_drive(*words: str) -> subprocess.CompletedProcess[str]:
    code = "from twoturn.cli.main import run; run()"
    return subprocess.run(
        [sys.executable, "-c", code, "drive", *words], capture_output=True, text=True, check=False, encoding="utf-8"
    )


@pytest.mark.parametrize("file", DRIVES, ids=lambda path: path.stem)
def test_json_has_the_promised_keys(file: Path) -> None:
    done = twoturn_drive(str(file), "--json")
    assert (done.returncode, done.stderr) == (0, "")
    answer = json.loads(done.stdout)
    assert answer.keys() >= TOP
    assert all(shaft.keys() >= SHAFT for shaft in answer["shafts"])
    for belt in answer["belts"]:
        assert belt.keys() >= BELT
        assert all(pulley.keys() >= {"id", "wrap_deg", "teeth_in_mesh", "speed_ratio"} for pulley in belt["pulleys"])
        assert all(span.keys() == {"from", "to", "length_mm"} for span in belt["spans"])
        assert all(row.keys() >= {"from", "to", "teeth", "near_integer"} for row in belt["tooth_counts"])
        assert all(row.keys() >= {"teeth", "pointer_deg", "in_window", "probability"} for row in belt["fits"])
        assert belt["tensioner"].keys() >= TENSIONER
        assert len(belt["spans"]) == len(belt["pulleys"])
        if belt["path_length_mm"] is not None:
            signed = sum(span["length_mm"] for span in belt["spans"])
            assert 0 < signed < belt["path_length_mm"]
            if belt["tooth_counts"]:
                assert sum(row["teeth"] for row in belt["tooth_counts"]) == pytest.approx(belt["teeth"])


@pytest.mark.parametrize("file", DRIVES, ids=lambda path: path.stem)
def test_text_speaks_the_trade(file: Path) -> None:
    done = twoturn_drive(str(file), "--temperature-c", "22,5")
    assert done.returncode == 0
    assert "At 22.5 °C" in done.stdout
    assert "Caution:" in done.stdout
    assert not any(word in done.stdout for word in ("adjuster_deg", "None", "nan", "pose", "_mm"))
    assert all(len(line) <= 200 for line in done.stdout.splitlines())


def test_decimal_comma_and_point_are_the_same() -> None:
    answers = [twoturn_drive(str(DRIVES[0]), "--temperature-c", text, "--json").stdout for text in ("22,5", "22.5")]
    assert answers[0] == answers[1]
    assert json.loads(answers[0])["temperature_c"] == 22.5


@pytest.mark.parametrize("temperature", ["900", "-200", "warm", "20 Hz"])
def test_a_temperature_no_engine_has(temperature: str) -> None:
    done = twoturn_drive(str(DRIVES[0]), "--temperature-c", temperature)
    assert done.returncode == 2
    assert done.stdout == ""
    assert "Traceback" not in done.stderr
    assert len(done.stderr.strip().splitlines()) == 1


def test_a_missing_file() -> None:
    done = twoturn_drive("nowhere.toml", "--json")
    assert done.returncode == 2
    assert "nowhere.toml" in json.loads(done.stdout)["error"]


def test_pulleys_that_overlap_at_rest(tmp_path: Path) -> None:
    text = DRIVES[0].read_text(encoding="utf-8").replace("at_mm = [82.0, 128.0]", "at_mm = [-20.0, 180.0]")
    file = tmp_path / "bad.toml"
    file.write_text(text, encoding="utf-8")
    done = twoturn_drive(str(file), "--json")
    assert done.returncode == 2
    faults = json.loads(done.stdout)["errors"]
    assert faults
    assert all(fault["line"] for fault in faults)
