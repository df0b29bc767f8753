"""A belt laid anew with every stated number a little more and a little less: where its uncertainties lead it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from twoturn.drive.laid import LaidBelt, lay
from twoturn.drive.model.tensioners import AnyTensioner, LockedEccentric
from twoturn.drive.parts import Drive
from twoturn.drive.path import ComplexArray, belt_path
from twoturn.mechanics.rest.known import BeltAtRest
from twoturn.mechanics.rest.loop import LEAST_LEVER
from twoturn.mechanics.rest.numbers import Numbers
from twoturn.mechanics.rest.stand import Stand
from twoturn.mechanics.setting.settling import Set, settle
from twoturn.mechanics.spread.cases import rest_of_cases
from twoturn.mechanics.spread.inputs import UncertainInput, uncertain_inputs

SHARE = 0.01
"""Part of a standard uncertainty by which a number is moved [-]."""
STEP = 1e-4
ANCHORS = ("at_mm", "bolt_mm", "pivot_mm", "at_notch_mm")


def stated_inputs(drive: Drive, rest: BeltAtRest) -> list[UncertainInput]:
    """Uncertain numbers of a belt whose uncertainty the file itself gives.

    Parameters
    ----------
    drive, rest
        The drive, and one of its belts at rest.
    """
    centres = {pulley.id for pulley in rest.belt.pulleys if pulley.centre_u_mm is not None}
    points = {table.pulley: table.uncertainties for table in rest.belt.tensioners}

    def stated(item: UncertainInput) -> bool:
        _, name, key = item.key
        point = key.partition(".")[0]
        if point == "at_mm":
            return name in centres
        if key == "stiffness_n":
            return "stiffness_n" in rest.belt.table.uncertainties
        return point == key or point in points.get(name, {})

    return [item for item in uncertain_inputs(drive, rest.belt) if stated(item)]


def laid_apart(drive: Drive, rest: BeltAtRest) -> list[tuple[LaidBelt, LaidBelt]]:
    """The belt laid with every stated number by ``SHARE`` of its standard uncertainty more, and less.

    Parameters
    ----------
    drive, rest
        The drive, and one of its belts at rest, its shape known.

    Returns
    -------
    list
        One pair for each uncertain number the file states.

    Notes
    -----
    A belt keeps its length, so a tensioner that is free comes to rest elsewhere; its settings are solved anew. Where
    no rest position is known a single tensioner moves along its way so that the path keeps its length to first order;
    several tensioners are held.
    """
    inputs = stated_inputs(drive, rest)
    if not inputs or rest.shape is None:
        return []
    if len(rest.tensioners) == 1:
        done = settle(Stand(drive, rest.belt, rest.tensioners[0].stand.table))
        pairs = _settled_anew(rest, done, inputs) if isinstance(done, Set) else None
        if pairs is not None:
            return pairs
    return _drawn_along(drive, rest, inputs)


def _settled_anew(rest: BeltAtRest, done: Set, inputs: list[UncertainInput]) -> list[tuple[LaidBelt, LaidBelt]] | None:
    """Every belt at rest once more; None where one has no rest position."""
    count = 2 * len(inputs)
    pushes = SHARE * np.kron(np.eye(len(inputs)), np.array([1.0, -1.0]))
    numbers = Numbers({item.key: item.value + item.u * push for item, push in zip(inputs, pushes, strict=True)})
    cases = rest_of_cases(done, numbers, rest.warmer_k, count)
    if not cases.good.all():
        return None
    loop = replace(done.stand, numbers=numbers).loop(rest.warmer_k)
    centres = loop.placed(np.asarray(loop.kind.pose(cases.pointer, cases.adjuster_deg).centre))
    radii = np.broadcast_to(loop.radii_mm, centres.shape)
    laid = [
        LaidBelt(rest.belt, centre, radius, belt_path(centre, radius, loop.inside, loop.sense))
        for centre, radius in zip(centres, radii, strict=True)
    ]
    return list(zip(laid[0::2], laid[1::2], strict=True))


def _drawn_along(drive: Drive, rest: BeltAtRest, inputs: Sequence[UncertainInput]) -> list[tuple[LaidBelt, LaidBelt]]:
    """Centres moved, and the one tensioner along its way so that the path keeps its length."""
    assert rest.shape is not None  # noqa: S101 - narrows the type
    ids = [pulley.id for pulley in rest.belt.pulleys]
    pulls, way = rest.shape.path.pulls, _way(drive, rest)
    pairs = []
    for item in inputs:
        _, name, key = item.key
        if key.partition(".")[0] not in ANCHORS or name not in ids:
            continue
        push = np.zeros(len(ids), dtype=np.complex128)
        push[ids.index(name)] = SHARE * item.u * (1.0 if key.endswith(".x") else 1j)
        if way is not None:
            push = push + way * -float((np.conj(pulls) * push).real.sum())
        pairs.append(
            (
                lay(rest.belt, rest.shape.centres + push, rest.warmer_k),
                lay(rest.belt, rest.shape.centres - push, rest.warmer_k),
            )
        )
    return pairs


def _way(drive: Drive, rest: BeltAtRest) -> ComplexArray | None:
    """How the one free tensioner's pulley moves for each millimetre of longer path; None where it is held."""
    tables = rest.belt.tensioners
    assert rest.shape is not None  # noqa: S101 - narrows the type
    if len(tables) != 1 or rest.belt.table.closure == "at notch" or _is_set(tables[0]):
        return None
    at = [pulley.id for pulley in rest.belt.pulleys].index(tables[0].pulley)
    kind = Stand(drive, rest.belt, tables[0]).kind(1.0)
    adjuster = getattr(tables[0], "adjuster_deg", None) or 0.0
    ahead, behind = (complex(kind.pose(step, adjuster).centre) for step in (STEP, -STEP))
    step, pull = ahead - behind, complex(rest.shape.path.pulls[at])
    lever = (pull.conjugate() * step).real
    if abs(lever) < LEAST_LEVER * abs(pull) * abs(step):
        return None
    way = np.zeros(rest.shape.centres.size, dtype=np.complex128)
    way[at] = step / lever
    return way


def _is_set(table: AnyTensioner) -> bool:
    return isinstance(table, LockedEccentric) and table.set_deg is not None
