"""What single entries do to a job that would be proven: common practice of the trade, no source."""

from __future__ import annotations

from typing import Any

import pytest
from tests.job.paper_jobs import WHEN, engine, made, signed

from twoturn.acts.drive_files import shipped_drives
from twoturn.drive.load import read_drive
from twoturn.job.assess import Assessment, assess

BIRCH = engine("birch-two-cams")
ALDER = engine("alder-one-cam")
FIR = engine("fir-vee-six")
ELDER = engine("elder-balance-shafts")
DAMSON = engine("damson-rotary-pump")

HEAD = [
    {"kind": "vehicle", "by": "A. First", "entered": WHEN, "registration": "XX 1"},
    {"kind": "temperature", "temperature_c": "overnight"},
    {"kind": "tool", "tool": "A", "low_nm": 5, "high_nm": 250, "calibrated": "2025-09-01"},
]
FIT = [
    {"kind": "belt fitted", "teeth": 151, "arrow": "with travel"},
    {"kind": "adjuster moved", "to": "notch"},
    {"kind": "torque", "fastener": "all", "to_plan": True, "tool": "A"},
]
TURN = {"kind": "turned", "turns": 2}
PINS = {"kind": "pin in", "pin": "all", "use": "check"}
POINTER = {"kind": "pointer", "reads": "in the notch"}
ASKED = {"kind": "moved at end", "moved": False}
PROVE = [TURN, PINS, POINTER, ASKED]
NUT = "torque-tensioner-nut"
POINTER_ID = "pointer-after-the-turns"


def judged(*rows: Any, drive: Any = BIRCH) -> Assessment:
    flat: list[dict[str, Any]] = []
    for row in rows:
        flat.extend(row if isinstance(row, list) else [row])
    return assess(drive, [made(row) for row in signed(flat)])


def verdict(found: Assessment, check_id: str | None = None) -> str:
    return found.verdict.value if check_id is None else found.check(check_id).verdict.value


def test_the_plain_job_is_proven() -> None:
    assert verdict(judged(HEAD, FIT, PROVE)) == "proven"


def test_nothing_entered_shows_nothing() -> None:
    found = judged()
    assert verdict(found) == "not shown"
    assert set(found.not_shown) == {check.id for check in found.checks}
    assert all(check.next for check in found.checks)


@pytest.mark.parametrize(
    "reset",
    [
        {"kind": "belt fitted", "teeth": 151, "arrow": "none"},
        {"kind": "part fitted", "part": "tensioner"},
        {"kind": "adjuster moved"},
        {"kind": "loosened", "fastener": "inlet camshaft bolt"},
        {"kind": "torque", "fastener": "tensioner nut", "set": 25, "tool": "A"},
        {"kind": "turned", "turns": 0.1, "turned_back": True},
        {"kind": "turned", "turns": 2, "way": "counter-clockwise"},
        {"kind": "pin in", "pin": "crankshaft pin", "use": "hold"},
        {"kind": "step done", "step": "set-tensioner"},
        {"kind": "moved at end", "moved": True},
    ],
    ids=lambda row: row["kind"],
)
def test_what_moves_something_after_the_readings_voids_them(reset: dict[str, Any]) -> None:
    found = judged(HEAD, FIT, PROVE, reset)
    assert verdict(found) == "not shown"
    assert verdict(found, POINTER_ID) == "not shown"
    assert "voids earlier readings" in found.check(POINTER_ID).why
    assert "two turns clockwise" in found.check(POINTER_ID).next


@pytest.mark.parametrize(
    "harmless",
    [
        {"kind": "pin in", "pin": "all", "use": "check"},
        {"kind": "pin out", "pin": "all"},
        {"kind": "torque", "fastener": "tensioner nut", "set": 25, "tool": "A", "nothing_moved": True},
        {"kind": "torque", "fastener": "engine mount bolts", "set": 55, "tool": "A"},
        {"kind": "part fitted", "part": "upper cover"},
        {"kind": "part fitted", "part": "caps behind the camshafts"},
        {"kind": "part fitted", "part": "auxiliary belt"},
        {"kind": "remark", "text": "two clips renewed"},
        {"kind": "photo", "file": "x.jpg"},
        {"kind": "step done", "step": "road-test"},
        {"kind": "waited", "minutes": 5},
    ],
    ids=lambda row: f"{row['kind']} {row.get('part', '')}",
)
def test_what_moves_nothing_leaves_the_proof_alone(harmless: dict[str, Any]) -> None:
    assert verdict(judged(HEAD, FIT, PROVE, harmless)) == "proven"


def test_a_pin_held_in_is_counted_out_again() -> None:
    held = {"kind": "pin in", "pin": "all", "use": "hold"}
    assert judged(HEAD, held, FIT, PROVE).not_shown[0] != "teeth"
    assert verdict(judged(HEAD, held, FIT, PROVE), "pins-out") == "not shown"
    assert verdict(judged(HEAD, held, FIT, {"kind": "pin out", "pin": "all"}, PROVE)) == "proven"


def test_a_pin_still_holding_while_the_engine_is_turned_voids_what_is_read() -> None:
    held = {"kind": "pin in", "pin": "bar for the inlet camshaft", "use": "hold"}
    out = {"kind": "pin out", "pin": "bar for the inlet camshaft"}
    assert verdict(judged(HEAD, FIT, held, TURN, POINTER, out), POINTER_ID) == "not shown"


def test_an_overshot_turn_counts_to_its_last_whole_turn() -> None:
    over = {"kind": "turned", "turns": 1.9, "overshot": True}
    assert verdict(judged(HEAD, FIT, over, PINS, POINTER, ASKED)) == "not shown"
    assert verdict(judged(HEAD, FIT, over, {"kind": "turned", "turns": 1}, PINS, POINTER, ASKED)) == "proven"
    assert (
        verdict(judged(HEAD, FIT, {"kind": "turned", "turns": 4.2, "overshot": True}, PINS, POINTER, ASKED)) == "proven"
    )


def test_turns_add_up_but_not_over_a_reset() -> None:
    one = {"kind": "turned", "turns": 1}
    assert verdict(judged(HEAD, FIT, one, one, PINS, POINTER, ASKED)) == "proven"
    moved = {"kind": "adjuster moved"}
    nut = {"kind": "torque", "fastener": "tensioner nut", "set": 25, "tool": "A"}
    found = judged(HEAD, FIT, one, moved, nut, one, PINS, POINTER, ASKED)
    assert verdict(found, "two-turns") == "not shown"
    assert verdict(found, POINTER_ID) == "not shown"


def test_pluck_before_the_turns_does_not_count() -> None:
    note = {"kind": "pluck", "file": "a.wav", "span": "roller:camshaft", "reading": {"frequency_hz": 144, "u_hz": 0.3}}
    fit = [
        {"kind": "belt fitted", "teeth": 109, "arrow": "none"},
        {"kind": "adjuster moved"},
        {"kind": "torque", "fastener": "all", "to_plan": True, "tool": "A"},
    ]
    mark = {"kind": "mark", "at": "all", "reads": "on"}
    before = judged(HEAD, fit, note, TURN, mark, ASKED, drive=ALDER)
    assert verdict(before) == "not shown"
    assert "no turning by hand" in before.check("note-of-the-slack-span").why
    after = judged(HEAD, fit, TURN, note, mark, ASKED, drive=ALDER)
    assert verdict(after) == "proven"
    assert not after.check("deflection-of-the-slack-span").required


def test_tension_shown_by_one_method_but_denied_by_the_other_is_not_met() -> None:
    note = {"kind": "pluck", "file": "a.wav", "span": "roller:camshaft", "reading": {"frequency_hz": 144, "u_hz": 0.3}}
    loose = {"kind": "deflection", "at": "roller:camshaft", "deflection_mm": 6, "u_mm": 0.1, "force_n": 20}
    fit = [
        {"kind": "belt fitted", "teeth": 109, "arrow": "none"},
        {"kind": "adjuster moved"},
        {"kind": "torque", "fastener": "all", "to_plan": True, "tool": "A"},
    ]
    found = judged(HEAD, fit, TURN, note, loose, {"kind": "mark", "at": "all", "reads": "on"}, ASKED, drive=ALDER)
    assert verdict(found) == "not met"


def test_the_engine_must_have_the_temperature_that_the_value_holds_at() -> None:
    hot = {"kind": "temperature", "temperature_c": "hot"}
    found = judged(HEAD, FIT, TURN, PINS, hot, POINTER, ASKED)
    assert verdict(found) == "not shown"
    assert "cool" in found.check(POINTER_ID).next
    cold_shop = {"kind": "temperature", "of": "shop air", "temperature_c": 2}
    assert verdict(judged(HEAD, cold_shop, FIT, PROVE), POINTER_ID) == "not shown"
    assert verdict(judged(HEAD[:1], HEAD[2:], FIT, PROVE), POINTER_ID) == "not shown"


@pytest.mark.parametrize(
    ("torque", "wanted", "word"),
    [
        ({"set": 25, "tool": "A"}, "proven", ""),
        ({"set": 27.5, "tool": "A"}, "proven", ""),
        ({"set": "22,5 N·m", "tool": "A"}, "proven", ""),
        ({"set": 28, "tool": "A"}, "not met", "27.5"),
        ({"set": 15, "tool": "A"}, "not met", "22.5"),
        ({"set": "25°", "tool": "A"}, "not met", "prescribed"),
        ({"set": 25}, "not shown", "tool"),
        ({"set": 25, "tool": "Z"}, "not shown", "Z"),
        ({"set": 25, "tool": "small"}, "not shown", "range"),
        ({"set": 25, "tool": "old"}, "not shown", "calibration"),
        ({"set": 25, "tool": ["small", "A"]}, "proven", ""),
        ({"set": [25, "90°"], "tool": "A"}, "not met", "more than prescribed"),
    ],
)
def test_a_torque_is_proven_by_its_setting_and_a_fit_tool(torque: dict[str, Any], wanted: str, word: str) -> None:
    """Defaults ± 10 %; range and calibration valid on the day; no guard band (the design's settled points)."""
    tools = [
        {"kind": "tool", "tool": "small", "low_nm": 2, "high_nm": 20, "calibrated": "2025-09-01"},
        {"kind": "tool", "tool": "old", "low_nm": 5, "high_nm": 50, "calibrated": "2024-09-01"},
    ]
    nut = {"kind": "torque", "fastener": "tensioner nut", **torque}
    found = judged(HEAD, tools, FIT[:2], nut, PROVE)
    assert verdict(found, NUT) == wanted
    assert word.lower() in found.check(NUT).why.lower()


def test_where_a_tool_shows_no_torque_the_next_step_names_one_that_does() -> None:
    tools = [
        {"kind": "tool", "tool": "small", "low_nm": 2, "high_nm": 20, "calibrated": "2025-09-01"},
        {"kind": "tool", "tool": "middle", "low_nm": 10, "high_nm": 60, "calibrated": "2025-09-01"},
        {"kind": "tool", "tool": "old", "low_nm": 10, "high_nm": 60, "calibrated": "2024-09-01"},
    ]
    nut = {"kind": "torque", "fastener": "tensioner nut", "set": 25, "tool": "small"}
    assert judged(HEAD, tools, FIT[:2], nut, PROVE).check(NUT).next.startswith("Use tool middle: 10 to 60")
    alone = judged([row for row in HEAD if row["kind"] != "tool"], tools[::2], FIT[:2], nut, PROVE)
    assert alone.check(NUT).next == "Use a tool that is fit and in calibration."


def test_too_much_torque_stays_wrong_until_the_fastener_is_let_go() -> None:
    over = {"kind": "torque", "fastener": "tensioner nut", "set": 40, "tool": "A"}
    right = {"kind": "torque", "fastener": "tensioner nut", "set": 25, "tool": "A"}
    loose = {"kind": "loosened", "fastener": "tensioner nut"}
    assert verdict(judged(HEAD, FIT[:2], over, right), NUT) == "not met"
    assert verdict(judged(HEAD, FIT[:2], over, loose, right), NUT) == "proven"
    assert verdict(judged(HEAD, FIT[:2], right, loose), NUT) == "not shown"


def test_stages_can_come_one_by_one_or_in_a_row() -> None:
    parts = [
        {"kind": "torque", "fastener": "crankshaft bolt", "set": 50, "stage": 1, "tool": "A"},
        {"kind": "torque", "fastener": "crankshaft bolt", "set": "180°", "stage": 2},
    ]
    bolt = "torque-crankshaft-bolt"
    assert verdict(judged(HEAD, parts), bolt) == "proven"
    assert verdict(judged(HEAD, parts[:1]), bolt) == "not shown"
    row = {"kind": "torque", "row": {"crankshaft bolt": [50, "172°"], "tensioner nut": 25}, "tool": "A"}
    found = judged(HEAD, row)
    assert (verdict(found, bolt), verdict(found, NUT)) == ("proven", "proven")
    assert verdict(judged(HEAD, {**row, "row": {"crankshaft bolt": [50, "140°"]}}), bolt) == "not met"


def test_a_severe_finding_is_cured_before_the_belt_goes_on_or_not_at_all() -> None:
    leak = {"kind": "finding", "finding": "leak-oil"}
    cured = {"kind": "cured", "finding": "leak-oil", "how": "camshaft seal renewed"}
    check = "finding-leak-oil"
    assert verdict(judged(HEAD, leak, cured, FIT, PROVE)) == "proven"
    assert verdict(judged(HEAD, leak, FIT, PROVE), check) == "not shown"
    late = judged(HEAD, leak, FIT, PROVE, cured)
    assert (verdict(late, check), verdict(late)) == ("not met", "not met")
    again = judged(HEAD, leak, FIT, PROVE, cured, FIT, PROVE)
    assert verdict(again) == "proven"
    untold = judged(HEAD, leak, {**FIT[0], "done": "thread-belt"}, FIT[1:], cured, {**TURN, "done": "set-shafts"})
    assert verdict(untold, check) == "not shown"
    assert verdict(judged(HEAD, leak, cured, leak, FIT, PROVE), check) == "not shown"


def test_a_finding_that_is_not_severe_only_asks() -> None:
    dust = {"kind": "finding", "finding": "land-polished"}
    assert verdict(judged(HEAD, dust, FIT, PROVE)) == "proven"


def test_a_mark_off_by_more_than_a_quarter_tooth_is_not_met_and_explained() -> None:
    fit = [
        {"kind": "belt fitted", "teeth": 183, "arrow": "none"},
        {"kind": "adjuster moved", "to_plan": True},
        {"kind": "torque", "fastener": "all", "to_plan": True, "tool": "A"},
    ]
    ram = {"kind": "protrusion", "protrusion_mm": 9}
    on = {"kind": "mark", "at": ["crankshaft", "right camshaft"], "reads": "on"}
    wait = {"kind": "waited", "minutes": 5}
    for reads, wanted in (("quarter", "proven"), ("half", "not met"), ("one", "not met")):
        off = {"kind": "mark", "at": "left camshaft", "reads": reads, "way": "late"}
        found = judged(HEAD, fit, TURN, wait, on, off, ram, ASKED, drive=FIR)
        assert verdict(found) == wanted
    assert "late" in found.check("timing-left-camshaft").why
    assert any("left camshaft one tooth late" in note for note in found.check("timing-left-camshaft").notes)
    again = {"kind": "mark", "at": "left camshaft", "reads": "on"}
    assert verdict(judged(HEAD, fit, TURN, wait, on, off, again, ram, ASKED, drive=FIR)) == "not met", "any no wins"
    no_wait = judged(HEAD, fit, TURN, on, again, ram, ASKED, drive=FIR)
    assert "5 min" in no_wait.check("ram-stands-out").why


def test_leaving_a_reading_out_needs_a_reason_and_is_told() -> None:
    wrong = {"kind": "pointer", "reads": "past", "off_deg": 9, "id": "slip"}
    assert verdict(judged(HEAD, FIT, TURN, wrong, PINS, POINTER, ASKED)) == "not met"
    left = {"kind": "left out", "entry": "slip", "reason": "read at an angle"}
    found = judged(HEAD, FIT, TURN, wrong, PINS, POINTER, ASKED, left)
    assert verdict(found) == "proven"
    assert [(one.entry, one.reason) for one in found.left_out] == [(8, "read at an angle")]


def test_what_was_done_cannot_be_left_out() -> None:
    reset = {"kind": "adjuster moved", "id": "r"}
    left = {"kind": "left out", "entry": "r", "reason": "did not matter"}
    assert verdict(judged(HEAD, FIT, PROVE, reset, left), POINTER_ID) == "not shown"


def test_a_correction_stands_where_the_entry_stood_that_it_corrects() -> None:
    wrong = {"kind": "pointer", "reads": "past", "off_deg": 30, "id": "p"}
    right = {"kind": "pointer", "reads": "in the notch", "replaces": "p"}
    found = judged(HEAD, FIT, TURN, PINS, wrong, ASKED, right)
    assert verdict(found) == "proven"
    assert found.corrections == {9: 11}
    stale = judged(HEAD, FIT, wrong, TURN, PINS, ASKED, right)
    assert verdict(stale, POINTER_ID) == "not shown", "a correction does not carry a reading over the turns"
    struck = {"kind": "struck out", "replaces": "p", "reason": "another vehicle"}
    assert verdict(judged(HEAD, FIT, TURN, PINS, wrong, ASKED, struck), POINTER_ID) == "not shown"


def test_readings_that_disagree_by_more_than_their_uncertainty_show_nothing() -> None:
    notes = [
        {"kind": "measured", "quantity": "frequency", "at": "roller:camshaft", "value": value, "u": 0.3}
        for value in (140.0, 146.0)
    ]
    fit = [{"kind": "belt fitted", "teeth": 109, "arrow": "none"}, {"kind": "adjuster moved"}]
    found = judged(HEAD, fit, TURN, notes, drive=ALDER).check("note-of-the-slack-span")
    assert found.verdict.value == "not shown"
    assert "disagree" in found.why
    alike = judged(HEAD, fit, TURN, notes[:1], notes[:1], drive=ALDER).check("note-of-the-slack-span")
    assert alike.verdict.value == "proven"


def test_a_number_without_uncertainty_is_not_held_against_limits() -> None:
    fit = [{"kind": "belt fitted", "teeth": 109, "arrow": "none"}, {"kind": "adjuster moved"}]
    bare = {"kind": "measured", "quantity": "frequency", "at": "roller:camshaft", "value": "144 Hz"}
    found = judged(HEAD, fit, TURN, bare, drive=ALDER).check("note-of-the-slack-span")
    assert found.verdict.value == "not shown"
    assert "how sure" in found.why


def test_guard_band_and_too_coarse() -> None:
    """136 to 153 Hz: 138 ± 1 Hz proves, 136.5 ± 1 does not; U over a quarter of 17 Hz is a note."""
    fit = [{"kind": "belt fitted", "teeth": 109, "arrow": "none"}, {"kind": "adjuster moved"}]

    def note(value: float, u: float) -> Any:
        row = {"kind": "measured", "quantity": "frequency", "at": "roller:camshaft", "value": value, "u": u}
        return judged(HEAD, fit, TURN, row, drive=ALDER).check("note-of-the-slack-span")

    assert note(138.0, 0.5).verdict.value == "proven"
    assert note(136.5, 0.5).verdict.value == "not shown"
    assert note(133.0, 0.5).verdict.value == "not met"
    coarse = note(144.5, 2.5)
    assert coarse.verdict.value == "proven"
    assert any("too coarse" in text for text in coarse.notes)


def test_a_value_without_requirement_is_value_only() -> None:
    width = {"kind": "measured", "quantity": "width", "value": "25,3 mm", "u": 0.02}
    found = judged(HEAD, FIT, PROVE, width)
    assert verdict(found) == "proven"
    assert [value.title for value in found.value_only] == ["Belt width"]
    assert found.value_only[0].reading.startswith("25.30")


def test_the_second_belt_has_its_own_verdicts() -> None:
    main = [
        {"kind": "belt fitted", "belt": "main", "teeth": 129, "arrow": "none"},
        {"kind": "adjuster moved", "at": "tensioner"},
        {
            "kind": "torque",
            "fastener": ["tensioner nut", "crankshaft bolt", "oil pump wheel nut"],
            "to_plan": True,
            "tool": "A",
        },
    ]
    second = [
        {"kind": "belt fitted", "belt": "balance", "teeth": 71, "arrow": "none"},
        {"kind": "adjuster moved", "at": "balance roller"},
        {"kind": "torque", "fastener": "balance roller bolt", "to_plan": True, "tool": "A"},
    ]
    turn = {"kind": "turned", "turns": 6}
    rod = {"kind": "pin in", "pin": "balance shaft rod", "use": "check", "depth_mm": 64}
    proof = [
        {"kind": "mark", "at": "all", "reads": "on"},
        rod,
        {"kind": "pointer", "at": "tensioner", "reads": "in the notch"},
    ]
    tight = {
        "kind": "deflection",
        "at": "right balance shaft:balance drive wheel",
        "deflection_mm": 6,
        "u_mm": 0.1,
        "force_n": 40,
    }
    both = judged(HEAD, main, second, turn, proof, tight, ASKED, drive=ELDER)
    assert verdict(both) == "proven"
    late = judged(HEAD, main, turn, proof, second, tight, ASKED, drive=ELDER)
    assert verdict(late, POINTER_ID) == "proven"
    assert verdict(late, "timing-camshaft") == "proven"
    assert verdict(late, "timing-right-balance-shaft") == "not shown"
    assert verdict(late, "two-turns@balance") == "not shown"
    shallow = judged(HEAD, main, second, turn, [proof[0], {**rod, "depth_mm": 40}, proof[2]], tight, ASKED, drive=ELDER)
    assert verdict(shallow, "timing-left-balance-shaft") == "not met"
    no_rod = judged(HEAD, main, second, turn, [proof[0], proof[2]], tight, ASKED, drive=ELDER)
    assert verdict(no_rod, "timing-left-balance-shaft") == "not shown"


def test_the_static_pump_timing_step_may_turn_back() -> None:
    fit = [
        {"kind": "belt fitted", "teeth": 144, "arrow": "none", "done": "thread-belt"},
        {"kind": "adjuster moved", "done": "set-tensioner"},
        {"kind": "torque", "fastener": "all", "to_plan": True, "tool": "A", "done": "set-tensioner"},
        {**TURN, "done": "turn-by-hand"},
        {"kind": "twist", "at": "roller:camshaft", "as_prescribed": True, "done": "prove-setting"},
    ]
    pump = [
        {"kind": "turned", "turns": 0, "turned_back": 25, "done": "static-pump-timing"},
        {"kind": "pump lift", "lift_mm": 0.92, "done": "static-pump-timing"},
    ]
    again = [
        {**TURN, "done": "turn-after-pump-timing"},
        {"kind": "mark", "at": "all", "reads": "on", "done": "prove-after-pump-timing"},
        {**ASKED, "done": "hand-over"},
    ]
    assert verdict(judged(HEAD, fit, pump, again, drive=DAMSON)) == "proven"
    elsewhere = [{**pump[0], "done": "prove-setting"}, pump[1]]
    assert verdict(judged(HEAD, fit, elsewhere, again, drive=DAMSON), "twist-of-the-slack-span") == "not shown"
    no_turns = judged(HEAD, fit, pump, again[1:], drive=DAMSON)
    assert verdict(no_turns) == "not shown"


def test_the_last_question_is_asked_after_the_last_turns() -> None:
    check = "nothing-moved"
    assert verdict(judged(HEAD, FIT, TURN, PINS, POINTER), check) == "not shown"
    assert verdict(judged(HEAD, FIT, ASKED, TURN, PINS, POINTER), check) == "not shown"
    yes = {"kind": "moved at end", "moved": True}
    again = [TURN, PINS, POINTER, ASKED]
    assert verdict(judged(HEAD, FIT, PROVE, yes, again), NUT) == "not shown", "what was moved is not told"
    assert verdict(judged(HEAD, FIT, PROVE, yes, FIT[2], again)) == "proven"


def test_an_override_of_no_check_is_warned_of_with_the_nearest() -> None:
    override = {"kind": "override", "check": POINTER_ID[:-2], "reason": "by letter", "by": "Lead"}
    (warning,) = judged(HEAD, FIT, override).override_warnings
    assert warning.startswith(f'Entry 7: no check has the id "{POINTER_ID[:-2]}"; perhaps "{POINTER_ID}"')
    assert judged(HEAD, FIT, {**override, "check": POINTER_ID}).override_warnings == ()


def test_an_override_is_told_and_changes_no_verdict() -> None:
    wrong = {"kind": "pointer", "reads": "past", "off_deg": 9}
    override = {"kind": "override", "check": [POINTER_ID, "nonsense"], "reason": "maker agreed by letter", "by": "Lead"}
    found = judged(HEAD, FIT, TURN, PINS, wrong, ASKED, override)
    assert verdict(found) == "not met"
    assert [(one.check, one.by, one.known) for one in found.overrides] == [
        (POINTER_ID, "Lead", True),
        ("nonsense", "Lead", False),
    ]


def test_two_men_and_everything_typed_at_the_end() -> None:
    rows = [
        {**PINS, "done": "prove-timing", "by": "B. Second"},
        {**ASKED, "done": "hand-over"},
        {**POINTER, "done": "prove-setting"},
        {**TURN, "done": "turn-by-hand", "by": "A. First"},
        {**FIT[2], "done": "finish-setting"},
        {**FIT[1], "done": "finish-setting", "note": "typed after the torque, done before it"},
        {**FIT[0], "done": "thread-belt"},
    ]
    found = judged(HEAD, rows)
    assert verdict(found, POINTER_ID) == "proven"
    assert verdict(found, NUT) == "not shown", "within one step the list tells the order"
    rows[4], rows[5] = rows[5], rows[4]
    assert verdict(judged(HEAD, rows)) == "proven"


def test_sensor_recordings_find_a_tooth_and_count_only_after_the_turns() -> None:
    """Edges of the drive file plus 15 crank degrees: one tooth of 24 at the crankshaft, by 360/24."""
    late = [
        {"shaft": "inlet camshaft", "edge": "falling", "angle_deg": 96 + 84 + 15.0, "u_deg": 0.1},
        {"shaft": "exhaust camshaft", "edge": "rising", "angle_deg": 262 + 84, "u_deg": 0.1},
    ]
    capture = {"kind": "capture", "file": "a.csv", "reading": {"edges": late, "rpm": 250}}
    found = judged(HEAD, FIT, TURN, PINS, POINTER, capture, ASKED)
    assert verdict(found) == "not met"
    inlet = found.check("phase-inlet-camshaft")
    assert inlet.verdict.value == "not met"
    assert any("one tooth late" in note for note in inlet.notes)
    assert verdict(found, "phase-exhaust-camshaft") == "proven"
    assert verdict(judged(HEAD, FIT, capture, TURN, PINS, POINTER, ASKED)) == "not shown"
    paper = judged(HEAD, FIT, PROVE)
    assert not paper.check("phase-inlet-camshaft").required


def test_what_no_setting_changes_counts_whenever_it_was_measured() -> None:
    text = (
        shipped_drives()["birch-two-cams"]
        + """
[[requirement]]
id = "play of the guide roller"
quantity = "play"
high = 0.05
unit = "mm"
at = "guide roller"
"""
    )
    drive = read_drive(text, "birch with play")
    play = {"kind": "measured", "quantity": "play", "at": "guide roller", "value": 0.01, "u": 0.005}
    assert verdict(judged(HEAD, FIT, PROVE, drive=drive)) == "not shown"
    assert verdict(judged(HEAD, play, FIT, PROVE, drive=drive)) == "proven"
    assert verdict(judged(HEAD, {**play, "value": 0.2}, FIT, PROVE, drive=drive)) == "not met"


def test_a_requirement_replaces_the_default_of_the_same_place() -> None:
    text = (
        shipped_drives()["fir-vee-six"]
        + """
[[requirement]]
id = "left mark"
quantity = "mark"
low = -0.6
high = 0.6
unit = "teeth"
at = "left camshaft"

[[requirement]]
id = "torque of the ram bolts"
quantity = "torque"
low = 20.0
high = 25.0
at = "ram bolts"
"""
    )
    drive = read_drive(text, "fir with its own limits")
    half = {"kind": "mark", "at": "left camshaft", "reads": "half", "way": "late"}
    bolts = {"kind": "torque", "fastener": "ram bolts", "tool": "A"}
    fitted = {"kind": "belt fitted", "teeth": 183, "arrow": "none"}
    found = judged(HEAD, fitted, {**bolts, "set": 20.5}, TURN, half, drive=drive)
    assert verdict(found, "timing-left-camshaft") == "proven"
    assert verdict(found, "left-mark") == "proven"
    assert verdict(found, "torque-ram-bolts") == "proven"
    assert verdict(judged(HEAD, {**bolts, "set": 26}, drive=drive), "torque-ram-bolts") == "not met"
    assert verdict(judged(HEAD, {**bolts, "set": 26}, drive=FIR), "torque-ram-bolts") == "proven"


def test_loosening_what_holds_the_tensioner_voids_though_it_locks_nothing_by_name() -> None:
    drive = engine("cedar-common-rail")
    rows = [
        {"kind": "belt fitted", "teeth": 119, "arrow": "none"},
        TURN,
        {"kind": "waited", "minutes": 2},
        {**POINTER, "at": "tensioner"},
    ]
    assert verdict(judged(HEAD, rows, drive=drive), POINTER_ID) == "proven"
    assert verdict(judged(HEAD, rows[:2], rows[3], drive=drive), POINTER_ID) == "not shown", "it must settle"
    loose = {"kind": "loosened", "fastener": "tensioner bolt"}
    assert verdict(judged(HEAD, rows, loose, drive=drive), POINTER_ID) == "not shown"
