"""Any drive that can be read gives a plan that keeps the rules, or a clear error."""

from __future__ import annotations

import json
from typing import Any, get_args

import tomlkit
from hypothesis import given, settings
from hypothesis import strategies as st

from twoturn.drive.load import read_drive
from twoturn.drive.model.work import Quantity
from twoturn.errors import FileFaults
from twoturn.plan import Plan, VehicleFacts, make_plan
from twoturn.plan.order import CATALOGUE

NAMES = st.text(
    st.characters(codec="utf-8", exclude_categories=("C", "Z"), exclude_characters=":"), min_size=1, max_size=9
)
WAYS = st.sampled_from(["clockwise", "counter-clockwise"])
MAYBE = st.sampled_from([None, True, False])
KINDS = st.sampled_from(["locked eccentric", "double eccentric", "sprung arm", "slide", "hydraulic"])
PURPOSES = st.sampled_from(["check", "hold"])
POSITIONS = st.sampled_from([0.0, 90.0, -30.0, 360.0])
STATES = st.sampled_from(["as found", "as set", "after turns"])
QUANTITIES = st.sampled_from(sorted(set(get_args(Quantity))))
AFTER = st.sampled_from([*CATALOGUE, "nowhere"])
HUBS = st.sampled_from(["keyed", "slotted", "taper", "friction"])


def _acts(fasteners: list[str]) -> st.SearchStrategy[dict[str, Any]]:
    named = st.sampled_from([*fasteners, "not in the list"])
    return st.one_of(
        st.fixed_dictionaries({"to": st.sampled_from(["maximum", "notch", "minimum", "target", 4.5, -3.0, "mark B"])}),
        st.fixed_dictionaries({"turns": st.sampled_from([1, 2, 0.25, 6])}),
        st.fixed_dictionaries({"fastener": named, "light": st.booleans(), "loosen": st.booleans()}),
        st.fixed_dictionaries({"read": st.sampled_from(["pointer", "protrusion"])}),
        st.fixed_dictionaries({"pin": st.sampled_from(["in", "out"])}),
        st.sampled_from(
            [{"hold": True}, {"wait_min": 5.0}, {"apply_nm": 4.0}, {"way": "clockwise"}, {"text": "Look."}]
        ),
    )


@st.composite
def drives(draw: st.DrawFn) -> dict[str, Any]:
    """A list drive with any kind of tensioner, hubs, pins, fasteners, links and a second belt."""
    cams = draw(st.integers(1, 3))
    cam_ids = draw(st.lists(NAMES, min_size=cams, max_size=cams, unique=True))
    roller = draw(NAMES.filter(lambda name: name not in [*cam_ids, "crank"]))
    bolts = draw(st.lists(NAMES, max_size=4, unique=True))
    pulleys: list[dict[str, Any]] = [{"id": "crank", "role": "crankshaft", "teeth": 20, "mark_deg": 0.0}]
    pulleys.append({"id": roller, "role": "tensioner"})
    pulleys += [{"id": name, "role": "camshaft", "teeth": 40, "mark_deg": 10.0} for name in cam_ids]
    if draw(st.booleans()):
        pulleys.append(
            {"id": "pump!", "role": draw(st.sampled_from(["coolant pump", "injection pump", "oil pump"])), "teeth": 21}
        )
    shafts = [{"id": name, "hub": draw(HUBS), "hold_before_belt_off": draw(st.booleans())} for name in cam_ids]
    shafts.append({"id": "crank", "role": "crankshaft", "hub": draw(HUBS)})
    belts: list[dict[str, Any]] = [{"id": "one", "teeth": draw(st.integers(60, 200))}]
    if draw(st.booleans()):
        belts.append({"id": "two (b)", "teeth": 70})
        pulleys += [
            {"id": "second", "shaft": "crank", "belt": "two (b)", "role": "crankshaft", "teeth": 30, "mark_deg": 0.0},
            {"id": "weight", "belt": "two (b)", "role": "balance shaft", "teeth": 15, "mark_deg": 0.0},
        ]
    for pulley in pulleys:
        pulley.setdefault("belt", "one")
    places = st.sampled_from([*cam_ids, "crank", roller])
    stages = st.lists(st.sampled_from([{"torque_nm": 25.0}, {"angle_deg": 90.0}, {"loosen_deg": 180.0}]), max_size=3)
    fasteners = [
        {"id": name, "stages": draw(stages), "left_hand": draw(st.booleans()), "single_use": draw(st.booleans())}
        for name in bolts
    ]
    for fastener in fasteners:
        if draw(st.booleans()):
            fastener["locks"] = draw(places)
    return {
        "drive": {"name": draw(NAMES), "crank_turns": draw(WAYS), "source": draw(NAMES)},
        "belt": belts,
        "shaft": shafts,
        "pulley": pulleys,
        "tensioner": [{"pulley": roller, "kind": draw(KINDS), "setting": draw(st.lists(_acts(bolts), max_size=6))}],
        "fastener": fasteners,
        "pin": draw(st.lists(st.fixed_dictionaries({"shaft": places, "purpose": PURPOSES}), max_size=2)),
        "requirement": draw(_requirements(places)),
        "timing": {"after_turns": draw(st.integers(1, 6)), "setting_crank_deg": draw(POSITIONS)},
        "engine": {"interference": draw(st.sampled_from(["yes", "no", "unknown"]))},
        "access": {"mount_in_loop": draw(st.booleans()), "damper_over_cover": draw(st.booleans())},
        "step": draw(st.lists(st.fixed_dictionaries({"after": AFTER, "text": st.just("Look here")}), max_size=2)),
    }


def _requirements(places: st.SearchStrategy[str]) -> st.SearchStrategy[list[dict[str, Any]]]:
    one = st.fixed_dictionaries({"quantity": QUANTITIES, "low": st.just(1.0)}, optional={"at": places, "state": STATES})
    numbered = st.lists(one, max_size=4)
    return numbered.map(lambda rows: [{"id": f"r{number}", **row} for number, row in enumerate(rows)])


def _check(plan: Plan, table: dict[str, Any]) -> None:
    order = [step.id for step in plan.steps]
    assert len(order) == len(set(order))
    torqued = [record.id for step in plan.steps for record in step.records if record.kind == "torque"]
    assert sorted(torqued) == sorted(item["id"] for item in table["fastener"])
    shown = {value.id for step in plan.steps for value in step.values}
    assert {item["id"] for item in table["requirement"]} <= shown
    for one, other in (
        ("thread-belt", "set-tensioner"),
        ("set-tensioner", "turn-by-hand"),
        ("turn-by-hand", "prove-timing"),
    ):
        assert order.index(one) < order.index(other)
    if "pins-out" in order:
        assert order.index("pins-out") < min(
            order.index(one) for one in order if one.startswith("turn-") and one != "turn-to-setting-position"
        )
    json.dumps(plan.as_json(), allow_nan=False)
    for step in plan.steps:
        assert step.title.strip()
        assert all(act.strip() for act in step.acts)


@settings(max_examples=100, deadline=None)
@given(drives(), st.builds(VehicleFacts, MAYBE, MAYBE, st.sampled_from([None, "petrol", "diesel"]), MAYBE))
def test_any_drive_gives_a_plan_that_keeps_the_rules_or_a_clear_error(
    table: dict[str, Any], vehicle: VehicleFacts
) -> None:
    try:
        drive = read_drive(tomlkit.dumps(table), "fuzz.toml")
        plan = make_plan(drive, vehicle)
    except FileFaults as error:
        unclear = [fault for fault in error.faults if not (fault.key and fault.found and fault.expected)]
        assert not unclear
        return
    _check(plan, table)
