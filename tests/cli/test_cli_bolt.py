"""``twoturn bolt`` as a person runs it."""

from __future__ import annotations

import json
import sys
from typing import Any

import pytest

from twoturn.acts.bolt import BoltQuestion, advise
from twoturn.cli.main import run

USUAL = ("M8", "--grade", "8.8", "--torque-nm", "25")


@pytest.fixture
def bolt(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Any:
    """Run ``twoturn bolt`` with words; gives exit status, stdout and stderr."""

    def go(*words: str) -> tuple[int, str, str]:
        monkeypatch.setattr(sys, "argv", ["twoturn", "bolt", *words])
        with pytest.raises(SystemExit) as ended:
            run()
        code = ended.value.code
        captured = capsys.readouterr()
        return (code if isinstance(code, int) else 0), captured.out, captured.err

    return go


def test_json_has_the_keys_and_only_json(bolt: Any) -> None:
    status, out, err = bolt(*USUAL, "--json")
    answer = json.loads(out)
    assert (status, err) == (0, "")
    for key in ("preload_n", "utilisation", "torque_90_nm"):
        assert answer[key]["low"] < answer[key]["value"] < answer[key]["high"]
    assert answer["thread"]["designation"] == "M8"
    assert answer["stress_area_mm2"] == pytest.approx(36.6, abs=0.05)  # ISO 898-1
    assert answer["torque_90_nm"]["value"] == pytest.approx(24.6, rel=0.0125)  # VDI 2230 table A1, from memory
    assert answer["utilisation"]["value"] == pytest.approx(0.9 * 25 / answer["torque_90_nm"]["value"])
    assert answer["setting_nm"] is None
    assert "verdict" not in answer


def test_comma_and_point_are_the_same(bolt: Any) -> None:
    point = bolt("M10x1.25", "--grade", "10.9", "--torque-nm", "25.5", "--json")
    comma = bolt("M10×1,25", "--grade", "10,9", "--torque-nm", "25,5", "--json")
    assert point == comma
    assert json.loads(point[1])["torque_nm"] == 25.5


def test_another_unit_is_converted_and_said(bolt: Any) -> None:
    _, out, _ = bolt("M8", "--grade", "8.8", "--torque-nm", "18 lbf·ft")
    assert "18 lbf·ft = 24.4047 N·m" in out


def test_text_is_short_and_ends_with_a_caution(bolt: Any) -> None:
    status, out, _ = bolt(*USUAL)
    lines = out.splitlines()
    assert status == 0
    assert lines[0] == "M8, class 8.8, 25 N·m"
    assert len(lines) <= 12
    assert all(len(line) <= 120 for line in lines)
    assert lines[-1].startswith("Caution: The vehicle maker's torque")
    assert "reaches its yield point" in out  # at the low end of friction


def test_a_narrower_friction_band_narrows_the_answer(bolt: Any) -> None:
    wide = json.loads(bolt(*USUAL, "--json")[1])["preload_n"]
    narrow = json.loads(bolt(*USUAL, "--friction-low", "0,10", "--friction-high", "0.14", "--json")[1])["preload_n"]
    assert wide["low"] < narrow["low"] < narrow["value"] == wide["value"] < narrow["high"] < wide["high"]


def test_an_extension_gives_a_setting(bolt: Any) -> None:
    _, out, _ = bolt(*USUAL, "--extension-mm", "50", "--wrench-mm", "300", "--json")
    assert json.loads(out)["setting_nm"] == pytest.approx(25 * 300 / 350)
    _, out, _ = bolt(*USUAL, "--extension-mm", "2 in", "--wrench-mm", "300", "--extension-angle-deg", "90", "--json")
    assert json.loads(out)["setting_nm"] == pytest.approx(25)
    _, out, _ = bolt(*USUAL, "--extension-mm", "50", "--wrench-mm", "300")
    assert "Set the wrench  to 21.4 N·m" in out


def test_an_angle_with_and_without_grip(bolt: Any) -> None:
    hub = ("M12x1.25", "--grade", "10.9", "--torque-nm", "40", "--angle-deg", "90")
    told = json.loads(bolt(*hub, "--grip-mm", "30", "--json")[1])["stages"][1]
    untold = json.loads(bolt(*hub, "--json")[1])["stages"][1]
    assert told["stretched"] is True
    assert untold["preload_n"] is None
    assert "grip length" in untold["why"]
    assert "90° further     not known" in bolt(*hub)[1]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("M13", "--grade", "8.8", "--torque-nm", "25"), "M12 and M14"),
        (("M8x30", "--grade", "8.8", "--torque-nm", "25"), "bolt's length"),
        (("nut", "--grade", "8.8", "--torque-nm", "25"), "M8 or M10x1.25"),
        (("M8", "--grade", "8", "--torque-nm", "25"), "class of a nut"),
        (("M8", "--grade", "7.7", "--torque-nm", "25"), "nearest"),
        (("M8", "--grade", "8.8", "--torque-nm", "250"), "would break M8"),
        (("M8", "--grade", "8.8", "--torque-nm", "0"), "cannot be right"),
        (("M8", "--grade", "8.8", "--torque-nm", "-5"), "cannot be right"),
        (("M8", "--grade", "8.8", "--torque-nm", "1e99"), "cannot be right"),
        (("M8", "--grade", "8.8", "--torque-nm", "lots"), "not one number"),
        (("M8", "--grade", "8.8", "--torque-nm", "1,234"), "can mean 1.234 or 1234"),
        (("M8", "--grade", "8.8", "--torque-nm", "25 Hz"), "a torque is wanted"),
        ((*USUAL, "--friction-low", "0.5", "--friction-high", "0.1"), "friction from 0.5 to 0.1"),
        ((*USUAL, "--friction-high", "9"), "friction"),
        ((*USUAL, "--extension-mm", "50"), "--wrench-mm"),
        ((*USUAL, "--wrench-mm", "300"), "--extension-mm"),
        ((*USUAL, "--extension-mm", "-400", "--wrench-mm", "300"), "lever"),
        ((*USUAL, "--grip-mm", "30"), "--angle-deg"),
        ((*USUAL, "--seat-mm", "7"), "seat of 7 mm"),
    ],
)
def test_bad_input_is_one_sentence_and_status_2(bolt: Any, words: tuple[str, ...], said: str) -> None:
    status, out, err = bolt(*words)
    assert (status, out) == (2, "")
    assert said in err
    assert err.count("\n") == 1
    assert err.endswith(".\n")
    status, out, _ = bolt(*words, "--json")
    assert status == 2
    assert json.loads(out)["error"] == err.strip()


@pytest.mark.parametrize("words", [(), ("M8",), ("M8", "--grade", "8.8"), (*USUAL, "--colour", "red")])
def test_missing_or_unknown_options_are_status_2(bolt: Any, words: tuple[str, ...]) -> None:
    status, out, err = bolt(*words)
    assert (status, out) == (2, "")
    assert "Traceback" not in err


def test_notes_on_little_use_left_hand_and_unknown_heads() -> None:
    little = advise(BoltQuestion("M10", "8.8", "10"))
    assert any("Little of the bolt is used" in note for note in little.notes)
    left = advise(BoltQuestion("M12 LH", "10.9", "60"))
    assert any("counter-clockwise" in note for note in left.notes)
    headless = advise(BoltQuestion("M15x1.5", "8.8", "100"))
    assert any("1.3 times the diameter" in note for note in headless.notes)
    stretched = advise(BoltQuestion("M8", "8.8", "30"))
    assert any("past its yield point" in note for note in stretched.notes)
