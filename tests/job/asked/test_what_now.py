"""The one line on top: what is done next, by the order of the work (common practice, no source)."""

from __future__ import annotations

from dataclasses import replace

import pytest
from tests.job.asked.answering import ENGINES, GAUGED, Bench

from twoturn.quantity.conformity import Verdict


@pytest.mark.parametrize("name", ENGINES)
def test_who_does_what_the_line_says_ends_at_the_hand_over(name: str) -> None:
    bench = Bench(name)
    order = [step.id for step in bench.plan.steps]
    seen = []
    for _ in range(90):
        now = bench.now
        if now.sort == "hand over":
            break
        assert now.sort == "do"
        assert now.words
        assert not any(words.startswith("Also open before") for words in now.words)
        seen.append(order.index(now.step_id))
        _do_what_it_says(bench)
    assert bench.found.verdict is Verdict.PROVEN
    assert seen == sorted(seen)
    done = {order[at] for at in seen}
    assert {"identify-vehicle", "isolate-battery", "turn-to-setting-position", "belt-off", "road-test"} <= done
    assert (bench.now.title, bench.now.words) == ("Hand over", ("Everything that is required is proven.",))
    assert bench.now.asked_id == "hand-over/signed"
    bench.tap("hand-over/signed")
    assert bench.now.asked_id is None


def _do_what_it_says(bench: Bench) -> None:
    """Answer what the line asks; where a note is asked for, the deflection that may stand for it."""
    one = bench.every[bench.now.asked_id or ""]
    if one.kind == "odometer":
        bench.type(one.id, {"km": "118900"})
    elif one.quick is None and one.id not in GAUGED:
        bench.answer(next(other for other in bench.every.values() if other.kind == "deflection" and other.needed))
    else:
        bench.answer(one)


def test_a_fresh_job_begins_with_the_vehicle_and_its_odometer() -> None:
    bench = Bench("alder-one-cam")
    assert bench.now.asked_id == "identify-vehicle/vehicle"
    bench.tap("identify-vehicle/vehicle")
    assert bench.now.asked_id == "identify-vehicle/odometer"
    bench.type("identify-vehicle/odometer", {"km": "118900"})
    assert bench.now.step_id == "check-due"


def test_steps_that_nothing_is_tapped_at_are_told_on_the_way() -> None:
    bench = Bench("alder-one-cam")
    bench.tap("cool-and-temperature/temperature")
    now = bench.now
    assert now.step_id == "turn-to-setting-position"
    assert "On the way: step 10 Drain the coolant; step 11 Liner, auxiliary belt and upper cover off" in now.words


def test_what_was_passed_over_stops_nobody_and_what_is_needed_is_told() -> None:
    bench = Bench("alder-one-cam")
    bench.tap("turn-to-setting-position/step-done")
    now = bench.now
    assert now.step_id == "record-as-found"
    assert now.words[-1] == "Also open before: step 9 Let it cool; take the block's temperature"
    assert not any("battery" in words for words in now.words)


def test_no_cover_goes_on_and_nothing_is_started_before_what_is_needed_is_done() -> None:
    bench = Bench("alder-one-cam")
    bench.work_on("turn-by-hand")
    bench.tap("fit-covers/torque/all")
    assert bench.now.step_id == "turn-by-hand"
    bench.work_on("hand-over")
    assert bench.now.asked_id == "fit-covers/step-done"


def test_a_second_question_of_a_step_comes_before_the_next_step() -> None:
    bench = Bench("alder-one-cam")
    bench.work_on("set-tensioner/torque")
    assert bench.now.asked_id == "set-tensioner/torque"


def test_the_line_says_torque_and_tool_of_what_is_left() -> None:
    bench = Bench("birch-two-cams")
    bench.work_on("tighten-hubs")
    now = bench.now
    assert now.title.startswith("Tighten the sprockets of the exhaust camshaft and the inlet camshaft")
    assert "exhaust camshaft bolt (M12): 60 N·m" in now.words
    assert "inlet camshaft bolt (M12): 20 N·m, then turn on by 55°" in now.words
    assert now.words[-1] == "Tool A"
    bench.type("tighten-hubs/torque", {"fastener": ("exhaust camshaft bolt",), "tool": ("A",)})
    assert not any("exhaust camshaft bolt" in words for words in bench.now.words)


def test_the_line_says_how_long_to_wait_before_a_tensioner_is_read() -> None:
    bench = Bench("fir-vee-six")
    bench.work_on("prove-setting")
    assert bench.now.words[0] == "Wait 5 min"
    assert bench.now.asked_id == "prove-setting/waited"


def test_the_line_says_which_way_a_tensioner_tightens_and_how_the_crankshaft_turns() -> None:
    bench = Bench("alder-one-cam")
    bench.work_on("set-tensioner/adjuster")
    assert bench.now.words[0].startswith("Turn the roller's eccentric clockwise")
    bench.work_on("turn-by-hand")
    assert bench.now.title == "Turn the crankshaft two turns clockwise by hand"
    sprung = Bench("cedar-common-rail")
    sprung.work_on("set-tensioner/adjuster")
    assert sprung.now.words[0] == "Tightens clockwise"


def test_where_the_eccentric_is_eased_back_the_line_does_not_say_the_other_way() -> None:
    bench = Bench("birch-two-cams")
    bench.work_on("finish-setting")
    assert any("ease back: turn the setting eccentric clockwise" in words for words in bench.now.words)
    assert not any(words.startswith("Tightens") for words in bench.now.words)


def test_the_line_says_what_is_done_with_each_pin() -> None:
    bench = Bench("birch-two-cams")
    bench.work_on("prove-timing/pin-in")
    assert (
        "Crankshaft pin, 8 mm, into the crankshaft, at least 45 mm deep: slides in by hand, then out again at once."
        in (bench.now.words)
    )


def test_a_severe_finding_is_cured_first_whatever_else_is_open() -> None:
    bench = Bench("alder-one-cam")
    bench.type("check-what-stays/finding", {"except": ("leak-oil",)})
    now = bench.now
    assert (now.sort, now.step_id) == ("cure first", "check-what-stays")
    assert now.title.startswith("Cure first: ")
    assert now.asked_id == "check-what-stays/cured/leak-oil"
    bench.type(now.asked_id, {"how": "camshaft seal renewed"})
    assert bench.now.sort == "do"
    bench.work_on()
    assert bench.found.verdict is Verdict.PROVEN


def test_cured_after_the_belt_went_on_leads_back_to_the_belt() -> None:
    bench = Bench("alder-one-cam")
    bench.work_on()
    bench.type("arrival-checks/finding", {"finding": ("leak-oil",)})
    cure = {"kind": "cured", "finding": "leak-oil", "how": "seal renewed", "done": "fit-covers"}
    bench.enter(cure)
    now = bench.now
    assert (now.sort, now.step_id) == ("not met", "thread-belt")
    assert "Fit a new belt now that it is cured." in now.words


@pytest.mark.parametrize(
    ("asked_id", "given", "step"),
    [
        ("prove-timing/mark", {"at": ("camshaft",), "reads": "one", "way": "late"}, "set-shafts"),
        ("prove-setting/deflection/deflection-roller-camshaft", {"deflection_mm": "9"}, "set-tensioner"),
        ("thread-belt/belt-fitted", {"teeth": "108", "teeth_from": "print", "arrow": "with travel"}, "thread-belt"),
        ("set-tensioner/torque", {"row.roller nut": "40", "tool": ("A",)}, "set-tensioner"),
    ],
)
def test_what_is_not_met_says_why_and_to_which_step_it_leads_back(
    asked_id: str, given: dict[str, str], step: str
) -> None:
    bench = Bench("alder-one-cam")
    bench.work_on(asked_id.rpartition("/")[0] if "mark" in asked_id else asked_id)
    bench.type(asked_id, given)
    now = bench.now
    assert now.sort == "not met"
    assert now.title.startswith("Not met: ")
    assert now.step_id == step
    assert now.words[-1] == f"Go back to: {bench.plan.step(step).title}."
    assert bench.found.verdict is Verdict.NOT_MET


def test_on_a_belt_of_its_own_the_way_back_stays_on_that_belt() -> None:
    bench = Bench("elder-balance-shafts")
    reading = "prove-setting@balance/deflection/deflection-right-balance-shaft-balance-drive-wheel"
    bench.work_on(reading)
    bench.type(reading, {"deflection_mm": "12"})
    assert bench.now.step_id == "set-tensioner@balance"
    bench = Bench("elder-balance-shafts")
    bench.work_on("prove-timing@balance")
    bench.type("prove-timing@balance/mark", {"at": ("right balance shaft",), "reads": "one", "way": "early"})
    assert bench.now.step_id == "thread-belt@balance"


def test_who_went_back_is_asked_everything_from_there_on_anew_and_ends_proven() -> None:
    bench = Bench("alder-one-cam")
    reading = "prove-setting/deflection/deflection-roller-camshaft"
    bench.work_on(reading)
    bench.type(reading, {"deflection_mm": "9"})
    back = bench.now.step_id
    bench.go_back(back, "deflection too large")
    now = bench.now
    assert (now.sort, now.step_id, now.asked_id) == ("do", back, f"{back}/adjuster-moved/roller")
    assert bench.every["thread-belt/belt-fitted"].answered
    assert bench.every[reading].round == 2
    assert not bench.every[reading].answered
    assert bench.every[reading].id == reading
    bench.work_on()
    assert bench.found.verdict is Verdict.PROVEN
    assert bench.now.sort == "hand over"


def test_who_went_back_to_where_the_shafts_stand_is_led_through_every_step_from_there() -> None:
    bench = Bench("alder-one-cam")
    bench.work_on("prove-timing")
    bench.type("prove-timing/mark", {"at": ("camshaft",), "reads": "one", "way": "late"})
    bench.go_back(bench.now.step_id, "camshaft one tooth late")
    led = []
    for _ in range(4):
        led.append(bench.now.step_id)
        _do_what_it_says(bench)
    assert led == ["set-shafts", "thread-belt", "set-tensioner", "set-tensioner"]


def test_too_few_turns_are_told_at_once_and_not_only_at_the_end() -> None:
    bench = Bench("alder-one-cam")
    bench.work_on("turn-by-hand")
    bench.type("turn-by-hand/turned", {"turns": "1"})
    now = bench.now
    assert (now.step_id, now.asked_id) == ("turn-by-hand", "turn-by-hand/turned")
    assert "one turn" in now.words[0]
    bench.type("turn-by-hand/turned", {"turns": "1"})
    assert bench.now.step_id == "prove-timing"


def test_a_step_that_was_left_with_its_reason_is_not_asked_again() -> None:
    bench = Bench("birch-two-cams")
    bench.work_on("prove-setting")
    bench.type("prove-setting/step-done", {"yes": "no", "note": "gauge is away"})
    assert bench.now.step_id != "prove-setting"
    for _ in range(20):
        if bench.now.sort == "hand over":
            break
        _do_what_it_says(bench)
    assert bench.now.words[0].startswith("Not shown, and listed on the sheet: Pointer")


def test_what_was_answered_and_still_is_not_shown_comes_after_the_work() -> None:
    old = replace(Bench("damson-rotary-pump").known.tools[0], low_nm=5, high_nm=100, calibrated=None)
    bench = Bench("damson-rotary-pump", known=replace(Bench("damson-rotary-pump").known, tools=(old,)))
    bench.enter({"kind": "tool", "tool": "A", "low_nm": 5, "high_nm": 100, "done": "lay-out-parts"})
    bench.work_on()
    now = bench.now
    assert (now.sort, now.title.partition(":")[0]) == ("not shown", "Not shown yet")
    assert (now.asked_id or "").endswith("/torque")


def test_a_lead_who_names_what_is_not_met_is_led_to_the_hand_over() -> None:
    bench = Bench("birch-two-cams")
    reading = "prove-setting/pointer/pointer-tensioner"
    bench.work_on(reading)
    bench.type(reading, {"reads": "past", "widths": "3"})
    assert bench.now.sort == "not met"
    bench.enter({"kind": "override", "check": "pointer-after-the-turns", "reason": "owner wants it so"})
    bench.work_on()
    assert bench.now.sort == "hand over"
    assert bench.now.words[0].startswith("Not met, so a lead hands over")
