"""Checks of the belt's geometry: pulleys that overlap, spans through pulleys, wraps that cannot be."""

from __future__ import annotations

import math
from itertools import combinations

from twoturn.drive.centres import Centres
from twoturn.drive.faults import FaultList
from twoturn.drive.model.belts import BeltTable, PulleyTable
from twoturn.drive.model.file import DriveFile
from twoturn.drive.naming import Naming
from twoturn.drive.ratios import is_inside


def pitch_line_radius_mm(pulley: PulleyTable, belt: BeltTable, *, inside: bool) -> float:
    """Radius of the belt's pitch line on a pulley at the reference temperature.

    Parameters
    ----------
    pulley, belt
        Their tables.
    inside
        Whether the belt's toothed side touches the pulley.

    Returns
    -------
    float
        z·p/2π toothed, d/2 + back_mm smooth under the back, d/2 + tip_mm smooth under the teeth [mm].
    """
    if pulley.teeth is not None:
        return pulley.teeth * (belt.pitch_mm or 0.0) / (2 * math.pi)
    return (pulley.diameter_mm or 0.0) / 2 + (belt.tip_mm if inside else belt.back_mm)


def check_fixed_overlaps(file: DriveFile, names: Naming, centres: Centres, faults: FaultList) -> None:
    """Fixed pulleys of one belt do not overlap (their pitch-line circles stay apart).

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
    for number, belt_id in enumerate(names.belt_ids):
        fixed = [index for index in names.pulleys_on(belt_id) if file.pulley[index].id in centres.centre_mm]
        for a, b in combinations(fixed, 2):
            one, other = file.pulley[a], file.pulley[b]
            apart = math.dist(centres.centre_mm[one.id], centres.centre_mm[other.id])
            least = sum(
                pitch_line_radius_mm(file.pulley[index], file.belt[number], inside=is_inside(file, index))
                for index in (a, b)
            )
            if apart <= least:
                words = {"least": f"{least:.2f}", "one": f'"{one.id}"', "other": f'"{other.id}"'}
                path = ("pulley", b, "at_mm")
                faults.refuse("pulley-overlap", path, f"{apart:.2f} mm between the centres", **words)
