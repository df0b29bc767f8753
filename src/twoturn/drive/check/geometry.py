"""Checks of the belt's geometry: pulleys that overlap, spans through pulleys, wraps that cannot be.

They hold at the rest position. At loading the tensioner's pulley has no centre yet: then everything is checked that
does not depend on it, since that holds at every position.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from twoturn.drive.faults import FaultList
from twoturn.drive.parts import Belt, Drive
from twoturn.drive.path import (
    ComplexArray,
    FloatArray,
    Path,
    as_complex,
    belt_path,
    pulley_gaps,
    span_clearances,
    span_crossings,
    tangents,
    turning,
)
from twoturn.drive.radii import fixed_centres_mm, pitch_line_radii_mm

MOST_WRAP_DEG = 300.0
LEAST_WRAP_DEG = 3.0


@dataclass(frozen=True)
class GeometryFault:
    """One thing that cannot be.

    Attributes
    ----------
    refusal
        Its name in ``REFUSALS``.
    pulley
        Id of the pulley at fault.
    found
        What was found, with numbers.
    words
        What fills the gaps of the sentence.
    """

    refusal: str
    pulley: str
    found: str
    words: dict[str, str]


def geometry_faults(belt: Belt, centres_mm: FloatArray) -> list[GeometryFault]:
    """What is impossible in a belt's geometry with its pulleys at given centres.

    Parameters
    ----------
    belt
        The belt; its pitch and diameters are known.
    centres_mm
        Centres of its pulleys in order along travel; shape (n, 2) [mm]; NaN where one is not known.

    Returns
    -------
    list
        Overlaps; if there are none (then every span has its tangent), spans through pulleys and wraps over 300° or
        under 3°; else a signed sum of wraps that is not +360°; else spans that cross each other. Empty when the belt
        can run like this.

    Notes
    -----
    All circles are those of the pitch line, so that there is room for the belt too.
    """
    centres = as_complex(centres_mm)
    radii = pitch_line_radii_mm(belt)
    with np.errstate(invalid="ignore"):  # unknown centres are NaN and stay so
        gaps = pulley_gaps(centres, radii)
        path = belt_path(centres, radii, np.array([one.inside for one in belt.pulleys]), belt.sense)
        clearances = span_clearances(path, centres, radii)
    if np.any(gaps <= 0):
        return _overlaps(belt, gaps)
    faults = _wraps(belt, path, centres, radii) + _through(belt, clearances)
    return faults or _wrap_sum(belt, path) or _crossings(belt, path)


def refuse_geometry(drive: Drive, belt: Belt, centres_mm: FloatArray, faults: FaultList) -> None:
    """Note what is impossible in a belt's geometry as faults of the drive's file.

    Parameters
    ----------
    drive, belt
        The drive and one of its belts.
    centres_mm
        Centres of the belt's pulleys in order along travel; shape (n, 2) [mm]; NaN where one is not known.
    faults
        Where they are collected, under the keys of the pulleys concerned.
    """
    numbers = {pulley.id: index for index, pulley in enumerate(drive.file.pulley)}
    for fault in geometry_faults(belt, centres_mm):
        index = numbers[fault.pulley]
        key = "at_mm" if drive.file.pulley[index].at_mm is not None else "id"
        faults.refuse(fault.refusal, ("pulley", index, key), fault.found, **fault.words)


def check_fixed_geometry(drive: Drive, faults: FaultList) -> None:
    """Check of every belt with coordinates what holds wherever its tensioners stand.

    Parameters
    ----------
    drive
        The drive.
    faults
        Where the faults are collected.
    """
    for belt in drive.belts:
        if belt.has_coordinates:
            refuse_geometry(drive, belt, fixed_centres_mm(belt), faults)


def _named(belt: Belt, *numbers: int) -> dict[str, str]:
    keys = ("one", "other", "third", "fourth")
    return {key: f'"{belt.pulleys[number].id}"' for key, number in zip(keys, numbers, strict=False)}


def _overlaps(belt: Belt, gaps: FloatArray) -> list[GeometryFault]:
    faults = []
    for a, b in zip(*np.nonzero(np.triu(gaps <= 0, 1)), strict=True):
        found = f"pulleys that overlap by {-gaps[a, b]:.2f} mm"
        faults.append(GeometryFault("pulley-overlap", belt.pulleys[b].id, found, _named(belt, a, b)))
    return faults


def _clear_of_mm(belt: Belt, number: int, centres: ComplexArray, radii_mm: FloatArray) -> float:
    """How far the belt passes clear of a pulley when it is left out of the path [mm]; NaN where that is not known."""
    count = len(belt.pulleys)
    if count < 3:
        return math.nan
    signed = turning(np.array([one.inside for one in belt.pulleys]), belt.sense) * radii_mm
    before, after = (number - 1) % count, (number + 1) % count
    starts, ends = centres[[before]], centres[[after]]
    way = tangents(starts, ends, signed[[before, after]])[1][0]
    line = centres[before] + 1j * signed[before] * way
    inward = -1j * way * np.sign(signed[number])
    return float(((centres[number] - line) * np.conj(inward)).real - radii_mm[number])


def _wraps(belt: Belt, path: Path, centres: ComplexArray, radii_mm: FloatArray) -> list[GeometryFault]:
    faults, wraps = [], np.degrees(path.wraps_rad)
    for number in np.flatnonzero((wraps > MOST_WRAP_DEG) | (wraps < LEAST_WRAP_DEG)).tolist():
        wrap = wraps[number]
        words = _named(belt, number)
        found = f"a wrap of {wrap:.1f}°"
        if wrap > MOST_WRAP_DEG:
            clear = _clear_of_mm(belt, number, centres, radii_mm)
            if clear > 0:
                found += f" (the belt does not touch {words['one']} there: it passes about {clear:.1f} mm clear of it)"
            faults.append(GeometryFault("wrap-wide", belt.pulleys[number].id, found, words))
        else:
            faults.append(GeometryFault("wrap-narrow", belt.pulleys[number].id, found, words))
    return faults


def _through(belt: Belt, clearances: FloatArray) -> list[GeometryFault]:
    faults = []
    for span, pulley in zip(*np.nonzero(clearances < 0), strict=True):
        words = _named(belt, span, (span + 1) % len(belt.pulleys), pulley)
        found = f"a span that runs {-clearances[span, pulley]:.2f} mm into it"
        faults.append(GeometryFault("span-through", belt.pulleys[pulley].id, found, words))
    return faults


def _crossings(belt: Belt, path: Path) -> list[GeometryFault]:
    faults, count = [], len(belt.pulleys)
    for first, second in zip(*np.nonzero(span_crossings(path)), strict=True):
        if first > second:
            continue
        words = _named(belt, first, (first + 1) % count, second, (second + 1) % count)
        found = "two spans of the belt that cross each other"
        faults.append(GeometryFault("belt-crosses", belt.pulleys[(second + 1) % count].id, found, words))
    return faults


def _wrap_sum(belt: Belt, path: Path) -> list[GeometryFault]:
    total = float(np.degrees(path.signed_wraps_rad).sum())
    if math.isnan(total) or abs(total - 360.0) < 1e-3:
        return []
    return [GeometryFault("wrap-sum", belt.driver.id, f"wraps that add up to {total:.0f}°", {})]
