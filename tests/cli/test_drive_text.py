"""What a person reads from ``twoturn drive``: doubts first, belts that fit in plain words, clock angles of one turn."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from tests.drive.file_texts import MEASURED, WHOLE, changed

import twoturn
from twoturn.acts.drive import answer_of, solve_drive, without_marks, without_place
from twoturn.cli.drive_text import drive_lines
from twoturn.mechanics.setting.closing import DOUBT

ALDER = (Path(twoturn.__file__).parent / "demo" / "drives" / "alder-one-cam.toml").read_text(encoding="utf-8")


def lines_of(text: str, folder: Path) -> list[str]:
    file = folder / "drive.toml"
    file.write_text(text, encoding="utf-8")
    solved = solve_drive(file)
    return drive_lines(answer_of(solved), without_place(solved), without_marks(solved))


def test_a_wrong_tooth_count_comes_first(tmp_path: Path) -> None:
    lines = lines_of(changed(MEASURED, "teeth = 114", "teeth = 118"), tmp_path)
    said = [line for line in lines if DOUBT in line]
    assert len(said) == 1
    assert lines.index(said[0]) < next(at for at, line in enumerate(lines) if line.startswith("At "))
    assert re.search(r"3\d\.\d mm \(\d\.\d teeth\) shorter than the belt of 118 teeth", said[0])
    assert not any(DOUBT in line for line in lines_of(MEASURED, tmp_path))


def test_leftovers_of_measured_distances_are_shown(tmp_path: Path) -> None:
    lines = lines_of(MEASURED, tmp_path)
    at = lines.index("Distances, measured less fitted:")
    assert re.fullmatch(r"  crank to cam: −?\d\.?\d* mm", lines[at + 1])


def test_belts_that_fit_in_plain_words(tmp_path: Path) -> None:
    said = "\n".join(lines_of(ALDER, tmp_path))
    assert re.search(r"Belts that can be set 109 teeth \(fits in \d+ of 100 cases of the coordinates' unc", said)
    assert "probability" not in said


@pytest.mark.parametrize("given", [True, False])
def test_a_fixed_roller_has_a_pointer_only_where_the_file_sets_it(given: bool, tmp_path: Path) -> None:
    text = MEASURED if given else changed(MEASURED, "set_deg = 0\n", "")
    assert any(line.startswith("  Pointer") for line in lines_of(text, tmp_path)) == given


def test_one_mark_counts_nothing_between_marks(tmp_path: Path) -> None:
    assert not any("Teeth between marks" in line for line in lines_of(MEASURED, tmp_path))


def test_clock_angles_run_from_0_to_360(tmp_path: Path) -> None:
    text = changed(WHOLE, "adjuster_range_deg = [-30, 90]", "adjuster_range_deg = [-180, 90]")
    assert any(
        "at 345° on the clock" in line
        for line in lines_of(re.sub("adjuster_deg = 30.0", "adjuster_deg = -15.0", text), tmp_path)
    )


def test_a_belt_without_any_mark_has_no_lines_to_wait_for(tmp_path: Path) -> None:
    bare = re.sub(r"^(marks|mark_deg|mark_on|mark_offset_deg) = .*\n", "", ALDER, flags=re.M)
    assert any("Painted lines" in line for line in lines_of(ALDER, tmp_path))
    assert not any("Painted lines" in line for line in lines_of(bare, tmp_path))
