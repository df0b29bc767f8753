"""Turning the crankshaft: where every shaft, mark and painted line is, and when they all meet again.

Crank angles are degrees turned on from the setting position in the running direction. Shaft angles are clock angles
turned, clockwise positive. Ratios are exact fractions.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from twoturn.drive.laid import LaidBelt, Places, places
from twoturn.drive.parts import Belt, Drive, Pulley, Shaft
from twoturn.drive.path import FloatArray
from twoturn.drive.radii import speed_ratio


def pulley_angles_deg(drive: Drive, belt: Belt, crank_deg: FloatArray | float) -> dict[str, FloatArray]:
    """How far every pulley of a belt has turned, smooth ones too where their size is known.

    Parameters
    ----------
    drive, belt
        The drive and one of its belts.
    crank_deg
        Crank angle turned on in the running direction; any shape [°].

    Returns
    -------
    dict
        By pulley id: clock angle turned, clockwise positive [°].
    """
    turned = np.asarray(crank_deg, dtype=float) * drive.crank_sense
    ratios = {pulley.id: speed_ratio(drive, belt, pulley) for pulley in belt.pulleys}
    return {name: turned * ratio for name, ratio in ratios.items() if ratio is not None}


def mark_angles_deg(drive: Drive, belt: Belt, crank_deg: FloatArray | float) -> dict[str, FloatArray]:
    """Clock angle of the timing mark of every marked sprocket of a belt.

    Parameters
    ----------
    drive, belt
        The drive and one of its belts.
    crank_deg
        Crank angle turned on in the running direction; any shape [°].

    Returns
    -------
    dict
        By pulley id: clock angle, 0 to 360 [°].
    """
    turned = pulley_angles_deg(drive, belt, crank_deg)
    marks = {pulley.id: pulley.table.mark_deg for pulley in belt.marked}
    return {
        name: np.mod(mark + turned[name], 360.0) for name, mark in marks.items() if mark is not None and name in turned
    }


def travel_teeth(drive: Drive, belt: Belt, crank_deg: FloatArray | float) -> FloatArray:
    """How far a belt has travelled, in belt teeth [-], after ``crank_deg`` [°] of crank turned on; any shape.

    Raises
    ------
    ValueError
        The ratio of the shaft that drives the belt is not known.
    """
    return np.asarray(crank_deg, dtype=float) / 360 * float(teeth_per_crank_turn(drive, belt))


def teeth_per_crank_turn(drive: Drive, belt: Belt) -> Fraction:
    """Belt teeth that pass in one crank turn [-]: z·|ratio| of the belt's driver, exact.

    Raises
    ------
    ValueError
        The teeth or the ratio of the driver are not known.
    """
    ratio = drive.shaft(belt.driver.shaft).ratio
    if ratio is None or belt.driver.teeth is None:
        raise ValueError(f'nothing says how fast "{belt.driver.id}" turns, which drives the belt "{belt.id}"')
    return belt.driver.teeth * abs(ratio)


def line_places(drive: Drive, laid: LaidBelt, crank_deg: FloatArray | float, lines: list[int] | None = None) -> Places:
    """Where painted lines stand after the crankshaft was turned.

    Parameters
    ----------
    drive, laid
        The drive and one of its belts on its wheels.
    crank_deg
        Crank angles turned on in the running direction; shape (cases,) or one number [°].
    lines
        Tooth numbers of the lines [-]; those of the drive file when None.

    Returns
    -------
    Places
        Shape (cases, lines).
    """
    numbers = np.array(laid.belt.table.marks if lines is None else lines, dtype=float)
    moved = travel_teeth(drive, laid.belt, np.atleast_1d(np.asarray(crank_deg, dtype=float)))
    return places(laid, moved[:, None] + numbers)


@dataclass(frozen=True)
class Return:
    """When something is back where it was.

    Attributes
    ----------
    turns
        Least number of crank turns, exact; None when it cannot be known.
    why
        Why not, in one sentence; empty when it is known.
    """

    turns: Fraction | None
    why: str = ""


def marks_return(drive: Drive) -> Return:
    """Least whole crank turns after which every phased shaft is back on its mark.

    The least T with T·ratio whole for every phased shaft: the least common multiple of the ratios' denominators.
    """
    phased = [shaft for shaft in drive.shafts if shaft.phased]
    unknown = [shaft.id for shaft in phased if shaft.ratio is None]
    if unknown:
        return Return(None, f'nothing says how fast "{unknown[0]}" turns, so when the marks return is not known')
    return Return(Fraction(math.lcm(1, *(shaft.ratio.denominator for shaft in phased if shaft.ratio is not None))))


def realign(drive: Drive, belt: Belt) -> Return:
    """Crank turns after which the painted lines of a belt *and* the marks of its sprockets meet again.

    lcm(N, z of every marked sprocket on it, the driver included)/(z·|ratio| of its driver), exact.
    """
    try:
        each_turn = teeth_per_crank_turn(drive, belt)
    except ValueError as error:
        return Return(None, f"{error}, so when the painted lines meet again is not known")
    counts = [pulley.teeth for pulley in (belt.driver, *belt.marked) if pulley.teeth is not None]
    return Return(Fraction(math.lcm(belt.table.teeth, *counts)) / each_turn)


def lines_meet_after(drive: Drive, belt: Belt, turns: int | Fraction) -> bool | None:
    """Whether painted lines and marks meet after so many crank turns [-]; None when it cannot be known."""
    back = realign(drive, belt).turns
    return None if back is None else (Fraction(turns) / back).denominator == 1


def deg_per_tooth(drive: Drive, pulley: Pulley) -> Fraction | None:
    """Crank degrees that one belt tooth moves the shaft of a sprocket, exact [°].

    360/(z·|ratio|) of its shaft, whichever belt it runs on; None for a smooth pulley or an unknown ratio.
    """
    ratio = drive.shaft(pulley.shaft).ratio
    if pulley.teeth is None or not ratio:
        return None
    return Fraction(360) / (pulley.teeth * abs(ratio))


def timed_sprocket(drive: Drive, shaft: Shaft) -> tuple[Belt, Pulley] | None:
    """The belt and sprocket that time a shaft: where a belt drives it; else the sprocket by which it drives one.

    None for a shaft that no toothed pulley turns (a linked shaft, an idler).
    """
    found = [(belt, pulley) for belt in drive.belts for pulley in belt.pulleys if pulley.shaft == shaft.id]
    toothed = [pair for pair in found if pair[1].toothed]
    driven = [pair for pair in toothed if pair[0].driver.id != pair[1].id]
    return next(iter(driven or toothed), None)


def shaft_deg_per_tooth(drive: Drive, shaft: Shaft) -> Fraction | None:
    """Crank degrees one belt tooth moves a shaft, by the sprocket that times it, exact [°]; None without one."""
    pair = timed_sprocket(drive, shaft)
    return None if pair is None else deg_per_tooth(drive, pair[1])
