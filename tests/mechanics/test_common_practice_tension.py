"""Facts of the trade about tension. Common practice, no source; those marked derived follow from the formulas."""

from __future__ import annotations

from pathlib import Path

import pytest

import twoturn
from twoturn.acts.drive import answer_of, solve_drive
from twoturn.mechanics.rest.loop import Cord

DRIVES = Path(twoturn.__file__).parent / "demo" / "drives"
CORD = Cord(stiffness_n=420e3)
FREE_MM = 141 * 9.525


def pull_n(long_mm: float) -> float:
    return float(CORD.tension_n(FREE_MM + long_mm, FREE_MM))


def test_a_tenth_of_a_millimetre_of_path() -> None:
    """Derived: 0.1 mm is about 31 N at 141 teeth of 9.525 mm and EA 420 kN."""
    assert pull_n(0.1) == pytest.approx(31, abs=0.5)


def test_set_tight_by_a_quarter_of_a_millimetre() -> None:
    """Derived: about 80 N."""
    assert pull_n(0.25) == pytest.approx(80, abs=3)


def test_a_fixed_roller_set_warm() -> None:
    """Derived: set 40 K too warm, the path is 0.4 to 0.5 mm long, which is 125 to 160 N missing when cold."""
    cold, warm = (answer_of(solve_drive(DRIVES / "alder-one-cam.toml", t))["belts"][0] for t in (20.0, 60.0))
    grown = warm["path_length_mm"] - cold["path_length_mm"]
    assert 0.4 < grown < 0.5
    assert 120 < pull_n(grown) < 160
    assert warm["tension_n"] > cold["tension_n"] + 120


def test_a_belt_one_tooth_long_cannot_be_set(tmp_path: Path) -> None:
    """Common practice: 9.5 mm, no notch reachable, arm at its stop."""
    text = (DRIVES / "cedar-common-rail.toml").read_text(encoding="utf-8")
    text = text.replace("teeth = 119", "teeth = 120", 1).replace('designation = "119 ', 'designation = "120 ')
    file = tmp_path / "drive.toml"
    file.write_text(text, encoding="utf-8")
    belt = answer_of(solve_drive(file))["belts"][0]
    assert belt["tensioner"]["on_stop"] == "high" or belt["tensioner"]["tension_n"] is None
    assert 120 not in [fit["teeth"] for fit in belt["fits"]]
