"""One belt at rest at one temperature: what can be known of it, and why the rest cannot."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from twoturn.drive.model.tensioners import AnyTensioner, DoubleEccentric, LockedEccentric
from twoturn.drive.parts import Belt, Drive
from twoturn.drive.path import ComplexArray, FloatArray, Path, belt_path
from twoturn.drive.radii import block_growth, fixed_centres_mm, pitch_line_radii_mm
from twoturn.mechanics.length_u import length_u_mm
from twoturn.mechanics.limits import missing_keys, missing_spring
from twoturn.mechanics.loop import Cord
from twoturn.mechanics.rest import NoPlace, Outcome, Standing
from twoturn.mechanics.settling import Set, held_rest, settle, sprung_rests
from twoturn.mechanics.stand import Stand


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
    from twoturn.mechanics.closing import checked

    return checked(drive, _at_rest(drive, belt, warmer_k))


def _at_rest(drive: Drive, belt: Belt, warmer_k: float) -> BeltAtRest:
    from twoturn.mechanics.joint import joint_at_rest

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


def _sentence(no_place: NoPlace, belt: Belt) -> str:
    text = no_place.why[:1].upper() + no_place.why[1:]
    if no_place.short_mm is not None:
        text += f": {how_far(no_place.short_mm, belt.table.pitch_mm)}"
    return f"{text}."
