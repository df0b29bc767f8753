"""``twoturn capture`` as a person runs it."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from twoturn.cli.main import run
from twoturn.simulate.engine import Cranking, SensorEngine, capture_text

ENGINE = SensorEngine({"camshaft": (("rising", 60.0), ("falling", 200.0))})


@pytest.fixture
def capture(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Any:
    """Run ``twoturn capture`` with words; gives exit status, stdout and stderr."""

    def go(*words: str) -> tuple[int, str, str]:
        monkeypatch.setattr(sys, "argv", ["twoturn", "capture", *words])
        with pytest.raises(SystemExit) as ended:
            run()
        code = ended.value.code
        captured = capsys.readouterr()
        return (code if isinstance(code, int) else 0), captured.out, captured.err

    return go


def made(tmp_path: Path, name: str, late: float, seed: int) -> str:
    path = tmp_path / name
    cranking = Cranking(late_deg={"camshaft": late}, turns=16)
    path.write_text(capture_text(ENGINE, cranking, np.random.default_rng(seed)), encoding="utf-8")
    return str(path)


def test_json_against_a_reference(capture: Any, tmp_path: Path) -> None:
    new, old = made(tmp_path, "new.csv", 18.4, 1), made(tmp_path, "old.csv", 0.0, 2)
    status, out, err = capture(new, "--against", old, "--deg-per-tooth", "18,0", "--json")
    answer = json.loads(out)
    assert (status, err) == (0, "")
    assert answer["crank"]["wheel"] == "60-2"
    assert answer["shift"]["teeth"] == 1
    assert answer["shift"]["deg"] == pytest.approx(18.4, abs=0.1)


def test_text_is_short_sentences(capture: Any, tmp_path: Path) -> None:
    status, out, _ = capture(made(tmp_path, "new.csv", 0.0, 1), "--crank", "crankshaft", "--cam", "camshaft")
    assert status == 0
    assert "wheel 60-2, falling edges" in out
    assert "(19 of 20 times)" in out
    assert "maker's procedure" in out


def test_the_caution_is_first_then_the_result_and_the_zero_last(capture: Any, tmp_path: Path) -> None:
    new, old = made(tmp_path, "new.csv", 18.4, 1), made(tmp_path, "old.csv", 0.0, 2)
    lines = capture(new, "--against", old)[1].splitlines()
    assert lines[0].startswith("Caution: Keep hands")
    assert lines[1].startswith("camshaft: 18.")
    assert lines[-1].startswith("0 is the first edge")
    assert capture(new)[1].splitlines()[1].startswith("There is nothing to compare with")


def test_unreadable_is_exit_2(capture: Any, tmp_path: Path) -> None:
    path = tmp_path / "x.csv"
    path.write_text("no numbers here\n", encoding="utf-8")
    status, out, err = capture(str(path), "--json")
    assert status == 2
    assert "text without rows of numbers" in json.loads(out)["error"]
    assert err.count("\n") == 1
    assert capture(str(tmp_path / "none.csv"))[0] == 2
    assert capture(made(tmp_path, "a.csv", 0.0, 1), "--crank", "nothing")[0] == 2


def test_the_same_seed_gives_the_same_recording() -> None:
    texts = [capture_text(ENGINE, Cranking(turns=4), np.random.default_rng(3)) for _ in range(2)]
    assert texts[0] == texts[1]
    assert "simulated" in texts[0].splitlines()[0]
