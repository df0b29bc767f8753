"""Checks of belts: designation, painted lines, driver."""

from __future__ import annotations

from twoturn.drive.designation import WIDTH_TOLERANCE_MM, parse_designation
from twoturn.drive.faults import FaultList, shown
from twoturn.drive.model.belts import BeltTable
from twoturn.drive.model.file import DriveFile
from twoturn.drive.naming import Naming


def check_belt_values(file: DriveFile, faults: FaultList) -> None:
    """What stands inside one ``[[belt]]`` table: designation, mass, painted lines.

    Parameters
    ----------
    file
        The drive file as written.
    faults
        Where the faults are collected.
    """
    for index, belt in enumerate(file.belt):
        _check_designation(index, belt, faults)
        if belt.mass_kg_per_m is not None and belt.weighed_g is not None:
            faults.refuse("mass-twice", ("belt", index, "weighed_g"), f"both, {belt.weighed_g:g} g")
        seen: set[int] = set()
        for number, mark in enumerate(belt.marks):
            path = ("belt", index, "marks", number)
            if mark >= belt.teeth:
                faults.refuse("mark-beyond", path, str(mark), last=str(belt.teeth - 1))
            elif mark in seen:
                faults.refuse("mark-double", path, f"{mark} twice")
            seen.add(mark)


def _check_designation(index: int, belt: BeltTable, faults: FaultList) -> None:
    printed = parse_designation(belt.designation) if belt.designation else None
    if printed is None:
        return
    expected = []
    if printed.teeth != belt.teeth:
        expected.append(f"{belt.teeth} teeth")
    if belt.pitch_mm is not None and abs(printed.pitch_mm - belt.pitch_mm) > 0.005:
        expected.append(f"a letter for {belt.pitch_mm:g} mm pitch (Z is 9.525, Y is 8)")
    widths = (belt.width_mm, printed.width_mm)
    if widths[0] and widths[1] and abs(widths[0] - widths[1]) > WIDTH_TOLERANCE_MM:
        expected.append(f"{belt.width_mm:g} mm width")
    if expected:
        path = ("belt", index, "designation")
        faults.refuse("designation", path, shown(belt.designation), expected=" and ".join(expected))


def check_belts(file: DriveFile, names: Naming, faults: FaultList) -> None:
    """Each belt has two pulleys or more and begins with its driver; there is one crankshaft.

    Parameters
    ----------
    file
        The drive file as written.
    names
        Its names, settled.
    faults
        Where the faults are collected.
    """
    crankshafts = [shaft for shaft in names.shaft_ids if names.shaft_roles[shaft] == "crankshaft"]
    if not crankshafts:
        faults.refuse("crankshaft-missing", ("pulley", 0, "role"), "no crankshaft")
    for index, shaft in enumerate(names.shaft_of):
        if shaft in crankshafts[1:]:
            faults.refuse("crankshaft-twice", ("pulley", index, "role"), f'a second crankshaft, "{shaft}"')
    for number, belt_id in enumerate(names.belt_ids):
        pulleys = names.pulleys_on(belt_id)
        if len(pulleys) < 2:
            faults.refuse("belt-too-few", ("belt", number), f"{len(pulleys) or 'no'} pulley on this belt")
            continue
        carries = [index for index in pulleys if names.shaft_of[index] in crankshafts]
        if carries and carries[0] != pulleys[0]:
            found = f"{shown(file.pulley[pulleys[0]].id)} before {shown(file.pulley[carries[0]].id)}"
            faults.refuse("crankshaft-first", ("pulley", carries[0], "id"), found)
        if file.pulley[pulleys[0]].teeth is None:
            faults.refuse("driver-smooth", ("pulley", pulleys[0], "teeth"), "a smooth first pulley")
