"""Belt teeth from mark to mark: near-whole numbers support a drive's geometry, others show that something is wrong."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from twoturn.drive.laid import LaidBelt, distance_to_mark_mm, laid_with
from twoturn.drive.parts import Belt, Pulley

Array = NDArray[np.float64]
NEAR = 0.1
STEP_DEG = 1e-3
Apart = Sequence[tuple[LaidBelt, LaidBelt]]
"""Belts laid with one uncertain number more, and less."""


@dataclass(frozen=True)
class ToothCount:
    """Belt teeth along travel from one marked sprocket's mark to the next one's.

    Attributes
    ----------
    start, end
        Pulley ids.
    teeth
        Real number of belt teeth [-].
    u
        Its standard uncertainty [-], from those that the file gives; None where it gives none.
    near_integer
        Whether ``teeth`` lies within 2·u of a whole number where every fixed pulley's centre carries an uncertainty;
        else within 0.1 or 2·u, whichever is more.
    meshes
        Whether it does once marks on a tooth are counted from the nearest gap (a belt's tooth sits in a gap); the same
        as ``near_integer`` when both marks are on the same kind of place; None where a mark's place is not known.
    closes
        True for the last one of several: it only closes the loop and is no evidence of its own.
    """

    start: str
    end: str
    teeth: float
    u: float | None
    near_integer: bool
    meshes: bool | None
    closes: bool = False


def tooth_counts(laid: LaidBelt, apart: Apart | None = None, share: float = 1.0) -> list[ToothCount]:
    """Tooth counts of one belt on its wheels, at the given position.

    Parameters
    ----------
    laid
        The belt on its wheels, ``drive.laid.lay``.
    apart
        The belt laid with each uncertain number but the marks' ``share`` of its standard uncertainty more, and less,
        the tensioner where it then stands; None to move the centres that carry one and hold the tensioner.
    share
        Part of a standard uncertainty [-].

    Returns
    -------
    list
        One row a marked sprocket, in belt order; they add up to N. No marked sprocket: empty; one: a single row of N.

    Notes
    -----
    Length·N/L, so that near-whole numbers judge geometry and not stretch. First-order uncertainty (JCGM 100, 5.1.2) by
    central differences over every number that carries one.
    """
    marked = laid.belt.marked
    if not marked:
        return []
    values = _counts(laid)
    u = _uncertainties(laid, _moved_centres(laid) if apart is None else apart, 1.0 if apart is None else share)
    least = 0.0 if all_centres_carry_u(laid.belt) else NEAR
    rows = []
    for index, (pulley, value) in enumerate(zip(marked, values, strict=True)):
        after = marked[(index + 1) % len(marked)]
        reach = NEAR if u is None else max(2 * float(u[index]), least, 1e-9)
        begin, finish = _to_gap(laid, pulley), _to_gap(laid, after)
        shift = None if begin is None or finish is None else finish - begin
        rows.append(
            ToothCount(
                start=pulley.id,
                end=after.id,
                teeth=float(value),
                u=None if u is None else float(u[index]),
                near_integer=_near(float(value), reach),
                meshes=None if shift is None else _near(float(value) + shift, reach),
                closes=len(marked) > 1 and index == len(marked) - 1,
            )
        )
    return rows


def _near(value: float, reach: float) -> bool:
    return abs(value - round(value)) <= reach


def _to_gap(laid: LaidBelt, pulley: Pulley) -> float | None:
    """Teeth [-] along travel from a sprocket's mark to its nearest gap: half a tooth for a mark on a tooth."""
    table = pulley.table
    if table.mark_offset_deg is not None and pulley.teeth is not None:
        way = float(laid.way[laid.belt.pulleys.index(pulley)])
        return way * table.mark_offset_deg * pulley.teeth / 360
    return {"gap": 0.0, None: 0.0, "tooth": 0.5, "hub": None}[table.mark_on]


def _counts(laid: LaidBelt) -> Array:
    """Counts [-] from each marked sprocket's mark to the next one's."""
    at = np.array(
        [
            distance_to_mark_mm(laid, index, pulley.table.mark_deg)
            for index, pulley in enumerate(laid.belt.pulleys)
            if pulley.toothed and pulley.table.mark_deg is not None
        ]
    )
    ends = np.append(at[1:], at[0] + laid.length_mm)
    return np.asarray((ends - at) / laid.mm_per_tooth)


def all_centres_carry_u(belt: Belt) -> bool:
    """Whether every fixed pulley's centre carries an uncertainty; the driving pulley at the origin needs none."""
    fixed = [pulley for pulley in belt.pulleys if not pulley.is_tensioner and pulley.centre_mm != (0.0, 0.0)]
    return all(pulley.centre_u_mm is not None for pulley in fixed)


def _moved_centres(laid: LaidBelt) -> Apart:
    """Every coordinate that carries an uncertainty, moved by one; the tensioner held."""
    pairs = []
    for index, pulley in enumerate(laid.belt.pulleys):
        for axis, u_mm in zip((1.0, 1.0j), pulley.centre_u_mm or (), strict=False):
            push = np.zeros(len(laid.centres), dtype=complex)
            push[index] = axis * u_mm
            pairs.append((laid_with(laid, laid.centres + push), laid_with(laid, laid.centres - push)))
    return pairs


def _uncertainties(laid: LaidBelt, apart: Apart, share: float) -> Array | None:
    """Standard uncertainty of every count [-]; None where nothing carries one."""
    steps = [(_counts(high) - _counts(low)) / (2 * share) for high, low in apart]
    for index, pulley in enumerate(laid.belt.pulleys):
        u_deg = pulley.table.u_of("mark_deg")
        if u_deg and pulley.toothed and pulley.table.mark_deg is not None:
            high, low = (_counts(_mark_moved(laid, index, sign * STEP_DEG)) for sign in (1, -1))
            steps.append((high - low) / (2 * STEP_DEG) * u_deg)
    return np.sqrt(np.sum(np.square(steps), axis=0)) if steps else None


def _mark_moved(laid: LaidBelt, index: int, by_deg: float) -> LaidBelt:
    pulleys = list(laid.belt.pulleys)
    table = pulleys[index].table
    moved = table.model_copy(update={"mark_deg": (table.mark_deg or 0.0) + by_deg})
    pulleys[index] = replace(pulleys[index], table=moved)
    return replace(laid, belt=replace(laid.belt, pulleys=tuple(pulleys)))
