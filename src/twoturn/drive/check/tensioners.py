"""Checks of tensioners: ranges in order, and the geometry that each kind needs."""

from __future__ import annotations

import re

from twoturn.drive.faults import FaultList, shown
from twoturn.drive.model.file import DriveFile
from twoturn.drive.model.tensioners import KINDS, AnyTensioner
from twoturn.drive.naming import Naming, near

GEOMETRY: dict[str, tuple[str, ...]] = {
    "locked eccentric": ("tightens", "bolt_mm", "arm_mm", "notch_deg"),
    "double eccentric": ("tightens", "bolt_mm", "adjuster_mm", "arm_mm", "notch_deg", "adjust_turns"),
    "sprung arm": ("tightens", "pivot_mm", "arm_mm", "notch_deg"),
    "slide": ("at_notch_mm", "tightens_deg"),
    "hydraulic": ("tightens", "pivot_mm", "arm_mm", "notch_deg", "base_mm", "ram_arm_mm", "ram_deg"),
}
GOALS = ("maximum", "minimum", "notch", "mark", "stop", "target", "preset", "window")
RANGES = ("window_deg", "window_mm", "stops_deg", "stops_mm")


def check_tensioner_ranges(file: DriveFile, faults: FaultList) -> None:
    """Every range in order, the notch and the window inside the stops, settings inside their ranges.

    Parameters
    ----------
    file
        The drive file as written.
    faults
        Where the faults are collected.
    """
    for index, row in enumerate(file.tensioner):
        _check_goals(index, row, faults)
        ranges = {key: getattr(row, key, None) for key in RANGES}
        in_order = True
        for key, pair in ranges.items():
            if pair is not None and not pair[0] < pair[1]:
                faults.refuse("range-order", ("tensioner", index, key), shown(list(pair)))
                in_order = False
        if in_order:
            _check_stops(index, row, ranges, "deg", faults)
            if row.kind == "slide":
                _check_stops(index, row, ranges, "mm", faults)
            _check_adjuster(index, row, faults)


def _check_goals(index: int, row: AnyTensioner, faults: FaultList) -> None:
    """Where the acts of setting lead: a pointer in degrees, or a text with one of the words that ``GOALS`` lists."""
    for number, act in enumerate(row.setting):
        if isinstance(act.to, str) and not set(re.findall(r"[a-z]+", act.to.lower())) & set(GOALS):
            path = ("tensioner", index, "setting", number, "to")
            faults.refuse(
                "goal-unknown", path, shown(act.to), words=_choice(), near=near(act.to.lower(), GOALS, or_all=False)
            )


def _choice() -> str:
    return ", ".join(f'"{word}"' for word in GOALS)


def _check_stops(
    index: int, row: AnyTensioner, ranges: dict[str, tuple[float, float] | None], unit: str, faults: FaultList
) -> None:
    stops, window = ranges[f"stops_{unit}"], ranges[f"window_{unit}"]
    if stops is None:
        return
    if not stops[0] <= 0 <= stops[1]:
        faults.refuse("notch-outside", ("tensioner", index, f"stops_{unit}"), shown(list(stops)))
    if window is not None and not stops[0] <= window[0] < window[1] <= stops[1]:
        path = ("tensioner", index, f"window_{unit}")
        faults.refuse("window-outside", path, shown(list(window)), stops=shown(list(stops)))
    set_deg = getattr(row, "set_deg", None)
    if set_deg is not None and not stops[0] <= set_deg <= stops[1]:
        faults.refuse("set-outside", ("tensioner", index, "set_deg"), shown(set_deg), stops=shown(list(stops)))


def _check_adjuster(index: int, row: AnyTensioner, faults: FaultList) -> None:
    limits: tuple[float, float] | None = getattr(row, "adjuster_range_deg", None)
    angle: float | None = getattr(row, "adjuster_deg", None)
    if limits is None:
        return
    width = limits[1] - limits[0] + (360.0 if limits[1] < limits[0] else 0.0)
    if not 0 < width <= 360:
        faults.refuse("adjuster-range", ("tensioner", index, "adjuster_range_deg"), shown(list(limits)))
    elif angle is not None and (angle - limits[0]) % 360 > width + 1e-9:
        path = ("tensioner", index, "adjuster_deg")
        faults.refuse("adjuster-outside", path, shown(angle), range=shown(list(limits)))


def check_tensioner_kinds(file: DriveFile, names: Naming, faults: FaultList) -> None:
    """In a list drive every pulley with role tensioner has a ``[[tensioner]]`` that says its kind.

    Parameters
    ----------
    file
        The drive file as written.
    names
        Its names, settled.
    faults
        Where the faults are collected.
    """
    for index, pulley in enumerate(file.pulley):
        if names.role_of[index] == "tensioner" and pulley.id not in names.pulley_of:
            kinds = ", ".join(f'"{kind}"' for kind in KINDS)
            faults.refuse("tensioner-missing", ("pulley", index, "id"), shown(pulley.id), kinds=kinds)


def check_tensioner_geometry(file: DriveFile, names: Naming, belt_id: str, faults: FaultList) -> None:
    """The geometry that each tensioner of a belt with coordinates needs.

    Parameters
    ----------
    file
        The drive file, completed.
    names
        Its names.
    belt_id
        The belt.
    faults
        Where the faults are collected.
    """
    on_belt = {file.pulley[index].id for index in names.pulleys_on(belt_id)}
    for index, row in enumerate(file.tensioner):
        if row.pulley not in on_belt:
            continue
        lacking = [key for key in GEOMETRY[row.kind] if getattr(row, key) is None]
        if lacking:
            path = ("tensioner", index, lacking[0])
            faults.refuse("tensioner-geometry", path, f"{row.kind} without it", keys=", ".join(lacking))
