"""Pitch-line radii and centres of a belt's pulleys at a temperature, and how fast each pulley turns."""

from __future__ import annotations

import math

import numpy as np

from twoturn.drive.parts import Belt, Drive, Pulley
from twoturn.drive.path import FloatArray

TOOTHED_EXPANSION_PER_K = 11.5e-6
SMOOTH_EXPANSION_PER_K = 0.0


def pulley_expansion_per_k(pulley: Pulley) -> float:
    """Expansion of a pulley's metal [1/K]: as its file says, else 11.5e-6 (steel) when toothed, 0 when smooth."""
    given = pulley.table.expansion_per_k
    if given is not None:
        return given
    return TOOTHED_EXPANSION_PER_K if pulley.toothed else SMOOTH_EXPANSION_PER_K


def pitch_line_radius_mm(pulley: Pulley, belt: Belt, warmer_k: float = 0.0) -> float | None:
    """Radius at which the belt's pitch line runs round a pulley.

    Parameters
    ----------
    pulley, belt
        The pulley and the belt that runs over it.
    warmer_k
        Temperature above the reference temperature [K].

    Returns
    -------
    float | None
        z·p/2π for a toothed pulley, d/2 + back_mm or d/2 + tip_mm for a smooth one [mm]; None where pitch or diameter
        is not given. Of a smooth pulley only the diameter grows with temperature.
    """
    growth = 1 + pulley_expansion_per_k(pulley) * warmer_k
    if pulley.teeth is not None:
        pitch = belt.table.pitch_mm
        return None if pitch is None else pulley.teeth * pitch / (2 * math.pi) * growth
    diameter = pulley.table.diameter_mm
    if diameter is None:
        return None
    return diameter / 2 * growth + (belt.table.tip_mm if pulley.inside else belt.table.back_mm)


def pitch_line_radii_mm(belt: Belt, warmer_k: float = 0.0) -> FloatArray:
    """Pitch-line radii of every pulley of a belt; shape (n,) [mm], NaN where one is not known.

    Parameters
    ----------
    belt
        The belt.
    warmer_k
        Temperature above the reference temperature [K].
    """
    radii = [pitch_line_radius_mm(pulley, belt, warmer_k) for pulley in belt.pulleys]
    return np.array([math.nan if radius is None else radius for radius in radii])


def block_growth(drive: Drive, warmer_k: float) -> float:
    """Factor [-] by which what is bolted to the block moves away from the origin, ``warmer_k`` [K] above reference."""
    return 1 + drive.file.drive.block_expansion_per_k * warmer_k


def fixed_centres_mm(belt: Belt, growth: float = 1.0) -> FloatArray:
    """Centres of a belt's pulleys, those of tensioners as NaN; shape (n, 2) [mm].

    Parameters
    ----------
    belt
        The belt.
    growth
        Factor of the block's growth [-], see :func:`block_growth`.
    """
    missing = (math.nan, math.nan)
    points = [missing if pulley.is_tensioner else (pulley.centre_mm or missing) for pulley in belt.pulleys]
    return np.array(points, dtype=float) * growth


def speed_ratio(drive: Drive, belt: Belt, pulley: Pulley, warmer_k: float = 0.0) -> float | None:
    """Turns of a pulley per crank turn [-], negative when it turns against the crankshaft.

    Parameters
    ----------
    drive, belt, pulley
        The pulley, its belt and the drive.
    warmer_k
        Temperature above the reference temperature [K].

    Returns
    -------
    float | None
        z_driver/z for a toothed pulley, z_driver·p/(2π·r) for a smooth one, times the ratio of the belt's driver;
        None where a count, the pitch or a diameter is missing.
    """
    driver = belt.driver
    own = drive.shaft(driver.shaft).ratio
    if own is None or driver.teeth is None:
        return None
    way = 1 if pulley.inside == driver.inside else -1
    if pulley.teeth is not None:
        return way * float(own) * driver.teeth / pulley.teeth
    radius = pitch_line_radius_mm(pulley, belt, warmer_k)
    if radius is None or belt.table.pitch_mm is None:
        return None
    return way * float(own) * driver.teeth * belt.table.pitch_mm / (2 * math.pi * radius)
