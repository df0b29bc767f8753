"""The order of the work (common practice, no source): a rule holds in every plan that has both steps."""

from __future__ import annotations

import pytest
from tests.plan.plan_drives import KNOWN, SIX, demo, demo_plan, ids

from twoturn.job.entries.union import KINDS
from twoturn.plan import VehicleFacts, make_plan, step_order
from twoturn.plan.model import STAGES, Plan
from twoturn.plan.order import CATALOGUE

BEFORE = [
    ("lay-out-parts", "secure-vehicle"),
    ("arrival-checks", "isolate-battery"),
    ("isolate-battery", "isolate-high-voltage"),
    ("isolate-high-voltage", "open-covers"),
    ("cool-and-temperature", "drain-coolant"),
    ("let-fuel-pressure-fall", "open-covers"),
    ("prop-engine", "belt-off"),
    ("turn-to-setting-position", "record-as-found"),
    ("record-as-found", "loosen-damper-bolt"),
    ("record-as-found", "unload-tensioner"),
    ("loosen-damper-bolt", "pins-in"),
    ("pins-in", "unload-tensioner"),
    ("hold-springy-cams", "belt-off"),
    ("unload-tensioner", "belt-off"),
    ("belt-off", "crank-off-tdc"),
    ("belt-off", "look-at-old-belt"),
    ("crank-off-tdc", "set-shafts"),
    ("look-at-old-belt", "check-what-stays"),
    ("check-what-stays", "renew-pump-and-seals"),
    ("renew-pump-and-seals", "thread-belt"),
    ("fit-rollers-and-tensioner", "thread-belt"),
    ("compare-new-belt", "thread-belt"),
    ("set-shafts", "thread-belt"),
    ("balance-rod-before-belt", "thread-belt"),
    ("thread-belt", "set-tensioner"),
    ("set-tensioner", "tighten-hubs"),
    ("tighten-hubs", "pins-out"),
    ("tighten-crank-joint", "turn-by-hand"),
    ("pins-out", "turn-to-settle"),
    ("pins-out", "turn-by-hand"),
    ("cam-holders-off", "turn-by-hand"),
    ("turn-to-settle", "finish-setting"),
    ("finish-setting", "turn-by-hand"),
    ("set-tensioner", "turn-by-hand"),
    ("turn-by-hand", "prove-timing"),
    ("turn-by-hand", "prove-setting"),
    ("prove-timing", "final-torque"),
    ("prove-setting", "final-torque"),
    ("prove-timing", "static-pump-timing"),
    ("static-pump-timing", "turn-after-pump-timing"),
    ("turn-after-pump-timing", "prove-after-pump-timing"),
    ("prove-timing", "fit-covers"),
    ("prove-setting@balance", "fit-covers"),
    ("prove-timing", "thread-belt@balance"),
    ("belt-off@balance", "belt-off"),
    ("set-tensioner@balance", "turn-by-hand@balance"),
    ("turn-by-hand@balance", "prove-timing@balance"),
    ("fit-covers", "crank-injection-off"),
    ("fill-coolant", "first-start"),
    ("prime-fuel", "first-start"),
    ("crank-injection-off", "first-start"),
    ("first-start", "road-test"),
    ("road-test", "hand-over"),
]
EVERY_JOB = {
    "identify-vehicle", "check-due", "lay-out-parts", "secure-vehicle", "isolate-battery", "cool-and-temperature",
    "open-covers", "turn-to-setting-position", "record-as-found", "unload-tensioner", "belt-off", "look-at-old-belt",
    "check-what-stays", "fit-rollers-and-tensioner", "compare-new-belt", "set-shafts", "thread-belt", "set-tensioner",
    "turn-by-hand", "prove-timing", "prove-setting", "fit-covers", "crank-injection-off", "first-start", "road-test",
    "hand-over",
}  # fmt: skip
SOME = {
    "alder-one-cam": {
        "drain-coolant", "renew-pump-and-seals", "fill-coolant", "crank-off-tdc", "loosen-damper-bolt",
        "remove-damper-and-lower-cover",
    },
    "birch-two-cams": {
        "prop-engine", "pins-in", "pins-out", "hold-springy-cams", "crank-off-tdc", "tighten-hubs",
        "tighten-crank-joint", "turn-to-settle", "finish-setting", "renew-caps-behind-camshafts", "loosen-damper-bolt",
        "remove-damper-and-lower-cover",
    },
    "cedar-common-rail": {
        "let-fuel-pressure-fall", "drain-coolant", "prop-engine", "unclip-fuel-bracket", "pins-in", "pins-out",
        "renew-pump-and-seals", "tighten-hubs", "final-torque", "fill-coolant", "prime-fuel", "loosen-damper-bolt",
        "remove-damper-and-lower-cover",
    },
    "damson-rotary-pump": {
        "let-fuel-pressure-fall", "pins-in", "pins-out", "crank-off-tdc", "tighten-hubs", "turn-to-settle",
        "finish-setting", "static-pump-timing", "turn-after-pump-timing", "prove-after-pump-timing", "prime-fuel",
        "loosen-damper-bolt", "remove-damper-and-lower-cover",
    },
    "elder-balance-shafts": {
        "unload-tensioner@balance", "belt-off@balance", "check-balance-rod", "crank-off-tdc", "fit-keyed-wheels",
        "balance-rod-before-belt", "thread-belt@balance", "set-tensioner@balance", "turn-by-hand@balance",
        "prove-timing@balance", "prove-setting@balance", "loosen-damper-bolt", "remove-damper-and-lower-cover",
    },
    "fir-vee-six": {
        "drain-coolant", "hold-springy-cams", "crank-off-tdc", "renew-pump-and-seals", "cam-holders-off",
        "fill-coolant", "loosen-damper-bolt", "remove-damper-and-lower-cover",
    },
}  # fmt: skip


@pytest.mark.parametrize("name", SIX)
def test_each_engine_has_the_steps_that_apply_to_it_and_no_other(name: str) -> None:
    plan = demo_plan(name, KNOWN)
    assert set(ids(plan)) == EVERY_JOB | SOME[name] | {"arrival-checks"}


@pytest.mark.parametrize("vehicle", [VehicleFacts(), KNOWN, VehicleFacts(hybrid=True, belt_broken=True)])
@pytest.mark.parametrize("name", SIX)
def test_the_order_of_the_work(name: str, vehicle: VehicleFacts) -> None:
    order = ids(demo_plan(name, vehicle))
    wrong = [
        (one, other)
        for one, other in BEFORE
        if one in order and other in order and order.index(one) > order.index(other)
    ]
    assert wrong == []


def test_every_rule_of_order_was_met_by_some_engine() -> None:
    seen = {step for name in SIX for step in ids(demo_plan(name))}
    assert [pair for pair in BEFORE if not set(pair) <= seen] == []


@pytest.mark.parametrize("name", SIX)
def test_ids_are_unique_slugs_of_the_catalogue(name: str) -> None:
    plan = demo_plan(name)
    order = ids(plan)
    assert len(order) == len(set(order))
    bases = [step.id.partition("@")[0].partition(".")[0] for step in plan.steps if not step.own]
    assert [base for base in bases if base not in CATALOGUE] == []


@pytest.mark.parametrize("name", SIX)
def test_every_step_says_what_why_and_what_to_write_down(name: str) -> None:
    for step in demo_plan(name).steps:
        assert step.stage in STAGES
        assert step.title
        assert step.applies_because
        assert step.records, step.id
        assert all(record.kind in KINDS for record in step.records), step.id
        assert all(value.value and value.what for value in step.values), step.id


@pytest.mark.parametrize("name", SIX)
def test_every_fastener_is_tightened_once_and_every_requirement_is_met_somewhere(name: str) -> None:
    plan = demo_plan(name)
    torqued = [record.id for step in plan.steps for record in step.records if record.kind == "torque"]
    assert sorted(torqued) == sorted(item.id for item in demo(name).file.fastener)
    shown = {value.id for step in plan.steps for value in step.values}
    assert {item.id for item in demo(name).file.requirement} <= shown


@pytest.mark.parametrize("name", SIX)
def test_as_many_pins_go_out_as_went_in_before_anything_turns(name: str) -> None:
    plan = demo_plan(name)
    inside: set[str] = set()
    for step in plan.steps:
        turns = any(record.kind == "turned" for record in step.records)
        assert not (turns and inside), step.id
        if step.id == "pins-in":
            inside |= {record.id for record in step.records if record.kind == "pin in" and record.id}
        if step.id == "pins-out":
            inside -= {record.id for record in step.records if record.kind == "pin out"}
    assert inside == set()
    assert len(plan.pins) == len(demo(name).file.pin)


def _cautions(plan: Plan, step_id: str) -> set[str]:
    return {caution.id for caution in plan.step(step_id).cautions}


def test_cautions_stand_where_the_step_is_taken() -> None:
    birch, fir, damson = demo_plan("birch-two-cams"), demo_plan("fir-vee-six"), demo_plan("damson-rotary-pump")
    assert "hold-crank-not-by-pin" in _cautions(birch, "loosen-damper-bolt")
    assert {"turn-at-crank", "never-backwards", "hard-stop"} <= _cautions(birch, "turn-by-hand")
    assert "pins-counted" in _cautions(birch, "pins-out")
    assert "springy-cams" in _cautions(fir, "hold-springy-cams")
    assert "ram-slow" in _cautions(fir, "unload-tensioner")
    assert "fuel-pressure" in _cautions(damson, "let-fuel-pressure-fall")
    assert "turn-back-here-only" in _cautions(damson, "static-pump-timing")
    assert "no-lever" in _cautions(birch, "thread-belt")


def test_turning_back_with_the_belt_on_is_told_in_no_step_but_the_static_pump_timing() -> None:
    for name in SIX:
        for step in demo_plan(name).steps:
            back = "Turn the crankshaft counter-clockwise" in step.text
            assert back == (step.id == "static-pump-timing"), step.id


@pytest.mark.parametrize("name", SIX)
def test_a_plan_is_made_anew_alike(name: str) -> None:
    assert make_plan(demo(name)) == make_plan(demo(name))


@pytest.mark.parametrize("name", SIX)
def test_the_order_alone_is_the_order_of_the_plan_for_an_unknown_vehicle(name: str) -> None:
    assert list(step_order(demo(name))) == ids(demo_plan(name))
