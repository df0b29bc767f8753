"""All checks in their order."""

from __future__ import annotations

from twoturn.drive.centres import fixed_pulleys
from twoturn.drive.check.belts import check_belt_values, check_belts
from twoturn.drive.check.places import check_places
from twoturn.drive.check.pulleys import check_pulley_geometry, check_pulleys
from twoturn.drive.check.tensioners import check_tensioner_geometry, check_tensioner_kinds, check_tensioner_ranges
from twoturn.drive.check.work import check_work
from twoturn.drive.faults import FaultList
from twoturn.drive.model.file import DriveFile
from twoturn.drive.naming import Naming
from twoturn.drive.placed import Centres


def check_early(file: DriveFile, names: Naming | None, faults: FaultList) -> None:
    """Checks that need no ratios and no centres.

    Parameters
    ----------
    file
        The drive file as written.
    names
        Its names, or None where they could not be settled; then only what stands inside one table is checked.
    faults
        Where the faults are collected.
    """
    check_belt_values(file, faults)
    check_tensioner_ranges(file, faults)
    check_work(file, faults)
    if names is not None:
        check_belts(file, names, faults)
        check_pulleys(file, names, faults)
        check_places(file, names, faults)


def check_late(file: DriveFile, names: Naming, centres: Centres, faults: FaultList) -> None:
    """Checks of a drive with coordinates.

    Parameters
    ----------
    file
        The drive file, completed.
    names
        Its names.
    centres
        Centres of its pulleys.
    faults
        Where the faults are collected.
    """
    if not centres.centre_mm:
        check_tensioner_kinds(file, names, faults)
    for belt_id in names.belt_ids:
        fixed = fixed_pulleys(file, names, belt_id)
        if fixed and all(file.pulley[index].id in centres.centre_mm for index in fixed):
            check_pulley_geometry(file, names, belt_id, faults)
            check_tensioner_geometry(file, names, belt_id, faults)
