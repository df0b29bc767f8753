"""What ``twoturn capture`` and ``prove`` say of recordings as workshops have them: before and after, bare edge times.

The recordings are simulated with known shifts; what must come out is what was put in.
"""

from __future__ import annotations

import json
import re
import shutil
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from tests.docs.examples import twoturn

from twoturn.acts.drive_files import shipped_drives
from twoturn.simulate.engine import Cranking, SensorEngine, capture_text

FALL_DEG = 186.0  # 72 + 114: the drive's cam edge after firing TDC, and the way from the gap to that
ENGINE = SensorEngine({"camshaft": (("rising", 369.0), ("falling", FALL_DEG))})


@pytest.fixture(scope="module")
def files(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Drive, recordings before and after, and their falling edges as bare times."""
    folder = tmp_path_factory.mktemp("files")
    (folder / "alder.toml").write_text(shipped_drives()["alder-one-cam"], encoding="utf-8")
    for name, late, seed in (("before", 18.0, 31), ("after", 1.2, 32), ("six", 6.0, 33)):
        made = Cranking(late_deg={"camshaft": late}, turns=16)
        text = capture_text(ENGINE, made, np.random.default_rng(seed))
        (folder / f"{name}.csv").write_text(text, encoding="utf-8")
    for heading in ("crank;cam", "crank falling;cam falling"):
        name = "bare.csv" if heading == "crank;cam" else "headed.csv"
        (folder / name).write_text(bare(folder / "after.csv", heading), encoding="utf-8")
    return folder


def bare(path: Path, heading: str) -> str:
    """The falling edges of a recording of levels as a list of bare times, a column a channel."""
    rows = [line.split(",") for line in path.read_text(encoding="utf-8").splitlines() if re.match(r"[\d.]+,", line)]
    table = np.array([[float(cell) for cell in row] for row in rows])
    columns = [table[1:, 0][np.diff(table[:, channel]) < 0] for channel in (1, 2)]
    lines = [heading]
    for number in range(len(columns[0])):
        cells = [f"{column[number]:.7f}" if number < len(column) else "" for column in columns]
        lines.append(";".join(cells))
    return "\n".join(lines) + "\n"


def said(*words: str | Path) -> str:
    return twoturn(["capture", *map(str, words)])[1]


def asked(*words: str | Path) -> dict[str, Any]:
    return json.loads(twoturn(["capture", *map(str, words), "--json"])[1])  # type: ignore[no-any-return]


def test_the_maker_and_the_recording_before_are_both_told(files: Path) -> None:
    words = (files / "after.csv", "--against", files / "before.csv", "--drive", files / "alder.toml")
    answer, text = asked(*words), said(*words)
    assert answer["authority"] == "maker"
    assert answer["shift"]["deg"] == pytest.approx(1.2, abs=0.1)
    assert answer["against"]["file"] == "before.csv"
    assert answer["against"]["shifts"][0]["deg"] == pytest.approx(-16.8, abs=0.5)
    assert answer["against"]["shifts"][0]["teeth"] == -1
    assert "late ± " in text
    assert re.search(r"16\.\d° earlier than in before\.csv ± \S+ \(19 of 20 times\); 1 belt tooth earlier", text)


def test_a_change_is_not_told_as_right_or_wrong(files: Path) -> None:
    text = said(files / "after.csv", "--against", files / "before.csv", "--deg-per-tooth", "18")
    assert "1 belt tooth earlier" in text
    assert "tooth early" not in text
    assert "not right or wrong" in text


def test_more_than_the_maker_allows_is_said_with_where_the_verdict_is_given(files: Path) -> None:
    text = said(files / "six.csv", "--drive", files / "alder.toml")
    assert "more than the maker allows" in text
    assert "twoturn prove gives the verdict" in text
    assert "more than the maker" not in said(files / "after.csv", "--drive", files / "alder.toml")


@pytest.mark.parametrize("words", [("bare.csv", "--edge", "falling"), ("headed.csv",)])
def test_bare_edge_times_whose_edge_is_told_are_judged(files: Path, words: tuple[str, ...]) -> None:
    answer = asked(files / words[0], *words[1:], "--drive", files / "alder.toml")
    assert answer["authority"] == "maker"
    assert answer["shift"]["deg"] == pytest.approx(1.2, abs=0.1)
    assert {row["cylinder"] for row in answer["cylinders"]} == {1, 2, 3, 4}


def test_bare_edge_times_whose_edge_nobody_told_are_not_judged(files: Path) -> None:
    text = said(files / "bare.csv", "--drive", files / "alder.toml")
    assert "not saying whether they rise or fall" in text
    assert "--edge falling" in text
    assert "leads are not swapped" not in text
    assert "give the drive file" not in text
    assert "as recorded" not in text
    for pair in (("bare.csv", "before.csv"), ("before.csv", "bare.csv")):
        answer = asked(files / pair[0], "--against", files / pair[1])
        assert answer["shift"] is None
        assert "not saying whether they rise or fall" in " ".join(answer["why"])


def test_bare_edge_times_are_compared_with_levels_by_the_edge_they_share(files: Path) -> None:
    answer = asked(files / "bare.csv", "--against", files / "before.csv", "--edge", "falling")
    assert answer["shift"]["deg"] == pytest.approx(-16.8, abs=0.5)


def test_bare_edges_of_the_other_kind_are_not_taken_for_the_makers(files: Path) -> None:
    text = said(files / "bare.csv", "--drive", files / "alder.toml", "--edge", "rising")
    assert "on its tooth" not in text
    assert "holds rising ones only" in text


def test_a_heading_wins_over_the_edge_told_and_nothing_is_said_of_the_one_that_was_not_read(files: Path) -> None:
    text = said(files / "headed.csv", "--drive", files / "alder.toml", "--edge", "rising")
    assert "1.2" in text.splitlines()[1]
    assert "as --edge says" not in text


def test_a_pick_up_is_no_rising_edge(files: Path) -> None:
    path = files / "pick-up.csv"
    path.write_text(bare(files / "after.csv", "crank pick-up;cam pick-up"), encoding="utf-8")
    assert "not saying whether they rise or fall" in said(path, "--drive", files / "alder.toml")


def test_a_recording_upside_down_is_held_against_the_maker_as_it_was_turned_over(files: Path) -> None:
    """Leads swapped after the reference was made: every level of the same engine is the other one."""
    turned = re.sub(
        r"(?m)^([\d.]+),([01]),([01])$",
        lambda row: f"{row[1]},{1 - int(row[2])},{1 - int(row[3])}",
        (files / "after.csv").read_text(encoding="utf-8"),
    )
    (files / "turned.csv").write_text(turned, encoding="utf-8")
    words = (files / "turned.csv", "--against", files / "after.csv", "--drive", files / "alder.toml")
    answer = asked(*words)
    assert answer["authority"] == "maker"
    assert answer["shift"]["deg"] == pytest.approx(1.2, abs=0.1)
    assert answer["shift"]["teeth"] == 0
    assert "stands upside down" in said(*words)


@pytest.mark.parametrize(("edge", "verdict"), [('edge = "falling"\n', "+"), ("", "?"), ('edge = "rising"\n', "?")])
def test_an_entry_tells_the_edge_of_bare_times(files: Path, tmp_path: Path, edge: str, verdict: str) -> None:
    shutil.copy(files / "bare.csv", tmp_path / "bare.csv")
    job = """format = 1
drive = "alder-one-cam"
[[entry]]
kind = "vehicle"
by = "A. First (invented)"
entered = 2026-05-04T16:30:00
registration = "XX 1234"
[[entry]]
kind = "belt fitted"
teeth = 109
[[entry]]
kind = "turned"
turns = 2
[[entry]]
kind = "capture"
file = "bare.csv"
"""
    (tmp_path / "job.toml").write_text(job + edge, encoding="utf-8")
    lines = twoturn(["prove", str(tmp_path)])[1].splitlines()
    mine = next(number for number, line in enumerate(lines) if "by sensor recording" in line)
    assert lines[mine].strip().startswith(verdict)
    if not edge:
        assert 'edge = "falling"' in " ".join(line.strip() for line in lines[mine : mine + 6])


@pytest.mark.parametrize("degrees", ["200", "-60"])
@pytest.mark.parametrize("command", ["capture", "drive", "pluck"])
def test_no_engine_block_is_that_cold_or_warm(files: Path, command: str, degrees: str) -> None:
    """Coolant boils near 130 °C under the cap, the air of a hard winter has −40 °C (common practice, no source)."""
    words = {
        "capture": ["capture", str(files / "after.csv")],
        "drive": ["drive", str(files / "alder.toml")],
        "pluck": ["pluck", "none.wav", "--drive", str(files / "alder.toml"), "--span", "roller:camshaft"],
    }[command]
    status, text = twoturn([*words, f"--temperature-c={degrees}"])
    assert status == 2
    assert "−40 to 130 °C" in text


def test_a_recording_that_is_too_short_is_told_in_one_sentence(files: Path) -> None:
    rows = (files / "after.csv").read_text(encoding="utf-8").splitlines()
    short = files / "short.csv"
    short.write_text("\n".join(rows[: len(rows) // 8]) + "\n", encoding="utf-8")
    lines = said(short, "--drive", files / "alder.toml").splitlines()
    assert "record ten turns or more" in lines[1]
    assert not any(line.startswith(("No crank wheel", "No cam edges")) for line in lines)


def test_a_word_that_is_no_edge_is_refused_in_plain_words(files: Path) -> None:
    status, text = twoturn(["capture", str(files / "after.csv"), "--edge", "both"])
    assert status == 2
    assert text == "“both” is not an edge to read; allowed: rising or falling, one of them.\n"
