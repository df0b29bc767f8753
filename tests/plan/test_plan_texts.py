"""What the steps say to this drive: values, ways to turn, conditions (common practice, no source)."""

from __future__ import annotations

import re

import pytest
from tests.plan.plan_drives import KNOWN, SIX, demo, demo_plan, demo_text, ids, said, small

from twoturn.drive.load import read_drive
from twoturn.plan import VehicleFacts, make_plan
from twoturn.plan.lists import minutes


def test_stages_of_tightening_are_spelled_out() -> None:
    assert "80 N·m, then loosen by 180°, then 60 N·m, then turn on by 120°" in said(
        demo_plan("cedar-common-rail"), "fit-covers"
    )
    assert "20 N·m, then turn on by 55°" in said(demo_plan("birch-two-cams"), "tighten-hubs")


def test_a_left_hand_thread_is_told_at_loosening_and_at_tightening() -> None:
    elder = demo_plan("elder-balance-shafts")
    assert "left-hand thread, loosens clockwise" in said(elder, "loosen-damper-bolt")
    assert "left-hand thread, tightens counter-clockwise" in said(elder, "fit-covers")
    assert "Left-hand" not in said(demo_plan("alder-one-cam"), "loosen-damper-bolt")


def test_the_setting_sequence_of_an_automatic_roller_with_the_way_to_turn() -> None:
    birch = demo_plan("birch-two-cams")
    first, second = birch.step("set-tensioner").acts, birch.step("finish-setting").acts
    assert first[0].startswith("Turn the setting eccentric counter-clockwise, seen facing the belt end, until")
    assert "end of its travel" in first[0]
    assert first[1].startswith("Nip up the tensioner nut")
    assert second[0].startswith("Loosen the tensioner nut")
    assert second[1].startswith("Now ease back: turn the setting eccentric clockwise")
    assert "stands in the notch" in second[1]
    assert second[2] == "Hold the setting eccentric still and tighten the tensioner nut: 25 N·m."
    assert "6 o'clock" in second[3]


@pytest.mark.parametrize(
    ("kind", "keys", "way"),
    [
        ("double eccentric", 'adjust_turns = "clockwise"\ntightens = "counter-clockwise"', "clockwise"),
        ("double eccentric", 'adjust_turns = "counter-clockwise"\ntightens = "clockwise"', "counter-clockwise"),
        ("locked eccentric", 'tightens = "counter-clockwise"', "counter-clockwise"),
    ],
)
def test_the_way_to_turn_follows_the_kind(kind: str, keys: str, way: str) -> None:
    plan = make_plan(small(kind, f'{keys}\nsetting = [{{ to = "notch" }}]'))
    assert f" {way}, seen facing the belt end, until the pointer" in said(plan, "set-tensioner")
    other = "counter-clockwise" if way == "clockwise" else "clockwise"
    assert f" {other}, seen facing" in said(plan, "unload-tensioner")


def test_an_act_that_gives_its_own_way_is_obeyed_and_an_unknown_way_is_not_made_up() -> None:
    own = 'adjust_turns = "clockwise"\nsetting = [{ to = 5.0, way = "counter-clockwise" }]'
    assert "counter-clockwise, seen facing the belt end, until the pointer stands 5° past the notch" in said(
        make_plan(small(tensioner=own)), "set-tensioner"
    )
    plain = make_plan(small(tensioner='setting = [{ to = "notch" }]'))
    assert "the way the vehicle maker shows" in said(plain, "set-tensioner")


def test_a_slide_moves_towards_a_place_on_the_clock() -> None:
    plan = make_plan(small("slide", 'tightens_deg = 90.0\nsetting = [{ to = "notch" }]'))
    assert "Push the roller on its slide towards 3 o'clock until" in said(plan, "set-tensioner")
    assert "towards 9 o'clock" in said(plan, "unload-tensioner")


@pytest.mark.parametrize("kind", ["locked eccentric", "double eccentric", "sprung arm", "slide", "hydraulic"])
def test_a_drive_without_a_sequence_gets_the_usual_one_and_says_so(kind: str) -> None:
    plan = make_plan(small(kind))
    assert "usual one of this kind" in said(plan, "set-tensioner")
    assert "turn-by-hand" in ids(plan)


def test_turning_counter_clockwise_engines_the_other_way() -> None:
    plan = make_plan(small(turns="counter-clockwise"))
    assert plan.step("turn-by-hand").title == "Turn the crankshaft two turns counter-clockwise by hand"
    assert "arrow along travel: counter-clockwise" in said(plan, "compare-new-belt")


def test_a_nut_tightened_after_the_reading_is_the_final_torque() -> None:
    cedar = demo_plan("cedar-common-rail")
    assert "25 N·m" in said(cedar, "final-torque")
    assert "25 N·m" not in said(cedar, "set-tensioner")
    assert cedar.step("prove-setting").precondition == "Wait 2 min after the last turn."


def test_an_adjustment_after_the_last_turns_is_followed_by_turns() -> None:
    acts = '{ to = "maximum" }, { turns = 2 }, { to = "notch" }, { hold = true }, { fastener = "nut" }'
    rest = '[[fastener]]\nid = "nut"\nstages = [{ torque_nm = 20.0 }]'
    order = ids(make_plan(small(tensioner=f"setting = [{acts}]", rest=rest)))
    at = [order.index(one) for one in ("set-tensioner", "turn-to-settle", "finish-setting", "turn-by-hand")]
    assert at == sorted(at)


def test_turns_bring_every_mark_back() -> None:
    # oil pump 4/3 and camshaft 1/2 turn a crank turn: both are whole first after 6 turns (lcm of 3 and 2)
    elder = demo_plan("elder-balance-shafts")
    assert "six turns" in elder.step("turn-by-hand").title
    assert "Two turns settle the belt" in said(elder, "turn-by-hand")
    assert "two turns" in demo_plan("fir-vee-six").step("turn-by-hand").title


def test_painted_lines_need_not_meet() -> None:
    # 109 teeth, sprockets of 20 and 40: lcm 4360, 4360/20 = 218 turns
    assert "only after 218 turns" in said(demo_plan("alder-one-cam"), "turn-by-hand")


def test_threading_order_in_words_with_the_teeth_between_the_marks() -> None:
    fir = said(demo_plan("fir-vee-six"), "thread-belt")
    assert "crankshaft → guide roller → right camshaft → coolant pump → left camshaft → tensioner" in fir
    assert "crankshaft to left camshaft 48 teeth" in fir
    assert " teeth" not in " ".join(value.value for value in demo_plan("damson-rotary-pump").step("thread-belt").values)


def test_the_order_that_the_drive_file_gives_is_used() -> None:
    rest = '[fit]\norder = ["camshaft", "crankshaft", "roller"]'
    assert "camshaft → crankshaft → roller" in said(make_plan(small(rest=rest)), "thread-belt")


def test_pins_are_told_with_size_depth_and_purpose() -> None:
    text = said(demo_plan("birch-two-cams"), "pins-in")
    assert "Crankshaft pin, 8 mm, into the crankshaft, at least 45 mm deep (check)." in text
    assert "Bar for the inlet camshaft, 5 mm, into the inlet camshaft (hold)." in text


def test_a_friction_joint_is_final_before_the_turns_and_a_keyed_one_at_the_end() -> None:
    assert "50 N·m, then turn on by 180°" in said(demo_plan("birch-two-cams"), "tighten-crank-joint")
    alder = demo_plan("alder-one-cam")
    assert "tighten-crank-joint" not in ids(alder)
    assert "40 N·m, then turn on by 90°" in said(alder, "fit-covers")
    assert "Turn with the old crankshaft bolt" in said(alder, "turn-by-hand")
    assert "the loose sprocket stays behind" in said(demo_plan("birch-two-cams"), "remove-damper-and-lower-cover")
    assert "the loose sprocket stays behind" not in said(alder, "remove-damper-and-lower-cover")


def test_a_fuel_that_nobody_named_has_the_cautions_of_every_fuel() -> None:
    text = demo_text("alder-one-cam").replace('fuel = "petrol"', "") + "\n"
    text = text.replace("[fluids]", "[fluids]\nfuel_opened = true")
    plan = make_plan(read_drive(text, "fuel.toml"))
    assert {"fuel-pressure", "fuel-fire"} <= {c.id for c in plan.step("let-fuel-pressure-fall").cautions}


def test_torque_tools_are_chosen_by_their_range() -> None:
    assert "lower-range" in {caution.id for caution in demo_plan("alder-one-cam").step("lay-out-parts").cautions}


def test_an_engine_whose_valves_clear_the_pistons_needs_no_crank_off_tdc() -> None:
    text = demo_text("alder-one-cam").replace('interference = "yes"', 'interference = "no"')
    plan = make_plan(read_drive(text, "clear.toml"))
    assert "crank-off-tdc" not in ids(plan)
    assert not any(caution.id == "valves-meet-pistons" for step in plan.steps for caution in step.cautions)
    assert "60° counter-clockwise" in said(demo_plan("alder-one-cam"), "crank-off-tdc")


def test_a_belt_in_oil_reverses_the_rules() -> None:
    text = demo_text("alder-one-cam").replace('id = "timing belt"', 'id = "timing belt"\nin_oil = true')
    plan = make_plan(read_drive(text, "oil.toml"))
    everything = " ".join(said(plan, step.id) for step in plan.steps)
    assert "This belt runs in oil" in everything
    assert "wipe the sprockets dry" not in everything
    assert "check the oil for fuel and the strainer" in said(plan, "look-at-old-belt")


def test_what_is_not_known_of_the_vehicle_is_a_condition() -> None:
    plan = demo_plan("birch-two-cams")
    assert plan.step("isolate-high-voltage").only_if == "If the vehicle is a hybrid"
    assert plan.step("check-after-break").only_if == "If the belt is broken or has jumped"
    assert "If the vehicle has stop-start" in said(plan, "isolate-battery")


def test_what_is_known_of_the_vehicle_decides() -> None:
    hybrid = demo_plan("birch-two-cams", VehicleFacts(hybrid=True, stop_start=True, belt_broken=False))
    assert hybrid.step("isolate-high-voltage").only_if == ""
    assert "stop-start" in {caution.id for caution in hybrid.step("isolate-battery").cautions}
    assert "isolate-high-voltage" not in ids(demo_plan("birch-two-cams", KNOWN))
    assert "hybrid" not in said(demo_plan("birch-two-cams", KNOWN), "first-start").lower()


def test_a_broken_belt_is_not_cranked_and_looked_into_before_a_quotation() -> None:
    plan = demo_plan("birch-two-cams", VehicleFacts(belt_broken=True))
    assert "arrival-checks" not in ids(plan)
    assert "do-not-crank" in {caution.id for caution in plan.step("check-after-break").cautions}
    assert "Leak-down test or borescope" in said(plan, "check-after-break")
    assert "stop at the first resistance" in said(plan, "turn-to-setting-position")
    assert "no piston to TDC before the camshafts are on their marks" in said(plan, "turn-to-setting-position")


def test_a_whole_belt_too_can_meet_a_hard_stop() -> None:
    step = demo_plan("birch-two-cams", KNOWN).step("turn-to-setting-position")
    assert "hard-stop" in {caution.id for caution in step.cautions}


def test_a_warm_engine_moves_the_pointer_of_an_automatic_roller() -> None:
    values = {v.what: v.value for v in demo_plan("birch-two-cams").step("finish-setting").values}
    (reading,) = (value for what, value in values.items() if "hand-warm" in what)
    assert reading.endswith("short of the notch")


def test_rods_of_balance_shafts_are_told_apart_from_pins() -> None:
    elder = demo_plan("elder-balance-shafts")
    assert "pins-in" not in ids(elder)
    for step in ("check-balance-rod", "balance-rod-before-belt", "prove-timing"):
        assert "at least 60 mm" in said(elder, step)


def test_the_lists_to_lay_out() -> None:
    birch = demo_plan("birch-two-cams")
    assert [part.name for part in birch.parts if part.single_use] == [
        "tensioner nut",
        "crankshaft bolt",
        "inlet camshaft bolt",
        "caps behind the camshafts",
    ]
    for name in SIX:
        torques = {
            stage.torque_nm for item in demo(name).file.fastener for stage in item.stages if stage.torque_nm is not None
        }
        tools = demo_plan(name).torque_tools
        assert torques == {torque for tool in tools for torque in tool.torques_nm}
        assert all(tool.low_nm <= torque <= tool.high_nm for tool in tools for torque in tool.torques_nm)


def test_single_use_fasteners_and_belts_are_listed_even_when_the_file_forgets_them() -> None:
    rest = '[[fastener]]\nid = "nut"\nthread = "M8"\nsingle_use = true\ncount = 2\nstages = [{ torque_nm = 20.0 }]'
    names = {part.name: part.count for part in make_plan(small(rest=rest)).parts}
    assert names["nut"] == 2
    assert names["belt, 120 teeth"] == 1


def test_time_comes_from_three_jobs_of_the_shop_and_never_from_fewer() -> None:
    assert minutes(None) is None
    assert minutes([150.0, 170.0]) is None
    found = minutes([150.0, 170.0, 200.0])
    assert found is not None
    assert (found.low, found.high, found.jobs) == (154, 194, 3)  # linear tenth and ninetieth percentile, by hand
    assert make_plan(demo("alder-one-cam"), shop_times_min=[150.0, 170.0, 200.0]).minutes == found


def test_a_list_drive_says_what_it_lacks() -> None:
    assert any("no coordinates" in note for note in demo_plan("damson-rotary-pump").notes)
    assert not any("no coordinates" in note for note in demo_plan("alder-one-cam").notes)


def test_an_inner_belt_goes_on_before_the_outer_one_and_one_turning_proves_both() -> None:
    text = demo_text("elder-balance-shafts").replace('["balance", "main"]', '["main", "balance"]')
    order = ids(make_plan(read_drive(text, "inner.toml")))
    rules = ["belt-off", "belt-off@balance", "thread-belt@balance", "set-tensioner@balance", "thread-belt"]
    rules += ["set-tensioner", "turn-by-hand", "prove-timing", "prove-setting@balance"]
    assert [order.index(step) for step in rules] == sorted(order.index(step) for step in rules)
    assert "turn-by-hand@balance" not in order
    assert "right balance shaft" in said(make_plan(read_drive(text, "inner.toml")), "prove-timing")


@pytest.mark.parametrize(
    ("requirement", "step"),
    [
        ('quantity = "torque"\nat = "roller"\nlow = 9.0', "fit-covers"),
        ('quantity = "compression"\nlow = 9.0', "arrival-checks"),
        ('quantity = "runout"\nhigh = 0.1\nstate = "after turns"', "check-what-stays"),
        ('quantity = "deflection"\nhigh = 5.0\nstate = "as found"', "record-as-found"),
        ('quantity = "frequency"\nlow = 90.0\nat = "roller:camshaft"', "prove-setting"),
    ],
)
def test_no_requirement_gets_lost(requirement: str, step: str) -> None:
    plan = make_plan(small(rest=f'[[requirement]]\nid = "wanted"\n{requirement}'))
    assert "wanted" in {value.id for value in plan.step(step).values}
    assert "wanted" in {record.id for record in plan.step(step).records}


def test_a_span_to_pluck_is_told_with_the_note_to_expect() -> None:
    # the range must hold what the (invented) workshop sheet in the drive file requires of that span
    told = re.search(
        r"\(roller to camshaft, ([\d.]+) to ([\d.]+) Hz; cold", said(demo_plan("alder-one-cam"), "record-as-found")
    )
    assert told is not None
    needed = next(row for row in demo("alder-one-cam").file.requirement if row.quantity == "frequency")
    assert needed.low is not None
    assert needed.high is not None
    assert float(told[1]) < needed.low < needed.high < float(told[2])


def test_a_span_whose_note_nothing_tells_is_named_alone() -> None:
    acts = said(make_plan(small(rest="[access]\nreachable = ['roller:camshaft']\n"), KNOWN), "record-as-found")
    assert "(roller to camshaft) and record its note" in acts
