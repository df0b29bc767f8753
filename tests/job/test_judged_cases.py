"""Cases that an independent judge put to the checks: common practice of the trade, no source."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from tests.job.paper_jobs import engine, made
from tests.job.test_assess_cases import (
    ALDER,
    ASKED,
    DAMSON,
    FIT,
    HEAD,
    NUT,
    PINS,
    POINTER,
    POINTER_ID,
    PROVE,
    TURN,
    judged,
    verdict,
)

from twoturn.acts.drive_files import shipped_drives
from twoturn.acts.prove import prove
from twoturn.drive.load import read_drive
from twoturn.errors import FileFaults, TwoTurnError
from twoturn.job.file import read_job

CEDAR = engine("cedar-common-rail")
HELD = {"kind": "pin in", "pin": "all", "use": "hold"}
CEDAR_FIT = [
    {"kind": "belt fitted", "teeth": 119, "arrow": "none"},
    {"kind": "adjuster moved", "to_plan": True},
    {"kind": "torque", "fastener": "all", "to_plan": True, "tool": "A"},
    TURN,
    PINS,
    {"kind": "waited", "minutes": 2},
    POINTER,
]


BEFORE = '[[fastener]]\nid = "tensioner bolt"'


def with_requirement(*lines: str) -> Any:
    """The drive of CEDAR with one more requirement."""
    return changed_drive("cedar-common-rail", (BEFORE, "\n".join(("[[requirement]]", *lines, "", BEFORE))))


def changed_drive(name: str, *swaps: tuple[str, str]) -> Any:
    text = shipped_drives()[name]
    for old, new in swaps:
        assert old in text
        text = text.replace(old, new)
    return read_drive(text, "changed.toml")


def test_pins_are_counted_and_not_only_named() -> None:
    def after(*out: Any) -> Any:
        return judged(HEAD, HELD, list(out), FIT, PROVE)

    one_short = {"kind": "pin out", "pin": "all", "count": 2}
    assert verdict(after({"kind": "pin out", "pin": "all", "count": 3}), "pins-out") == "proven"
    assert verdict(after({"kind": "pin out", "pin": "all"}), "pins-out") == "proven"
    found = after(one_short)
    assert verdict(found) == "not met"
    assert "Counted 2" in found.check("pins-out").why
    assert verdict(after(one_short, {"kind": "pin out", "pin": "all", "count": 3})) == "proven"


def recording(edge: str | None = None, **keys: Any) -> dict[str, Any]:
    told = {"kind": "capture", "file": "as-left.csv", "cams": {"camshaft": "cam 1"}, **keys}
    if edge is None:
        return told
    edges = [{"shaft": "camshaft", "edge": edge, "angle_deg": 196.2, "u_deg": 0.1}]
    return {**told, "reading": {"rpm": 250, "edges": edges}}


@pytest.mark.parametrize(
    ("made_recording", "verdict_wanted", "said"),
    [
        (recording("rising"), "proven", "against the maker's angle"),
        (recording("falling"), "not shown", "no edge that fits the maker's"),
        (recording(), "not shown", "as-left.csv gave no reading"),
        (recording(as_found=True), "proven", "No sensor recording"),
    ],
)
def test_a_recording_that_was_made_binds_even_when_it_tells_nothing(
    made_recording: dict[str, Any], verdict_wanted: str, said: str
) -> None:
    found = judged(HEAD, CEDAR_FIT, made_recording, ASKED, drive=CEDAR)
    assert verdict(found) == verdict_wanted
    assert said in found.check("phase-camshaft").why


def edges_at(*rising: float) -> dict[str, Any]:
    edges = [{"shaft": "camshaft", "edge": "rising", "angle_deg": angle, "u_deg": 0.1} for angle in rising]
    return {**recording(), "reading": {"rpm": 250, "edges": edges}}


@pytest.mark.parametrize(
    ("rising", "verdict_wanted", "said"),
    [
        ((196.0,), "proven", "against the maker's angle"),
        ((196.0, 556.0), "proven", "against the maker's angle"),
        ((225.0, 245.0, 465.0), "not shown", "cannot tell which"),
        ((36.0,), "not shown", "further than a camshaft is found out"),
        ((218.0, 480.0), "not shown", "another engine's recording"),
        ((166.0, 226.0, 400.0), "not shown", "cannot tell which"),
    ],
)
def test_a_wheel_of_another_engine_gives_no_verdict(rising: tuple[float, ...], verdict_wanted: str, said: str) -> None:
    """The drive file states one rising edge, at 118° + 78°; with edges all round no one can tell which is meant."""
    check = judged(HEAD, CEDAR_FIT, edges_at(*rising), ASKED, drive=CEDAR).check("phase-camshaft")
    assert (check.verdict.value, check.required) == (verdict_wanted, True)
    assert said in check.why
    assert verdict_wanted == "proven" or ("look at the marks first" in check.next and "belt off" not in check.next)


@pytest.mark.parametrize(
    ("late", "act"), [(9.0, "marks first"), (15.0, "belt off"), (30.0, "belt off"), (45.0, "marks first")]
)
def test_a_belt_comes_off_only_for_whole_teeth_or_a_mark(late: float, act: str) -> None:
    """One tooth is 15 crank degrees (24 teeth at the crankshaft: 360/24); 9° are no whole tooth."""
    check = judged(HEAD, CEDAR_FIT, edges_at(196.0 + late), ASKED, drive=CEDAR).check("phase-camshaft")
    assert check.verdict.value == "not met"
    assert act in check.next


def test_a_recording_that_tells_nothing_can_be_left_out() -> None:
    left = {"kind": "left out", "entry": "r", "reason": "the lead was loose"}
    assert verdict(judged(HEAD, CEDAR_FIT, {**recording(), "id": "r"}, left, ASKED, drive=CEDAR)) == "proven"


def test_what_was_moved_at_the_end_lets_go_only_what_it_names() -> None:
    again = [TURN, PINS, POINTER, ASKED]

    def yes(**what: str) -> Any:
        return judged(HEAD, FIT, PROVE, {"kind": "moved at end", "moved": True, **what}, again)

    assert verdict(yes(what="turned back to see the mark better")) == "proven"
    assert verdict(yes(what="Tensioner nut slackened"), NUT) == "not shown"
    untold = yes().check(NUT)
    assert untold.verdict.value == "not shown"
    assert "may have been let go" in untold.why
    assert "says what was moved" in untold.next


def test_a_single_use_fastener_is_renewed_not_tightened_again() -> None:
    old = {"kind": "torque", "fastener": "tensioner nut", "to_plan": True, "tool": "A", "new": False}
    found = judged(HEAD, FIT[:2], {**FIT[2]}, {"kind": "loosened", "fastener": "tensioner nut"}, old, PROVE)
    assert verdict(found, NUT) == "not met"
    assert "single use" in found.check(NUT).why
    let_go = judged(HEAD, FIT, {"kind": "loosened", "fastener": "tensioner nut"}, PROVE)
    assert "new one" in let_go.check(NUT).next


def test_a_tang_out_of_its_seat_is_not_met_and_not_asked_for() -> None:
    def set_with(**tang: bool) -> list[dict[str, Any]]:
        return [FIT[0], {**FIT[1], **tang}, FIT[2]]

    assert "tang" not in {check.id for check in judged(HEAD, FIT, PROVE).checks}
    assert verdict(judged(HEAD, set_with(tang_seated=True), PROVE), "tang") == "proven"
    assert verdict(judged(HEAD, set_with(tang_seated=False), PROVE)) == "not met"
    assert verdict(judged(HEAD, set_with(tang_seated=False), set_with(tang_seated=True), PROVE)) == "proven"


@pytest.mark.parametrize(("off", "wanted"), [(1, "proven"), (3, "not met")])
def test_a_mark_in_degrees_is_held_against_limits_written_as_deg(off: float, wanted: str) -> None:
    drive = with_requirement('id = "m"', 'quantity = "mark"', 'at = "camshaft"', "low = -2", "high = 2", 'unit = "deg"')
    mark = {"kind": "mark", "at": "camshaft", "off_deg": off, "way": "late"}
    fit = [row for row in CEDAR_FIT if row is not PINS]
    crank = {"kind": "pin in", "pin": "crankshaft pin", "use": "check"}
    assert verdict(judged(HEAD, fit, crank, mark, ASKED, drive=drive)) == wanted


@pytest.mark.parametrize(
    ("value", "u", "unit", "wanted"),
    [
        ("34.5 mm", 0.1, None, "not shown"),
        ("3.45 cm", 0.01, None, "not shown"),
        ("3.45 cm", "0,1 mm", None, "not shown"),
        ("3.45 cm", 0.0001, None, "proven"),
        ("3.45 cm", 0.0001, "mm", "proven"),
        (34.5, "0,01 mm", "mm", "proven"),
        (34.5, 0, "mm", "not shown"),
    ],
)
def test_an_uncertainty_has_the_unit_of_its_value(value: Any, u: Any, unit: str | None, wanted: str) -> None:
    limits = ('at = "timing belt"', "low = 34.4", "high = 34.6", 'unit = "mm"')
    drive = with_requirement('id = "w"', 'quantity = "width"', *limits)
    row = {"kind": "measured", "quantity": "width", "at": "timing belt", "value": value, "u": u}
    assert verdict(judged(HEAD, row if unit is None else {**row, "unit": unit}, drive=drive), "w") == wanted


def test_an_uncertainty_that_is_none_is_refused() -> None:
    for u in ("5 N", -0.1):
        with pytest.raises((TwoTurnError, ValueError), match=r"standard uncertainty|5 N"):
            made({"kind": "measured", "quantity": "width", "value": "25 mm", "u": u})


def test_numbers_far_apart_are_told_where_each_is_decided_by_itself() -> None:
    belt = {"kind": "belt fitted", "teeth": 144, "arrow": "none"}
    lifts = [{"kind": "pump lift", "lift_mm": lift} for lift in (0.885, 0.955)]
    found = judged(HEAD, belt, TURN, lifts, drive=DAMSON).check("pump-lift-at-the-setting-position")
    assert found.verdict.value == "proven"
    assert "further apart" in found.notes[0]


def test_a_force_that_is_not_entered_is_taken_as_asked_for_and_said() -> None:
    belt = [{"kind": "belt fitted", "teeth": 109, "arrow": "none"}, TURN]
    row = {"kind": "deflection", "at": "roller:camshaft", "deflection_mm": 3.4, "u_mm": 0.1}
    found = judged(HEAD, belt, row, drive=ALDER).check("deflection-of-the-slack-span")
    assert "taken as the 20 N" in found.notes[0]
    assert not judged(HEAD, belt, {**row, "force_n": 20}, drive=ALDER).check(found.id).notes


def test_words_that_stand_on_the_sheet() -> None:
    found = judged(HEAD, FIT, PROVE)
    assert found.check("nothing-moved").reading == "nothing moved"
    assert found.check(NUT).reading == "25 N·m, wrench\u00a0A", "no line ends between wrench and its letter"
    assert found.check(NUT).as_json()["reading"] == "25 N·m, wrench A"
    assert judged(HEAD[:2], FIT, PROVE).check(NUT).reading == "25 N·m, tool\u00a0A"
    short = judged(HEAD, FIT, {"kind": "turned", "turns": 1.5}, PINS, POINTER, ASKED)
    assert short.check("two-turns").why.startswith("Only 1.5 turns by hand told after entry 6")


def written(folder: Path, rows: list[dict[str, Any]]) -> Path:
    lines = ["format = 1", 'drive = "birch-two-cams"']
    for row in rows:
        lines.append("[[entry]]")
        for key, value in row.items():
            lines.append(f"{key} = {json.dumps(value) if isinstance(value, str | bool | list) else value}")
    (folder / "job.toml").write_text("\n".join(lines), encoding="utf-8")
    return folder


def test_a_round_that_may_have_been_forgotten_is_told(tmp_path: Path) -> None:
    rows = [
        {"kind": "remark", "text": "begins", "by": "A"},
        {"kind": "adjuster moved", "at": "tensioner", "done": "finish-setting"},
        {"kind": "turned", "turns": 2, "done": "turn-by-hand"},
        {"kind": "pointer", "reads": "short", "widths": 3, "done": "prove-setting"},
        {"kind": "adjuster moved", "at": "tensioner", "done": "finish-setting"},
    ]
    folder = written(tmp_path, rows)
    text = (folder / "job.toml").read_text(encoding="utf-8").replace('by = "A"', 'by = "A"\nentered = 2026-03-02')
    (folder / "job.toml").write_text(text, encoding="utf-8")
    told = prove(folder).filled.warnings
    assert len(told) == 1
    assert "Entry 5" in told[0]
    assert "pass = 2" in told[0]
    (folder / "job.toml").write_text(text + "\npass = 2\n", encoding="utf-8")
    assert not prove(folder).filled.warnings


def test_an_endless_number_is_named_with_its_key() -> None:
    text = 'format = 1\ndrive = "x"\n[[entry]]\nkind = "turned"\nturns = nan\nby = "A"\nentered = 2026-03-02\n'
    with pytest.raises(FileFaults) as caught:
        read_job(text, "job.toml")
    fault = caught.value.faults[0]
    assert (fault.line, fault.key, fault.found) == (5, "entry[1].turns", "nan")
    assert "turns of the crankshaft" in fault.expected


def test_a_pointer_that_the_setting_check_shows_is_no_value_without_requirement() -> None:
    asked = 'id = "pointer after the turns"\nquantity = '
    swaps = (
        ("window_deg = [-6.0, 6.0]\n", ""),
        (f'{asked}"pointer"', f'kind = "default"\n{asked}"width"'),
    )
    drive = changed_drive("birch-two-cams", *swaps)
    found = judged(HEAD, FIT, PROVE, drive=drive)
    assert verdict(found, "tensioner") == "proven"
    assert not [value for value in found.value_only if value.title.startswith("Pointer")]
    assert POINTER_ID in {check.id for check in found.checks}
