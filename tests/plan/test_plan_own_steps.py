"""Steps that a drive file brings itself."""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.plan.plan_drives import ids, small

from twoturn.acts.plan import plan_job
from twoturn.errors import FileFaults
from twoturn.plan import make_plan

NUT = '[[fastener]]\nid = "clip bolt"\nstages = [{ torque_nm = 6.0 }]\n'


def _with(*steps: str) -> list[str]:
    return ids(make_plan(small(rest="\n".join(f"[[step]]\n{step}" for step in steps))))


def test_a_step_stands_behind_the_one_it_names() -> None:
    order = _with('after = "belt-off"\nid = "wipe"\ntext = "Wipe the case"')
    assert order[order.index("belt-off") + 1] == "wipe"


def test_steps_behind_the_same_one_keep_the_order_of_the_file() -> None:
    order = _with(
        'after = "belt-off"\nid = "first"\ntext = "One"',
        'after = "belt-off"\nid = "second"\ntext = "Two"',
        'after = "second"\nid = "third"\ntext = "Three"',
    )
    at = order.index("belt-off")
    assert order[at + 1 : at + 4] == ["first", "second", "third"]


def test_a_step_behind_one_that_does_not_apply_keeps_its_place_in_the_work() -> None:
    order = _with('after = "drain-coolant"\nid = "look"\ntext = "Look"')
    assert order.index("cool-and-temperature") < order.index("look") < order.index("open-covers")


def test_a_step_without_an_id_gets_one_that_stays() -> None:
    assert "own-1-clean-the-plug" in _with('after = "belt-off"\ntext = "Clean the plug"')


def test_a_step_brings_its_fastener_and_caution() -> None:
    plan = make_plan(
        small(
            rest=NUT + '[[step]]\nafter = "fit-covers"\nid = "clip"\ntext = "Fit the clip. Mind the pipe"\n'
            'caution = "Sharp edge."\nfastener = "clip bolt"'
        )
    )
    step = plan.step("clip")
    assert step.title == "Fit the clip"
    assert step.acts == ("Mind the pipe.",)
    assert [caution.text for caution in step.cautions] == ["Sharp edge."]
    assert [value.value for value in step.values] == ["6 N·m"]
    torqued = [record.id for one in plan.steps for record in one.records if record.kind == "torque"]
    assert torqued == ["clip bolt"]


@pytest.mark.parametrize(
    ("step", "key", "found"),
    [
        ('after = "beltoff"\ntext = "x"', "step[1].after", "beltoff"),
        ('after = "belt-off"\nid = "belt-off"\ntext = "x"', "step[1].id", "belt-off"),
        ('after = "belt-off"\nid = "drain-coolant"\ntext = "x"', "step[1].id", "drain-coolant"),
        ('after = "belt-off"\ntext = "x"\nfastener = "none such"', "step[1].fastener", "none such"),
    ],
)
def test_a_step_that_cannot_be_placed_is_refused_in_one_clear_sentence(step: str, key: str, found: str) -> None:
    with pytest.raises(FileFaults) as caught:
        make_plan(small(rest=f"[[step]]\n{step}"), file_name="x.toml")
    (fault,) = caught.value.faults
    assert fault.key == key
    assert found in fault.sentence


def test_the_fault_names_its_line_and_the_nearest_step(tmp_path: Path) -> None:
    file = tmp_path / "bad.toml"
    text = (
        '[drive]\nname = "Bad (invented)"\ncrank_turns = "clockwise"\nsource = "none"\n[[belt]]\nteeth = 100\n'
        '[[pulley]]\nid = "crankshaft"\nrole = "crankshaft"\nteeth = 20\n'
        '[[pulley]]\nid = "camshaft"\nrole = "camshaft"\nteeth = 40\n[[step]]\nafter = "turn-by-hnd"\ntext = "x"\n'
    )
    file.write_text(text, encoding="utf-8")
    with pytest.raises(FileFaults) as caught:
        plan_job(file)
    (fault,) = caught.value.faults
    assert fault.line == text[: text.index("turn-by-hnd")].count("\n") + 1
    assert "turn-by-hand" in fault.expected
