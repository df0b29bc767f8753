"""Every part that a step renews is laid out, and none twice (common practice, no source)."""

from __future__ import annotations

import re

import pytest
from tests.plan.plan_drives import SIX, demo, demo_plan, demo_text, small

from twoturn.drive.load import read_drive
from twoturn.plan import make_plan

PART = re.compile(r"\[\[part\]\]\nname = .*\n(count = .*\n)?(single_use = true\n)?")


def _added(name: str, *listed: str) -> list[str]:
    """Names that the plan adds to a shipped drive whose own list of parts is replaced."""
    text = PART.sub("", demo_text(name)) + "".join(f'\n[[part]]\nname = "{one}"\n' for one in listed)
    plan = make_plan(read_drive(text, "parts.toml"))
    assert [part.name for part in plan.parts][: len(listed)] == list(listed)
    return [part.name for part in plan.parts][len(listed) :]


def test_without_a_list_every_renewed_part_is_there() -> None:
    assert _added("elder-balance-shafts") == [
        "main belt, 129 teeth",
        "balance belt, 71 teeth",
        "tensioner (automatic roller with pointer)",
        "balance roller (fixed roller, set by hand)",
        "guide roller",
        "tensioner nut",
    ]
    assert "coolant pump with gasket or seal" in _added("alder-one-cam")
    assert "sealing ring of the injection pump's plug" in _added("damson-rotary-pump")


@pytest.mark.parametrize("name", SIX)
def test_a_complete_list_gets_nothing_added(name: str) -> None:
    assert len(demo_plan(name).parts) == len(demo(name).file.part)


@pytest.mark.parametrize(
    "listed", ["belt set with roller and coolant pump with gasket", "timing belt 109 ZA 19, roller"]
)
def test_one_line_may_stand_for_several_parts(listed: str) -> None:
    added = _added("alder-one-cam", listed)
    assert not [name for name in added if "belt" in name or name.startswith("roller (")]


def test_what_only_resembles_a_part_does_not_stand_for_it() -> None:
    added = _added("elder-balance-shafts", "belt tensioner", "tensioner bolt", "auxiliary belt", "damper pulley")
    assert {"main belt, 129 teeth", "balance belt, 71 teeth", "guide roller", "tensioner nut"} <= set(added)
    assert not any(name.startswith("tensioner (") for name in added)
    assert "belt, 109 teeth" in _added("alder-one-cam", "timing belt, 120 teeth")
    assert "coolant pump with gasket or seal" in _added("alder-one-cam", "oil pump", "gasket of the coolant pump")


def test_a_pump_listed_alone_still_needs_its_gasket() -> None:
    assert "gasket or seal of the coolant pump" in _added("alder-one-cam", "water pump")
    assert not [name for name in _added("alder-one-cam", "water pump", "pump gasket") if "pump" in name]


def test_one_listed_part_stands_for_one_and_a_count_for_several() -> None:
    second = '[[pulley]]\nid = "roller A"\nrole = "idler"\n[[pulley]]\nid = "roller B"\nrole = "idler"\n'
    one = [part.name for part in make_plan(small(rest=second + '[[part]]\nname = "idler"\n')).parts]
    assert len([name for name in one if name in ("roller A", "roller B")]) == 1
    both = [part.name for part in make_plan(small(rest=second + '[[part]]\nname = "idlers"\ncount = 2\n')).parts]
    assert not {"roller A", "roller B"} & set(both)
