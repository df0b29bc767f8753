"""The shipped drives: invented by name, whole, and closed on their tooth count where they have coordinates."""

from __future__ import annotations

import pytest
from tests.plan.plan_drives import FOLDER, SIX, demo

from twoturn.drive.check.geometry import geometry_faults
from twoturn.drive.laid import lay
from twoturn.drive.parts import Belt
from twoturn.drive.path import as_points
from twoturn.mechanics.belt import belt_at_rest
from twoturn.timing.counts import tooth_counts

BELTS = [(name, belt) for name in SIX for belt in demo(name).belts if belt.has_coordinates]
IDS = [f"{name}: {belt.id}" for name, belt in BELTS]


def test_every_file_in_the_folder_is_one_of_the_six() -> None:
    assert sorted(path.name for path in FOLDER.iterdir() if path.name.endswith(".toml")) == [f"{n}.toml" for n in SIX]


@pytest.mark.parametrize("name", SIX)
def test_names_and_sources_say_that_they_are_invented(name: str) -> None:
    drive = demo(name)
    assert "(invented)" in drive.name
    assert drive.source.startswith("invented")
    assert all("invented" in (item.source or "invented") for item in drive.file.requirement)


def test_one_is_a_list_drive_one_has_two_belts_and_every_kind_of_tensioner_is_there() -> None:
    assert [name for name in SIX if demo(name).is_list] == ["damson-rotary-pump"]
    assert [name for name in SIX if len(demo(name).belts) == 2] == ["elder-balance-shafts"]
    kinds = {tensioner.kind for name in SIX for tensioner in demo(name).file.tensioner}
    assert kinds == {"locked eccentric", "double eccentric", "sprung arm", "slide", "hydraulic"}


@pytest.mark.parametrize(("name", "belt"), BELTS, ids=IDS)
def test_the_belt_closes_with_the_pointer_on_the_notch(name: str, belt: Belt) -> None:
    rest = belt_at_rest(demo(name), belt)
    assert rest.why == ()
    assert rest.closure is None
    (resting,) = rest.tensioners
    # a fixed roller has no notch: it stands within 3 degrees of where the file draws it
    within = 3.0 if resting.stand.table.kind == "locked eccentric" else 0.1
    assert abs(resting.rest.pointer) < within
    assert resting.rest.on_stop is None
    assert rest.shape is not None
    assert geometry_faults(belt, as_points(rest.shape.centres)) == []


@pytest.mark.parametrize(("name", "belt"), BELTS, ids=IDS)
def test_wraps_are_such_as_a_belt_needs(name: str, belt: Belt) -> None:
    shape = belt_at_rest(demo(name), belt).shape
    assert shape is not None
    wraps_deg = shape.path.wraps_rad * 57.29578
    least = {"crankshaft": 120.0, "camshaft": 90.0}
    small = [
        pulley.id for pulley, wrap in zip(belt.pulleys, wraps_deg, strict=True) if wrap < least.get(pulley.role, 20.0)
    ]
    assert small == []


@pytest.mark.parametrize(("name", "belt"), BELTS, ids=IDS)
def test_teeth_between_marks_are_whole_and_painted_lines_stand_on_them(name: str, belt: Belt) -> None:
    shape = belt_at_rest(demo(name), belt).shape
    assert shape is not None
    rows = tooth_counts(lay(belt, shape.centres))
    if len(belt.marked) < 2:
        return
    assert all(row.near_integer for row in rows)
    lines = [0]
    for row in rows[:-1]:
        lines.append(lines[-1] + round(row.teeth))
    assert belt.table.marks in ([], lines)
