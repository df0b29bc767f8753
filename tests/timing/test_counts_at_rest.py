"""Uncertainty of the teeth between marks on a belt that keeps its length: files edited by hand and solved anew."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from tests.mechanics.mechanic_drives import KINDS, drive_text

from twoturn.acts.drive import answer_of, solve_drive

CAM_U_MM = 0.3
STEP_MM = 0.01


def counts(text: str, tmp_path: Path) -> list[dict]:
    file = tmp_path / "drive.toml"
    file.write_text(text, encoding="utf-8")
    return answer_of(solve_drive(file))["belts"][0]["tooth_counts"]


def with_cam(text: str, up_mm: float = 0.0, more: str = "") -> str:
    """The file with its camshaft's centre higher [mm], and ``more`` below it."""
    found = re.search(r'id = "cam".*?at_mm = \[(\S+), (\S+)\]', text, re.S)
    assert found is not None
    old = f"at_mm = [{found.group(1)}, {found.group(2)}]"
    return text.replace(old, f"at_mm = [{found.group(1)}, {float(found.group(2)) + up_mm}]\n{more}")


@pytest.mark.parametrize("kind", KINDS)
def test_u_is_that_of_a_tensioner_that_comes_to_rest_anew(kind: str, tmp_path: Path) -> None:
    """The cam's height alone is uncertain: u = |difference of two whole solutions| / step · u."""
    text = drive_text(kind, 5)
    stated = counts(with_cam(text, more=f"at_mm_u = [0.0, {CAM_U_MM}]"), tmp_path)
    high, low = (counts(with_cam(text, sign * STEP_MM), tmp_path) for sign in (1, -1))
    for row, above, below in zip(stated, high, low, strict=True):
        expected = abs(above["teeth"] - below["teeth"]) / (2 * STEP_MM) * CAM_U_MM
        assert row["u"] == pytest.approx(expected, rel=1e-4)


def test_without_a_stiffness_the_path_keeps_its_length(tmp_path: Path) -> None:
    """Nearly the same u as with a stiff belt that is solved: a belt hardly gets longer."""
    text = with_cam(drive_text("arm", 5), more="at_mm_u = 0.3")
    with_it = counts(re.sub("stiffness_n = .*", "stiffness_n = 1e7", text), tmp_path)
    without = counts(re.sub("stiffness_n = .*", "", text), tmp_path)
    assert [row["u"] for row in without] == pytest.approx([row["u"] for row in with_it], rel=0.05)


def test_one_stated_centre_does_not_narrow_the_rule_of_a_tenth(tmp_path: Path) -> None:
    """0.07 tooth off a whole number is near while the other centres' uncertainty is not known."""
    text = drive_text("arm", 5)
    rows = counts(with_cam(text, more="at_mm_u = 0.001"), tmp_path)
    turn = 360 / 44  # degrees of the cam's mark a tooth
    off = (round(rows[0]["teeth"]) - rows[0]["teeth"] + 0.07) * turn
    moved = text.replace("mark_deg = 5.0", f"mark_deg = {5.0 + off}")
    one = counts(with_cam(moved, more="at_mm_u = 0.001"), tmp_path)
    all_of_them = counts(re.sub(r"(at_mm = .*)", r"\1\nat_mm_u = 0.001", moved), tmp_path)
    assert abs(one[0]["teeth"] - round(one[0]["teeth"])) == pytest.approx(0.07, abs=0.01)
    assert one[0]["near_integer"]
    assert not all_of_them[0]["near_integer"]
