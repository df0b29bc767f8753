"""A list drive made by taps: every combination of what is offered loads, plans and can be proven on paper."""

from __future__ import annotations

import random
import tomllib
from typing import Any
from unittest.mock import patch

from hypothesis import Phase, given, settings
from hypothesis import strategies as st
from tests.job.paper_jobs import FILLERS, Care, careful_job, fixed

from twoturn.acts import list_offered as offer
from twoturn.acts.list_drive import list_drive
from twoturn.job.assess import assess
from twoturn.plan import make_plan

CAREFUL = Care(overshoots=0, second_man=0, corrections=0, reset_and_again=0, mark_quarter=0, typed_at_the_end=0)


def _pin_in(row: dict[str, Any], *_: object) -> dict[str, Any]:
    return {"depth_mm": 50.0} if "depth_mm" in row else {}


AS_PRESCRIBED = {
    "pointer": fixed(reads="in the notch"),
    "protrusion": fixed(protrusion_mm=9.0),
    "pin in": _pin_in,
}
"""What a man writes down where the drive gives no window."""
TEETH = st.integers(14, 60)


def _proof(name: str) -> st.SearchStrategy[dict[str, Any]]:
    hour = st.sampled_from(offer.HOURS)
    pin = st.sampled_from(offer.PIN_PURPOSES)
    size = st.sampled_from(["", "8", "9,5"])
    return st.sampled_from(offer.PROOFS).flatmap(
        lambda proof: st.fixed_dictionaries(
            {"name": st.just(name)}
            | ({"mark_hour": hour} if "mark" in proof else {})
            | ({"pin": pin, "pin_mm": size} if "pin" in proof else {})
        )
    )


def _wheel(name: str, crank: int) -> st.SearchStrategy[dict[str, Any]]:
    """A wheel; camshafts and injection pumps of a four-stroke engine turn at half speed, balance shafts at twice it."""
    role = offer.WHEELS.get(name, "crankshaft")
    own = {"crankshaft": crank, "camshaft": 2 * crank, "injection pump": 2 * crank, "balance shaft": crank // 2}
    teeth = st.just(own[role]) if role in own else st.just(None) if role == "tensioner" else st.none() | TEETH
    base = _proof(name) if role in offer.PHASED else st.fixed_dictionaries({"name": st.just(name)})
    return st.tuples(base, teeth).map(lambda pair: {**pair[0], "teeth": "" if pair[1] is None else str(pair[1])})


@st.composite
def answers(draw: st.DrawFn) -> dict[str, Any]:
    """Any combination of what the page offers."""
    others = draw(st.lists(st.sampled_from([name for name in offer.WHEELS if name != "tensioner"]), max_size=6))
    cams = draw(
        st.sampled_from([["camshaft"], ["inlet camshaft", "exhaust camshaft"], ["left camshaft", "right camshaft"]])
    )
    crank = 2 * draw(st.integers(8, 16))
    names = draw(st.permutations([*others, *cams, "tensioner"]))
    wheels = [draw(_wheel(name, crank)) for name in ("crankshaft", *names)]
    kind = draw(st.sampled_from(sorted(offer.SETTINGS)))
    named = [*(f"{wheel['name']} bolt" for wheel in wheels), offer.NUT, *offer.FURTHER_FASTENERS]
    bolts = [
        {
            "name": name,
            "thread": draw(st.sampled_from(["", *offer.THREADS])),
            "torque_nm": draw(st.sampled_from(["22", "22,5", "100.0"])),
            "angle_deg": draw(st.sampled_from(["", "90"])),
            "count": draw(st.sampled_from(offer.USUAL_COUNTS)),
            "single_use": draw(st.booleans()),
            "holds": draw(st.booleans()),
        }
        for name in draw(st.lists(st.sampled_from(named), unique=True, max_size=5))
    ]
    return {
        "name": "Invented engine",
        "source": "typed from paper (invented)",
        "crank_turns": draw(st.sampled_from(offer.WAYS)),
        "belt_teeth": str(draw(st.integers(60, 250))),
        "wheels": wheels,
        "kind": kind,
        "setting": draw(st.sampled_from([way.id for way in offer.SETTINGS[kind]])),
        "tightens": draw(st.sampled_from(["", *offer.WAYS])),
        "wait_min": draw(st.sampled_from(offer.WAITS_MIN)),
        "after_turns": draw(st.sampled_from(offer.AFTER_TURNS)),
        "bolts": bolts,
        "interference": draw(st.sampled_from(offer.INTERFERENCE)),
        "fuel": draw(st.sampled_from(["", *offer.FUELS])),
        "km": draw(st.sampled_from(["", *map(str, offer.USUAL_KM)])),
        "months": draw(st.sampled_from(["", *map(str, offer.USUAL_MONTHS)])),
    }


@given(answers())
@settings(max_examples=100, phases=(Phase.explicit, Phase.generate))
def test_every_combination_loads_plans_and_can_be_proven_on_paper(given_answers: dict[str, Any]) -> None:
    made = list_drive(given_answers)
    assert made.fields == {}
    assert made.looked.faults == (), made.text
    drive = made.looked.drive
    assert drive is not None
    assert drive.is_list
    assert make_plan(drive).steps
    with patch.dict(FILLERS, AS_PRESCRIBED):
        found = assess(drive, careful_job(drive, random.Random(1), CAREFUL))
    wrong = [f"{check.id}: {check.why}" for check in found.required if check.verdict.value != "proven"]
    assert found.verdict.value == "proven", (wrong, made.text)


def test_numbers_are_typed_with_comma_or_point_and_told_where_not_understood() -> None:
    data = {
        "belt_teeth": "abc",
        "wheels": [{"name": "crankshaft", "teeth": "20,5"}],
        "bolts": [{"name": "x", "torque_nm": "22,5"}],
    }
    made = list_drive(data)
    assert "abc" in made.fields["belt_teeth"]
    assert made.fields["wheels.0.teeth"] == "20.5 is not a whole number; allowed: 6 to 200."
    assert "torque_nm = 22.5" in made.text
    assert made.looked.faults


def test_what_a_careful_person_looks_at_again_is_told() -> None:
    wheels = [
        {"name": "crankshaft", "teeth": "20", "mark_hour": 0},
        {"name": "tensioner"},
        {"name": "camshaft", "teeth": "42", "mark_hour": 0},
        {"name": "balance shaft", "teeth": "10", "mark_hour": "none"},
    ]
    hints = list_drive({"wheels": wheels}).hints
    assert hints == (
        "camshaft: 42 teeth, where twice the crankshaft's is 40: count once more.",
        "balance shaft: neither mark nor pin, so on paper nothing can prove its timing.",
    )


def test_a_mark_that_nobody_spoke_of_is_missing_and_none_is_made_up() -> None:
    made = list_drive({"wheels": [{"name": "crankshaft", "teeth": "20"}, {"name": "camshaft", "teeth": "40"}]})
    assert ("wheels.1.mark_hour", "Where the mark of the camshaft is, from the sheet.") in made.missing
    assert "mark_deg" not in made.text
    assert not any("neither mark nor pin" in hint for hint in made.hints)


def test_a_name_with_quotation_marks_stays_a_name() -> None:
    """Whatever is typed stays inside its text: TOML 1.0, basic strings."""
    name = 'Engine "A" \\ 1\n[drive]'
    made = list_drive({"name": name, "source": "x", "crank_turns": "clockwise", "belt_teeth": "100"})
    assert tomllib.loads(made.text)["drive"]["name"] == 'Engine "A" \\ 1 [drive]'
