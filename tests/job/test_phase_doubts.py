"""What speaks against a shift by sensor recording: wheel, phaser, moved sensor (common practice, no source)."""

from __future__ import annotations

from typing import Any

import pytest
from tests.job.test_assess_cases import ASKED, FIT, HEAD, PINS, POINTER, TURN, judged
from tests.job.test_judged_cases import CEDAR, CEDAR_FIT, changed_drive

from twoturn.job.checks.base import Check

WAVE = {"per_cycle": 4, "slowest_deg": 110.0, "u_deg": 0.3}


def alder(angle: float, rpm: float = 220, **reading: Any) -> dict[str, Any]:
    edges = [{"shaft": "camshaft", "edge": "falling", "angle_deg": angle, "u_deg": 0.1}]
    told = {"rpm": rpm, "edges": edges, "wheel": "60-2", "place_deg": 6.0, **reading}
    return {"kind": "capture", "file": "a.csv", "reading": told}


def inlet(late: float, rpm: float, **regime: Any) -> Check:
    edges = [{"shaft": "inlet camshaft", "edge": "falling", "angle_deg": 96 + 84 + late, "u_deg": 0.1}]
    told = {"kind": "capture", "file": "a.csv", "reading": {"rpm": rpm, "edges": edges}, "regime": regime}
    return judged(HEAD, FIT, TURN, PINS, POINTER, told, ASKED).check("phase-inlet-camshaft")


def test_whole_places_of_the_crank_wheel_need_a_second_witness() -> None:
    """15° is a tooth of 24 at the crankshaft (360/24) and three places of 72 (360/72): no belt comes off for it."""
    check = judged(HEAD, CEDAR_FIT, cedar(15.0, 6.0), ASKED, drive=CEDAR).check("phase-camshaft")
    assert "belt off" in check.next  # 15° are two and a half places: whole teeth alone
    check = judged(HEAD, CEDAR_FIT, cedar(15.0, 5.0), ASKED, drive=CEDAR).check("phase-camshaft")
    assert check.verdict.value == "not met"
    assert "look at the marks first" in check.next
    assert any("3 whole places" in note for note in check.notes)


def cedar(late: float, place_deg: float) -> dict[str, Any]:
    edges = [{"shaft": "camshaft", "edge": "rising", "angle_deg": 196 + late, "u_deg": 0.1}]
    wheel = f"{360 / place_deg:.0f}-2"
    told = {"rpm": 250, "edges": edges, "place_deg": place_deg} | ({"wheel": wheel} if wheel == "60-2" else {})
    return {"kind": "capture", "file": "a.csv", "cams": {"camshaft": "cam"}, "reading": told}


def test_another_wheel_gives_no_verdict() -> None:
    told = cedar(0.0, 6.0)
    told["reading"]["wheel"] = "36-1"
    check = judged(HEAD, CEDAR_FIT, told, ASKED, drive=CEDAR).check("phase-camshaft")
    assert check.verdict.value == "not shown"
    assert "states a 60-2 crank wheel, the recording shows 36-1" in check.why


@pytest.mark.parametrize(
    ("wheel", "zeros", "said"), [("36 places, no gap", 72, "no gap"), ("60-2-2-2-2-2-2", 24, "repeats")]
)
def test_a_wheel_that_repeats_proves_nothing(wheel: str, zeros: int, said: str) -> None:
    """Every 10° or 30° looks alike: a tooth of 15° could look like none, or like the other way."""
    told = cedar(0.0, 6.0)
    told["reading"] |= {"wheel": wheel, "zeros": zeros}
    drive = changed_drive("cedar-common-rail", ('crank_wheel = "60-2"\n', ""))
    check = judged(HEAD, CEDAR_FIT, told, ASKED, drive=drive).check("phase-camshaft")
    assert check.verdict.value == "not shown"
    assert said in check.why
    assert "marks or pins" in check.next


@pytest.mark.parametrize(
    ("late", "rpm", "regime", "verdict"),
    [
        (0.0, 850.0, {}, "not shown"),
        (0.0, 850.0, {"phaser_locked": True}, "proven"),
        (0.0, 850.0, {"cranking": True}, "proven"),
        (0.0, 220.0, {}, "proven"),
        (0.0, 220.0, {"cranking": False}, "not shown"),
        (-15.0, 220.0, {}, "not met"),
    ],
)
def test_a_phaser_must_be_locked(late: float, rpm: float, regime: dict[str, Any], verdict: str) -> None:
    check = inlet(late, rpm, **regime)
    assert check.verdict.value == verdict
    assert ("phaser" in check.why) == (verdict == "not shown")
    assert verdict != "not shown" or "starter" in check.next


def test_a_phaser_locked_late_may_explain_early_and_not_late() -> None:
    assert "look at the marks first" in inlet(-15.0, 220.0).next
    assert any("phaser" in note for note in inlet(-15.0, 220.0).notes)
    assert "belt off" in inlet(15.0, 220.0).next


def test_a_wave_that_moved_with_the_cams_is_a_moved_sensor() -> None:
    drive = changed_drive("alder-one-cam", ("gap_to_tdc_deg = 114.0\n", ""))
    before = {**alder(186.0, wave=WAVE), "as_found": True}
    mark = {"kind": "mark", "at": ["crankshaft", "camshaft"], "reads": "on", "as_found": True}
    heat = {"kind": "temperature", "temperature_c": 20}

    def after(angle: float, slowest: float) -> Check:
        now = alder(angle, wave={**WAVE, "slowest_deg": slowest})
        found = judged(HEAD, heat, mark, before, FIT[:3], TURN, now, ASKED, drive=drive)
        return found.check("phase-camshaft")

    tooth, wheel = after(204.0, 110.4), after(204.0, 128.0)
    assert tooth.verdict.value == "not met"
    assert any("has not moved on the crank wheel" in note for note in tooth.notes)
    assert wheel.verdict.value == "not shown"
    assert "crank sensor or its wheel" in wheel.why


def test_what_makes_a_recording_less_sure_stands_beside_its_check() -> None:
    told = cedar(0.2, 6.0)
    told["reading"]["doubts"] = ["the file is cut off; what is whole was read"]
    check = judged(HEAD, CEDAR_FIT, told, ASKED, drive=CEDAR).check("phase-camshaft")
    assert "Doubt: The file is cut off; what is whole was read." in check.notes
