"""What is known of one belt at one temperature, and the belt on its wheels with every pointer on the notch."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from twoturn.drive.model.tensioners import AnyTensioner, DoubleEccentric, LockedEccentric
from twoturn.drive.parts import Belt, Drive
from twoturn.drive.path import ComplexArray, FloatArray, Path, belt_path
from twoturn.drive.radii import block_growth, fixed_centres_mm, pitch_line_radii_mm
from twoturn.mechanics.rest.balances import Standing
from twoturn.mechanics.rest.stand import Stand


@dataclass(frozen=True)
class Closure:
    """The length offset that closed a belt on the notch, with its standard uncertainty [mm]."""

    offset_mm: float
    u_mm: float


@dataclass(frozen=True)
class Shape:
    """A belt on its wheels.

    Attributes
    ----------
    centres
        Pulley centres in belt order, x + i·y; shape (n,) [mm].
    radii_mm
        Pitch-line radii; shape (n,) [mm].
    path
        The pitch line; its arrays have shape (n,) or ().
    """

    centres: ComplexArray
    radii_mm: FloatArray
    path: Path


@dataclass(frozen=True)
class Resting:
    """One tensioner at rest.

    Attributes
    ----------
    stand
        The tensioner with its settings.
    rest
        Where it stands without friction.
    """

    stand: Stand
    rest: Standing


@dataclass(frozen=True)
class BeltAtRest:
    """What is known of one belt at one temperature.

    Attributes
    ----------
    belt
        The belt.
    warmer_k
        Temperature above the reference temperature [K].
    shape
        Belt and pulleys at rest (with the pointer on the notch where no rest position is known); None without
        coordinates.
    free_mm
        L₀ at the temperature [mm]; None without a pitch.
    tension_n
        Tension at rest [N]; None where it cannot be known.
    tensioners
        Its tensioners at rest, in file order; empty where no rest position is known.
    closure
        Where a length offset was solved.
    why
        What could not be known and what is to be noted, whole sentences.
    """

    belt: Belt
    warmer_k: float
    shape: Shape | None
    free_mm: float | None
    tension_n: float | None
    tensioners: tuple[Resting, ...]
    closure: Closure | None
    why: tuple[str, ...]


def shape_of(drive: Drive, belt: Belt, warmer_k: float, tensioners: dict[str, complex]) -> Shape:
    """A belt on its wheels with its tensioners' pulleys at given places.

    Parameters
    ----------
    drive, belt
        The drive and one of its belts.
    warmer_k
        Temperature above the reference temperature [K].
    tensioners
        Centre x + i·y of every tensioner's pulley by id [mm].
    """
    fixed = fixed_centres_mm(belt, block_growth(drive, warmer_k))
    centres = fixed[:, 0] + 1j * fixed[:, 1]
    for index, pulley in enumerate(belt.pulleys):
        if pulley.id in tensioners:
            centres[index] = tensioners[pulley.id]
    radii = pitch_line_radii_mm(belt, warmer_k)
    inside = np.array([pulley.inside for pulley in belt.pulleys])
    return Shape(centres, radii, belt_path(centres, radii, inside, belt.sense))


def on_the_notch(drive: Drive, empty: BeltAtRest, why: tuple[str, ...]) -> BeltAtRest:
    """The path with every pointer on the notch, where no rest position is known, with what is to be said of it.

    Parameters
    ----------
    drive, empty
        The drive, and the belt with nothing known of it yet.
    why
        Whole sentences.
    """
    return replace(
        empty, shape=notch_shape(drive, empty), why=(*why, f"Path, wraps and spans hold {where(empty.belt)}.")
    )


def notch_shape(drive: Drive, rest: BeltAtRest) -> Shape:
    """The belt on its wheels with every pointer on the notch, locked rollers where they are set.

    Parameters
    ----------
    drive, rest
        The drive, and the belt at the temperature asked for.
    """
    places = {table.pulley: _notch_place(drive, rest, table) for table in rest.belt.tensioners}
    return shape_of(drive, rest.belt, rest.warmer_k, places)


def _notch_place(drive: Drive, empty: BeltAtRest, table: AnyTensioner) -> complex:
    """Where a tensioner's pulley stands with the pointer on the notch (a locked roller: where it is set)."""
    stand = Stand(drive, empty.belt, table)  # type: ignore[arg-type]
    pointer, adjuster = 0.0, 0.0
    if isinstance(table, LockedEccentric):
        pointer = table.set_deg or 0.0
    if isinstance(table, DoubleEccentric):
        low, high = stand.limits.adjuster_range or (0.0, 0.0)
        adjuster = (low + high) / 2 if table.adjuster_deg is None else table.adjuster_deg
    return complex(stand.kind(block_growth(drive, empty.warmer_k)).pose(pointer, adjuster).centre)


def where(belt: Belt) -> str:
    """Where the path is taken while no rest position is known, in words: "with …" or "as …"."""
    set_there = [isinstance(table, LockedEccentric) and table.set_deg is not None for table in belt.tensioners]
    if not set_there:
        return "as the pulleys stand"
    if all(set_there):
        return "with the roller where it is set" if len(set_there) == 1 else "with the rollers where they are set"
    return "with the pointer on the notch" + (" and the fixed roller where it is set" if any(set_there) else "")


def how_far(short_mm: float, pitch_mm: float | None) -> str:
    """By how much a belt is too long or too short, in words: "the belt is 3.20 mm (0.40 teeth) too short".

    ``short_mm`` [mm] is positive when it is too short; ``pitch_mm`` [mm] makes teeth of it.
    """
    size = f"{abs(short_mm):.2f} mm"
    if pitch_mm is not None:
        size += f" ({abs(short_mm) / pitch_mm:.2f} teeth)"
    return f"the belt is {size} too {'short' if short_mm > 0 else 'long'}"
