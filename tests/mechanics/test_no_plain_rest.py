"""Belts that fit no place, arms over dead centre, rollers at the end of their travel: what is said instead."""

from __future__ import annotations

import math
import re
from pathlib import Path

import pytest
from tests.mechanics.mechanic_drives import KINDS, drive_text
from tests.mechanics.slow_drive import SlowDrive
from tests.mechanics.test_rest_positions import answer, changed, longer, teeth_of

from twoturn.mechanics.setting.settling import on_clock

SPRUNG = ["double reacts", "arm", "slide", "ram"]


def without(text: str, key: str) -> str:
    return re.sub(rf"^{key} = .*\n", "", text, flags=re.M)


def test_an_arm_over_dead_centre_all_along_its_travel_is_refused(tmp_path: Path) -> None:
    """Turned the other way the arm only shortens the path: no stop is reported."""
    text = changed(drive_text("arm", 2), tightens="counter-clockwise")
    found = answer(text, tmp_path)
    tensioner = found["tensioner"]
    assert any("dead centre" in sentence for sentence in found["why"])
    assert [tensioner[key] for key in ("on_stop", "tension_n", "pointer_deg", "short_mm")] == [None] * 4


def test_a_belt_too_short_holds_the_arm_on_its_low_stop_even_where_its_lever_is_short(tmp_path: Path) -> None:
    """The stop holds the arm, so the limit of the lever does not matter there; T follows from the belt equation."""
    text = re.sub(r"stops_deg = .*", "stops_deg = [-70, 45]", longer(drive_text("double reacts", 5), -2))
    text = without(text, "spring_reacts_on")
    slow = SlowDrive(text)
    assert 0 < slow.lever(-70.0, 50.0) < 0.3 * 6.5 * slow.pull(-70.0, 50.0)
    found = answer(text, tmp_path)
    tensioner = found["tensioner"]
    assert tensioner["on_stop"] == "low"
    assert tensioner["pointer_deg"] == -70.0
    assert tensioner["short_mm"] > 0
    stiffness = float(re.search(r"stiffness_n = (\S+)", text).group(1))  # type: ignore[union-attr]
    at_n = float(re.search(r"length_at_n = (\S+)", text).group(1))  # type: ignore[union-attr]
    strain = found["path_length_mm"] / found["length_mm"] - 1
    assert tensioner["tension_n"] == pytest.approx(at_n + stiffness * strain)


@pytest.mark.parametrize("kind", ["locked target", *SPRUNG])
@pytest.mark.parametrize("off", [-2, 2])
def test_belts_that_fit_are_listed_when_the_one_on_hand_does_not(kind: str, off: int, tmp_path: Path) -> None:
    """The same counts as with the belt that fits, as far as they lie within three of both."""
    right = drive_text(kind, 5)
    fitting = {fit["teeth"] for fit in answer(right, tmp_path)["fits"]}
    found = answer(longer(right, off), tmp_path)
    shared = {teeth for teeth in fitting if abs(teeth - teeth_of(right) - off) <= 3}
    assert shared
    assert shared <= {fit["teeth"] for fit in found["fits"]}
    assert teeth_of(right) in {fit["teeth"] for fit in found["fits"]}


@pytest.mark.parametrize(("off", "way"), [(4, "long"), (-4, "short")])
def test_a_fixed_roller_without_stops_says_by_how_much_it_fails(off: int, way: str, tmp_path: Path) -> None:
    """Against the belt cut until the roller just reaches: then the sentence is gone."""
    text = longer(without(drive_text("locked target", 3), "stops_deg"), off)
    found = answer(text, tmp_path)
    sentence = next(row for row in found["why"] if "end of its travel" in row)
    size, teeth = re.search(r"the belt is (\S+) mm \((\S+) teeth\) too " + way, sentence).groups()  # type: ignore[union-attr]
    assert float(teeth) == pytest.approx(float(size) / found["pitch_mm"], abs=0.006)
    error = float(re.search(r"length_error_mm = (\S+)", text).group(1))  # type: ignore[union-attr]
    sign = -1 if way == "long" else 1
    for more, reaches in ((0.02, True), (-0.02, False)):
        cut = changed(text, length_error_mm=error + sign * (float(size) + more))
        assert (answer(cut, tmp_path)["tension_n"] is not None) == reaches


def test_a_set_roller_stands_where_it_is_set_without_a_stiffness(tmp_path: Path) -> None:
    text = without(drive_text("locked set", 4), "stiffness_n")
    found = answer(text, tmp_path)
    tensioner = found["tensioner"]
    assert tensioner["pointer_deg"] == 12.0
    assert tensioner["tension_n"] is None
    clock = math.radians(20.0 + 12.0)
    assert tensioner["centre_mm"] == pytest.approx([-52.0 + 6.0 * math.sin(clock), 130.0 + 6.0 * math.cos(clock)])
    assert any("where it is set" in sentence for sentence in found["why"])
    assert not any("notch" in sentence for sentence in found["why"])


def test_a_roller_at_the_end_of_its_travel_has_no_spring_to_come_off_a_stop(tmp_path: Path) -> None:
    text = changed(longer(drive_text("locked target", 3), 4), length_error_mm=0.0)
    sentence = next(row for row in answer(text, tmp_path)["why"] if "stop" in row)
    assert "end of its travel" in sentence
    assert "come off" not in sentence
    assert "rests" not in sentence


@pytest.mark.parametrize(("angle", "said"), [(-30.0, "330°"), (90.0, "90°"), (400.5, "40.5°"), (-1e-12, "0°")])
def test_angles_on_the_clock(angle: float, said: str) -> None:
    assert on_clock(angle) == said


def test_every_kind_is_tried() -> None:
    assert set(SPRUNG) <= set(KINDS)
