"""What a step says fits the drive at hand: no value promised that is not printed, no spring where none is."""

from __future__ import annotations

import pytest
from tests.plan.plan_drives import SIX, demo_plan, demo_text, ids, said, small

from twoturn.drive.load import read_drive
from twoturn.plan import Plan, make_plan

FIXED = 'setting = [{ to = "target" }, { hold = true }, { fastener = "nut" }, { turns = 2 }]'
NUT = '[[fastener]]\nid = "nut"\nlocks = "roller"\nstages = [{ torque_nm = 20.0 }]\n'


def _caution_ids(plan: Plan, step_id: str) -> set[str]:
    return {caution.id for caution in plan.step(step_id).cautions}


def test_a_pin_that_checks_after_the_turns_moves_no_shaft() -> None:
    birch = demo_plan("birch-two-cams")
    assert "pin-not-forced" in _caution_ids(birch, "pins-in")
    assert "move the shaft a few degrees" not in said(birch, "prove-timing")
    assert "move no shaft to make it fit" in said(birch, "prove-timing")
    for name in SIX:
        for step in demo_plan(name).steps:
            if step.stage == "prove":
                assert "a few degrees" not in said(demo_plan(name), step.id)


def test_without_a_value_the_tension_is_the_vehicle_makers() -> None:
    plan = make_plan(small("locked eccentric", FIXED, NUT))
    assert "below" not in said(plan, "set-tensioner")
    assert "until the vehicle maker's tension is reached" in said(plan, "set-tensioner")


@pytest.mark.parametrize(
    ("rest", "words"),
    [
        ('[[requirement]]\nid = "t"\nquantity = "tension"\nlow = 200.0\nat = "roller:camshaft"', "the tension below"),
        ('[[requirement]]\nid = "t"\nquantity = "hand twist"\nat = "roller:camshaft"', "the value below"),
    ],
)
def test_with_a_value_the_step_prints_it(rest: str, words: str) -> None:
    plan = make_plan(small("locked eccentric", FIXED, NUT + rest))
    assert f"until {words} is reached" in said(plan, "set-tensioner")
    assert "t" in {value.id for value in plan.step("set-tensioner").values}


def test_a_fixed_roller_has_neither_spring_nor_pointer() -> None:
    plan = make_plan(small("locked eccentric", FIXED, NUT))
    everything = " ".join(said(plan, one) + plan.step(one).title for one in ids(plan))
    assert "spring is loaded" not in everything
    assert "pointer" not in everything
    assert "hold-eccentric" in _caution_ids(plan, "set-tensioner")
    assert "drags the pointer" in said(demo_plan("birch-two-cams"), "finish-setting")


def test_an_unknown_setting_position_is_named_once() -> None:
    plan = make_plan(small())
    assert plan.step("turn-to-setting-position").title == "Turn to the vehicle maker's setting position"
    assert "End on the vehicle maker's setting position." in plan.step("turn-by-hand").acts


@pytest.mark.parametrize(("place", "words"), [("mark", "at the mark."), ("mark B", "at mark B.")])
def test_a_place_in_the_files_own_words(place: str, words: str) -> None:
    plan = make_plan(small("sprung arm", f'setting = [{{ to = "{place}" }}, {{ turns = 2 }}]'))
    assert f"until it stands {words}" in said(plan, "set-tensioner")


def test_a_count_that_is_no_whole_number_is_not_told_as_a_fact() -> None:
    text = demo_text("alder-one-cam").replace("mark_deg = -3.7", "mark_deg = 0.2")  # 0.4 of its 9° a tooth
    assert text != demo_text("alder-one-cam")
    step = make_plan(read_drive(text, "turned.toml")).step("thread-belt")
    assert step.values
    assert all("check the drive file" in value.value for value in step.values)
    assert not any("counted from mark to mark" in record.what for record in step.records)


@pytest.mark.parametrize(
    ("locks", "step"),
    [
        ("water pump", "renew-pump-and-seals"),
        ("guide", "fit-rollers-and-tensioner"),
        ("camshaft", "fit-keyed-wheels"),
        ("crankshaft", "fit-covers"),
        ("roller", "final-torque"),
    ],
)
def test_a_fastener_of_a_list_drive_goes_where_what_it_locks_is_tightened(locks: str, step: str) -> None:
    rest = (
        '[[pulley]]\nid = "water pump"\nrole = "coolant pump"\nteeth = 20\n[[pulley]]\nid = "guide"\nrole = "idler"\n'
    )
    rest += f'[[fastener]]\nid = "bolt 7"\nlocks = "{locks}"\nstages = [{{ torque_nm = 20.0 }}]\n'
    plan = make_plan(small("sprung arm", 'setting = [{ to = "notch" }, { turns = 2 }]', rest))
    where = [one.id for one in plan.steps for record in one.records if record.kind == "torque"]
    assert where == [step]


def test_a_nut_that_the_setting_names_twice_is_tightened_once() -> None:
    text = demo_text("alder-one-cam").replace(
        '{ fastener = "roller nut" },', '{ fastener = "roller nut" },\n  { fastener = "roller nut" },'
    )
    plan = make_plan(read_drive(text, "alder"))
    torqued = [record.id for step in plan.steps for record in step.records if record.kind == "torque"]
    assert torqued.count("roller nut") == 1
