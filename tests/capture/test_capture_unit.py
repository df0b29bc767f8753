"""Times without a unit: the unit that gives an engine's speed is taken and told; sample numbers give no speed.

Speeds of engines (by hand, by starter, running): common practice, no source.
"""

from __future__ import annotations

import importlib
import sys
from pathlib import Path

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parent))
engines = importlib.import_module("engines")

from twoturn.acts.capture import CaptureAnswer, capture_json, read_sensors  # noqa: E402
from twoturn.capture.signal.unit import likely_unit  # noqa: E402


def read(tmp_path: Path, scale: float, head: str, digits: int, rpm: float = 220.0) -> CaptureAnswer:
    _, rows = engines.change_list(engines.Bench(rpm=rpm, turns=12.0))
    lines = [f"{row[0] * scale + (0.25 if digits else 0):.{digits}f},{row[1]:g},{row[2]:g}" for row in rows]
    path = tmp_path / "x.csv"
    path.write_text("\n".join(([head] if head else []) + lines) + "\n", encoding="utf-8")
    return read_sensors(path)


def angles(answer: CaptureAnswer) -> list[float]:
    return [edge.angle_deg for edge in answer.decoded.cams[0].edges]


@pytest.mark.parametrize("head", ["time,crank,cam", "t,crank,cam", ""])
@pytest.mark.parametrize("rpm", [60.0, 220.0, 3000.0])
@pytest.mark.parametrize(("scale", "word"), [(1.0, ""), (1e3, "milliseconds"), (1e6, "microseconds")])
def test_the_unit_that_fits_an_engine_is_taken(tmp_path: Path, head: str, rpm: float, scale: float, word: str) -> None:
    answer = read(tmp_path, scale, head, 8 if scale == 1 else 3, rpm)
    assert answer.decoded.rpm is not None
    assert answer.decoded.rpm[1] == pytest.approx(rpm, rel=0.05)
    said = [note for note in capture_json(answer)["notes"] if note.startswith("times taken as")]
    assert len(said) == bool(word)
    assert all(word in note for note in said)


@pytest.mark.parametrize("head", ["", "sample,crank,cam"])
def test_sample_numbers_give_angles_and_no_speed(tmp_path: Path, head: str) -> None:
    right = angles(read(tmp_path, 1.0, "time (s),crank,cam", 8))
    answer = read(tmp_path, 1e5, head, 0)
    assert capture_json(answer)["rpm"] is None
    assert np.allclose(angles(answer), right, atol=0.05)
    assert any("time is unknown" in note for note in answer.decoded.notes)


def test_rows_counted_one_by_one_are_no_times(tmp_path: Path) -> None:
    names, rows = engines.sampled_levels(engines.Bench(rate_hz=1e4, turns=8.0))
    path = tmp_path / "x.csv"
    lines = [f"{number},{row[1]:.2f},{row[2]:.2f}" for number, row in enumerate(rows)]
    path.write_text("\n".join(["time," + ",".join(names), *lines]) + "\n", encoding="utf-8")
    assert read_sensors(path).decoded.rpm is None


def test_a_stated_unit_is_kept_and_doubted(tmp_path: Path) -> None:
    answer = read(tmp_path, 1e3, "time (s),crank,cam", 3)
    assert answer.decoded.rpm is not None
    assert answer.decoded.rpm[1] == pytest.approx(0.22, rel=0.05)
    assert any("check that unit" in note for note in answer.decoded.notes)


def test_no_unit_fits() -> None:
    assert likely_unit(30_000.0) is None
    assert likely_unit(0.22) == ("milliseconds", 1e-3)
