"""The front of mechanics: one belt at rest at one temperature, what can be known of it, and why the rest cannot."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from twoturn.drive.parts import Belt, Drive
from twoturn.drive.radii import block_growth, pitch_line_radii_mm
from twoturn.mechanics.rest.balances import NoPlace, Outcome
from twoturn.mechanics.rest.joint import joint_at_rest
from twoturn.mechanics.rest.known import BeltAtRest, Closure, Resting, how_far, on_the_notch, shape_of
from twoturn.mechanics.rest.limits import missing_keys, missing_spring
from twoturn.mechanics.rest.loop import Cord
from twoturn.mechanics.rest.stand import Stand
from twoturn.mechanics.setting.closing import checked
from twoturn.mechanics.setting.length_u import length_u_mm
from twoturn.mechanics.setting.settling import Set, held_rest, settle, sprung_rests


def belt_at_rest(drive: Drive, belt: Belt, warmer_k: float = 0.0) -> BeltAtRest:
    """Rest state of one belt.

    Parameters
    ----------
    drive, belt
        The drive and one of its belts.
    warmer_k
        Temperature above the reference temperature [K]; settings are solved at the reference and held.

    Returns
    -------
    BeltAtRest
        What can be known; ``why`` says what cannot.
    """
    return checked(drive, _at_rest(drive, belt, warmer_k))


def _at_rest(drive: Drive, belt: Belt, warmer_k: float) -> BeltAtRest:
    empty = BeltAtRest(belt, warmer_k, None, _free_mm(belt, warmer_k), None, (), None, ())
    if not belt.has_coordinates:
        return replace(empty, why=("The file gives no coordinates: lengths, wraps and tension are not known.",))
    lacking = _unplaced(belt)
    if lacking:
        return replace(empty, why=(lacking,))
    if not belt.tensioners:
        return _without_tensioner(drive, empty)
    missing = missing_for_rest(belt)
    if missing:
        return on_the_notch(drive, empty, missing)
    if len(belt.tensioners) > 1:
        return joint_at_rest(drive, empty)
    return _with_one(drive, empty)


def _free_mm(belt: Belt, warmer_k: float) -> float | None:
    table = belt.table
    if table.pitch_mm is None:
        return None
    return (table.teeth * table.pitch_mm + table.length_error_mm) * (1 + table.expansion_per_k * warmer_k)


def _unplaced(belt: Belt) -> str:
    """Why the pulleys cannot all be placed."""
    if np.isnan(pitch_line_radii_mm(belt)).any():
        return "A pulley has neither teeth nor diameter_mm, so the path is not known."
    carried = {table.pulley for table in belt.tensioners}
    for pulley in belt.pulleys:
        if pulley.is_tensioner and pulley.id not in carried:
            return f'No [[tensioner]] says where the pulley "{pulley.id}" is, so the path is not known.'
    for table in belt.tensioners:
        keys = missing_keys(table)
        if keys:
            return f'The tensioner "{table.pulley}" lacks {", ".join(keys)}, so the path is not known.'
    return ""


def missing_for_rest(belt: Belt) -> tuple[str, ...]:
    """What a belt with coordinates lacks for a rest position, whole sentences."""
    sentences = []
    if belt.table.stiffness_n is None:
        is_set = all(getattr(table, "set_deg", None) is not None for table in belt.tensioners)
        lost = "the tension cannot" if is_set else "neither tension nor pointer can"
        sentences.append(f"stiffness_n of the belt is missing: without it {lost} be computed.")
    for table in belt.tensioners:
        key = missing_spring(table)
        if key is not None:
            sentences.append(f'{key} of the tensioner "{table.pulley}" is missing: its tension cannot be computed.')
    return tuple(sentences)


def _without_tensioner(drive: Drive, empty: BeltAtRest) -> BeltAtRest:
    shape = shape_of(drive, empty.belt, empty.warmer_k, {})
    tension, why = None, ["The belt has no tensioner: its tension follows from the centres alone."]
    stiffness = empty.belt.table.stiffness_n
    if stiffness is None:
        why.append("stiffness_n of the belt is missing: its tension cannot be computed.")
    elif shape.path.closed and empty.free_mm is not None:
        cord = Cord(stiffness, empty.belt.table.length_at_n)
        tension = float(cord.tension_n(shape.path.length_mm, empty.free_mm))
    return replace(empty, shape=shape, tension_n=tension, why=tuple(why))


def _with_one(drive: Drive, empty: BeltAtRest) -> BeltAtRest:
    done = settle(Stand(drive, empty.belt, empty.belt.tensioners[0]))
    if isinstance(done, NoPlace):
        return on_the_notch(drive, empty, (_sentence(done, empty.belt),))
    stand = done.stand
    rest = rest_at(done, empty.warmer_k)
    closure = closure_of(stand)
    free = float(stand.free_mm(empty.warmer_k))
    if isinstance(rest, NoPlace):
        refused = on_the_notch(drive, empty, (*done.notes, _sentence(rest, empty.belt)))
        return replace(refused, free_mm=free, closure=closure)
    centre = complex(stand.kind(block_growth(drive, empty.warmer_k)).pose(rest.pointer, rest.adjuster_deg).centre)
    shape = shape_of(drive, empty.belt, empty.warmer_k, {stand.table.pulley: centre})
    return replace(
        empty,
        shape=shape,
        free_mm=free,
        tension_n=rest.tension_n,
        tensioners=(Resting(stand, rest),),
        closure=closure,
        why=done.notes,
    )


def rest_at(done: Set, warmer_k: float) -> Outcome:
    """Where a tensioner stands ``warmer_k`` [K] above the reference temperature, its settings held."""
    pointer = done.stand.setting.pointer
    if pointer is None:
        return done.at_reference if warmer_k == 0 else sprung_rests(done.stand, warmer_k, (0.0,))[0]
    if warmer_k == 0:
        return done.at_reference
    held = held_rest(done.stand, warmer_k, float(np.asarray(pointer)))
    if isinstance(held, NoPlace):
        return held
    return replace(held, on_stop=done.at_reference.on_stop, short_mm=done.at_reference.short_mm)


def closure_of(stand: Stand) -> Closure | None:
    """The closure offset of a stand and its uncertainty; None where nothing was closed."""
    if stand.belt.table.closure != "at notch":
        return None
    adjuster = float(np.asarray(stand.setting.adjuster_deg))
    centre = complex(stand.kind(1.0).pose(0.0, adjuster).centre)
    path = shape_of(stand.drive, stand.belt, 0.0, {stand.table.pulley: centre}).path
    return Closure(float(np.asarray(stand.setting.offset_mm)), length_u_mm(stand.belt, path))


def _sentence(no_place: NoPlace, belt: Belt) -> str:
    text = no_place.why[:1].upper() + no_place.why[1:]
    if no_place.short_mm is not None:
        text += f": {how_far(no_place.short_mm, belt.table.pitch_mm)}"
    return f"{text}."
