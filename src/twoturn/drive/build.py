"""From a drive file as written to a drive understood: names, senses, exact ratios and centres settled."""

from __future__ import annotations

from fractions import Fraction

from twoturn.drive.centres import settle_centres
from twoturn.drive.check.geometry import check_fixed_geometry
from twoturn.drive.check.run import check_early, check_late
from twoturn.drive.faults import FaultList
from twoturn.drive.model.belts import PHASED_ROLES, Role
from twoturn.drive.model.file import DriveFile
from twoturn.drive.naming import Naming, settle_names
from twoturn.drive.parts import Belt, Drive, Pulley, Shaft
from twoturn.drive.placed import Centres
from twoturn.drive.ratios import is_inside, settle_ratios

_SENSE = {"clockwise": 1, "counter-clockwise": -1}


def build_drive(file: DriveFile, faults: FaultList) -> Drive:
    """The drive that a drive file describes.

    Parameters
    ----------
    file
        The drive file as written.
    faults
        Where faults are collected; they carry the name of the file.

    Returns
    -------
    Drive
        The drive, understood.

    Raises
    ------
    FileFaults
        Whatever contradicts itself in the file, all of it.
    """
    names = settle_names(file, faults)
    check_early(file, names, faults)
    if names is None:
        faults.raise_if_any()
        raise AssertionError("names are settled or faulty")
    ratios = settle_ratios(file, names, faults)
    faults.raise_if_any()
    file, centres = settle_centres(_completed(file, names), names, faults)
    faults.raise_if_any()
    check_late(file, names, centres, faults)
    faults.raise_if_any()
    drive = _assembled(file, names, ratios, centres)
    check_fixed_geometry(drive, faults)
    faults.raise_if_any()
    return drive


def _completed(file: DriveFile, names: Naming) -> DriveFile:
    """The file with what it left out and what follows from the rest: pulleys of tensioners, pitch by designation."""
    from twoturn.drive.designation import completed_belt

    rows = zip(file.tensioner, names.pulley_of, strict=True)
    tensioners = [row if row.pulley else row.model_copy(update={"pulley": pulley}) for row, pulley in rows]
    belts = [completed_belt(belt) for belt in file.belt]
    return file.model_copy(update={"tensioner": tensioners, "belt": belts})


def _assembled(file: DriveFile, names: Naming, ratios: dict[str, Fraction | None], centres: Centres) -> Drive:
    shafts = tuple(_shaft(file, names, shaft, ratios[shaft]) for shaft in names.shaft_ids)
    crank_sense = _SENSE[file.drive.crank_turns]
    belts = tuple(
        _belt(file, names, number, _belt_sense(file, names, number, ratios, crank_sense), centres)
        for number in range(len(file.belt))
    )
    return Drive(file.drive.name, file.drive.source, crank_sense, shafts, belts, centres.residuals_mm, file)


def _shaft(file: DriveFile, names: Naming, shaft_id: str, ratio: Fraction | None) -> Shaft:
    table = next((row for row in file.shaft if row.id == shaft_id), None)
    role = names.shaft_roles[shaft_id]
    has_mark = any(
        pulley.mark_deg is not None
        for pulley, shaft in zip(file.pulley, names.shaft_of, strict=True)
        if shaft == shaft_id
    )
    stated = table.phased if table is not None else None
    return Shaft(shaft_id, role, ratio, phased_by_default(role, has_mark) if stated is None else stated, table)


def phased_by_default(role: Role, has_mark: bool) -> bool:
    """Whether a shaft must agree with the crankshaft when its file does not say so.

    Parameters
    ----------
    role
        What the shaft is.
    has_mark
        Whether one of its pulleys carries a timing mark.
    """
    return role in PHASED_ROLES or (role == "injection pump" and has_mark)


def _belt_sense(
    file: DriveFile, names: Naming, number: int, ratios: dict[str, Fraction | None], crank_sense: int
) -> int:
    driver = names.pulleys_on(names.belt_ids[number])[0]
    ratio = ratios[names.shaft_of[driver]]
    turns_back = ratio is not None and ratio < 0
    return crank_sense * (-1 if turns_back else 1) * (1 if is_inside(file, driver) else -1)


def _belt(file: DriveFile, names: Naming, number: int, sense: int, centres: Centres) -> Belt:
    belt_id = names.belt_ids[number]
    pulleys = tuple(_pulley(file, names, index, centres) for index in names.pulleys_on(belt_id))
    on_belt = {pulley.id for pulley in pulleys}
    tensioners = tuple(row for row in file.tensioner if row.pulley in on_belt)
    parts = {name: row for name, row in centres.parts.items() if name in on_belt}
    return Belt(belt_id, sense, pulleys, tensioners, file.belt[number], parts)


def _pulley(file: DriveFile, names: Naming, index: int, centres: Centres) -> Pulley:
    table = file.pulley[index]
    return Pulley(
        id=table.id,
        shaft=names.shaft_of[index],
        role=names.role_of[index],
        inside=is_inside(file, index),
        teeth=table.teeth,
        centre_mm=centres.centre_mm.get(table.id),
        centre_u_mm=centres.u_mm.get(table.id),
        is_tensioner=table.id in names.pulley_of
        or (names.role_of[index] == "tensioner" and table.id not in centres.centre_mm),
        table=table,
    )
