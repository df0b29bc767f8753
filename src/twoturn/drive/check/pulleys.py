"""Checks of pulleys: teeth or diameter, face of the belt, timing marks."""

from __future__ import annotations

from twoturn.drive.faults import FaultList, shown
from twoturn.drive.model.belts import PulleyTable
from twoturn.drive.model.file import DriveFile
from twoturn.drive.naming import Naming

ALWAYS_TOOTHED = ("crankshaft", "camshaft", "balance shaft", "injection pump")


def check_pulleys(file: DriveFile, names: Naming, faults: FaultList) -> None:
    """What must hold for every pulley, also in a list drive.

    Parameters
    ----------
    file
        The drive file as written.
    names
        Its names, settled.
    faults
        Where the faults are collected.
    """
    double_sided = {belt_id: file.belt[number].double_sided for number, belt_id in enumerate(names.belt_ids)}
    for index, pulley in enumerate(file.pulley):
        role = names.role_of[index]
        if pulley.teeth is not None and pulley.diameter_mm is not None:
            found = f"both, {pulley.teeth} teeth and {pulley.diameter_mm:g} mm"
            faults.refuse("teeth-or-diameter", ("pulley", index, "diameter_mm"), found)
        if pulley.teeth is None and role in ALWAYS_TOOTHED:
            faults.refuse("teeth-missing", ("pulley", index, "teeth"), "nothing", role=role)
        if pulley.teeth is not None and pulley.belt_side == "back" and not double_sided[names.belt_of[index]]:
            faults.refuse("back-toothed", ("pulley", index, "belt_side"), '"back" for a toothed pulley')
        _check_mark(index, pulley, faults)
    for number, tensioner in enumerate(file.tensioner):
        driver = names.pulleys_on(names.belt_of[_index_of(file, names.pulley_of[number])])[0]
        if file.pulley[driver].id == names.pulley_of[number]:
            faults.refuse("tensioner-driver", ("tensioner", number, "pulley"), shown(tensioner.pulley))


def _index_of(file: DriveFile, pulley_id: str) -> int:
    return next(index for index, pulley in enumerate(file.pulley) if pulley.id == pulley_id)


def _check_mark(index: int, pulley: PulleyTable, faults: FaultList) -> None:
    if pulley.mark_deg is not None and pulley.teeth is None:
        faults.refuse("mark-smooth", ("pulley", index, "mark_deg"), shown(pulley.mark_deg))
    if pulley.mark_offset_deg is not None and pulley.mark_deg is None:
        faults.refuse("mark-offset-alone", ("pulley", index, "mark_offset_deg"), shown(pulley.mark_offset_deg))


def check_pulley_geometry(file: DriveFile, names: Naming, belt_id: str, faults: FaultList) -> None:
    """What the pulleys of a belt with coordinates need: diameters, faces, a pitch.

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
    number = names.belt_ids.index(belt_id)
    if file.belt[number].pitch_mm is None:
        faults.refuse("pitch-missing", ("belt", number, "pitch_mm"), "nothing")
    for index in names.pulleys_on(belt_id):
        pulley = file.pulley[index]
        if pulley.teeth is not None:
            continue
        if pulley.diameter_mm is None:
            faults.refuse("diameter-missing", ("pulley", index, "diameter_mm"), "nothing")
        if pulley.belt_side is None:
            faults.refuse("belt-side-missing", ("pulley", index, "belt_side"), "nothing")
