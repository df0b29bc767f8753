"""Centres of the pulleys: as written, shared along a shaft, or solved from measured distances."""

from __future__ import annotations

from twoturn.drive.distance import solve_file
from twoturn.drive.faults import FaultList, shown
from twoturn.drive.model.file import DriveFile
from twoturn.drive.naming import Naming
from twoturn.drive.placed import Centres, Point


def settle_centres(file: DriveFile, names: Naming, faults: FaultList) -> tuple[DriveFile, Centres]:
    """Centres of all fixed pulleys, at the reference temperature.

    Parameters
    ----------
    file
        The drive file as written.
    names
        Its names, settled.
    faults
        Where lacking and contradicting centres are collected.

    Returns
    -------
    DriveFile
        The file, with bolts and pivots of tensioners that were solved from distances filled in.
    Centres
        Empty for a list drive.
    """
    tensioner_pulleys = set(names.pulley_of)
    given = {pulley.id: pulley.at_mm for pulley in file.pulley if pulley.at_mm is not None}
    u_given = {
        pulley.id: _pair(pulley.uncertainties["at_mm"]) for pulley in file.pulley if "at_mm" in pulley.uncertainties
    }
    for index, pulley in enumerate(file.pulley):
        if pulley.id in tensioner_pulleys and pulley.at_mm is not None:
            faults.refuse("centre-of-tensioner", ("pulley", index, "at_mm"), shown(pulley.at_mm))
    if len(faults):
        return file, Centres()
    centres = Centres(given, u_given)
    if file.distance:
        file, centres = solve_file(file, names, centres, faults)
        if len(faults):
            return file, centres
    _check_complete(file, names, centres, faults)
    return file, _shared(file, names, centres, faults)


def _pair(u: float | list[float]) -> Point:
    return (u[0], u[1]) if isinstance(u, list) else (u, u)


def fixed_pulleys(file: DriveFile, names: Naming, belt_id: str) -> list[int]:
    """Numbers of the pulleys of a belt whose centre is bolted down: all but those of tensioners.

    Parameters
    ----------
    file
        The drive file.
    names
        Its names, settled.
    belt_id
        The belt.
    """
    pulleys = [index for index in names.pulleys_on(belt_id) if file.pulley[index].id not in names.pulley_of]
    return [index for index in pulleys if names.role_of[index] != "tensioner" or file.pulley[index].at_mm is not None]


def _check_complete(file: DriveFile, names: Naming, centres: Centres, faults: FaultList) -> None:
    """Every fixed pulley of a belt has a centre, or none has."""
    shafts_known = {names.shaft_of[index] for index, row in enumerate(file.pulley) if row.id in centres.centre_mm}
    for belt in names.belt_ids:
        fixed = fixed_pulleys(file, names, belt)
        if not any(file.pulley[index].id in centres.centre_mm for index in fixed):
            continue
        lacking = [index for index in fixed if names.shaft_of[index] not in shafts_known]
        for index in lacking:
            text = ", ".join(f'"{file.pulley[one].id}"' for one in lacking)
            faults.refuse("centre-missing", ("pulley", index, "at_mm"), "nothing", lacking=text)


def _shared(file: DriveFile, names: Naming, centres: Centres, faults: FaultList) -> Centres:
    """Pulleys of one shaft share their centre."""
    by_shaft: dict[str, str] = {}
    for row, shaft in zip(file.pulley, names.shaft_of, strict=True):
        if row.id in centres.centre_mm:
            by_shaft.setdefault(shaft, row.id)
    centre, u, parts = dict(centres.centre_mm), dict(centres.u_mm), dict(centres.parts)
    for index, (row, shaft) in enumerate(zip(file.pulley, names.shaft_of, strict=True)):
        other = by_shaft.get(shaft)
        if other is None or other == row.id or row.id in names.pulley_of:
            continue
        there = centres.centre_mm[other]
        here = centre.setdefault(row.id, there)
        if other in u:
            u.setdefault(row.id, u[other])
        if other in parts:
            parts.setdefault(row.id, parts[other])
        if max(abs(here[0] - there[0]), abs(here[1] - there[1])) > 1e-6:
            path = ("pulley", index, "at_mm")
            faults.refuse("centre-shared", path, shown(list(here)), other=f'"{other}"', centre=shown(list(there)))
    return Centres(centre, u, centres.residuals_mm, parts)
