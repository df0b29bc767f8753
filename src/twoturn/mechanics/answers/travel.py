"""A tensioner over its whole travel: where its pulley stands, its pointer and the tension."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from twoturn.drive.model.tensioners import DoubleEccentric, LockedEccentric
from twoturn.drive.path import BoolArray, ComplexArray, FloatArray
from twoturn.mechanics.answers.window import Sweep
from twoturn.mechanics.rest.known import Resting
from twoturn.mechanics.rest.loop import Look, balance, look
from twoturn.mechanics.rest.stand import Stand

STEPS = 120
FREE_ARM_DEG, FREE_SLIDE_MM = 30.0, 15.0

By = Literal["adjuster", "roller", "belt"]


@dataclass(frozen=True)
class Travel:
    """A tensioner moved from its loose end to its tight end; every array has shape (places,).

    Attributes
    ----------
    by
        What moves: ``"adjuster"`` (the setting eccentric is turned, the arm finds its rest), ``"roller"`` (a fixed
        roller is turned) or ``"belt"`` (nothing is set by hand: as if the belt were a little longer or shorter).
    setting
        What is turned or moved: clock angle of the setting eccentric, else the pointer [° or mm].
    adjuster_deg
        Clock angle of the setting eccentric [°]; 0 where there is none.
    pointer
        Pointer [° or mm].
    centre
        Centre of its pulley, x + i·y [mm].
    tension_n
        Tension without friction [N]; NaN where it is not known.
    stop
        −1 on the low stop, +1 on the high one, 0 between [-].
    known
        False where the belt has no path or nothing holds the arm.
    rest
        Index of the place where it rests as the drive file sets it.
    """

    by: By
    setting: FloatArray
    adjuster_deg: FloatArray
    pointer: FloatArray
    centre: ComplexArray
    tension_n: FloatArray
    stop: FloatArray
    known: BoolArray
    rest: int


def travel_of(resting: Resting, warmer_k: float) -> Travel:
    """A belt's only tensioner over its whole travel.

    Parameters
    ----------
    resting
        The tensioner at rest.
    warmer_k
        Temperature above the reference temperature [K].
    """
    table = resting.stand.table
    if isinstance(table, DoubleEccentric):
        return _turned_adjuster(resting, warmer_k)
    if isinstance(table, LockedEccentric):
        return _turned_roller(resting, warmer_k)
    return _any_belt(resting, warmer_k)


def _turned_adjuster(resting: Resting, warmer_k: float) -> Travel:
    """The setting eccentric through its range, the way that tightens; the arm rests where spring and belt agree."""
    stand, here = _free(resting.stand), resting.rest
    low, high = stand.limits.adjuster_range or (here.adjuster_deg - 180.0, here.adjuster_deg + 180.0)
    setting, rest = _places(low, high, here.adjuster_deg, backwards=stand.adjust_way < 0)
    loop, free = stand.loop(warmer_k), float(stand.free_mm(warmer_k))
    sweep = Sweep(stand, loop, free, here.adjuster_deg)
    pointer, _, held = sweep.pointers(setting, np.array(here.pointer))
    ends = stand.limits.span
    held &= (pointer >= ends[0] - 1e-9) & (pointer <= ends[1] + 1e-9)
    stop = np.where(held, 0.0, _stops(stand, setting, warmer_k))
    pointer = np.where(stop < 0, ends[0], np.where(stop > 0, ends[1], pointer))
    seen = look(loop, pointer, setting)
    tension = stand.cord.tension_n(seen.length_mm, free)
    known = held | ((stop != 0) & seen.closed & ((seen.lever > 0) | (tension == 0)))
    return _travel("adjuster", setting, pointer, _Found(seen, tension, stop, known, rest))


def _stops(stand: Stand, setting: FloatArray, warmer_k: float) -> FloatArray:
    """On which stop the arm lies at adjuster angles [°] that hold no balance: −1, +1, or 0 for none."""
    if stand.limits.stops is None:
        return np.zeros(setting.shape)
    loop, free = stand.loop(warmer_k), stand.free_mm(warmer_k)
    leads = []
    for end in stand.limits.stops:
        seen = look(loop, np.full(setting.shape, end), setting)
        lead = balance(seen, stand.cord, free, loop.kind.per_unit).lead
        leads.append(np.where(seen.closed, lead, np.nan))
    with np.errstate(invalid="ignore"):
        low, high = (leads[0] < 0) & (leads[1] < 0), (leads[0] > 0) & (leads[1] > 0)
    return np.where(low, -1.0, np.where(high, 1.0, 0.0))


def _turned_roller(resting: Resting, warmer_k: float) -> Travel:
    """A fixed roller about its bolt; the tension is the belt's stretch."""
    stand, here = resting.stand, resting.rest
    low, high = stand.limits.stops or (here.pointer - FREE_ARM_DEG, here.pointer + FREE_ARM_DEG)
    pointer, rest = _places(low, high, here.pointer)
    loop = stand.loop(warmer_k)
    seen = look(loop, pointer)
    tension = stand.cord.tension_n(seen.length_mm, stand.free_mm(warmer_k))
    found = _Found(seen, tension, np.zeros(pointer.shape), np.asarray(seen.closed), rest)
    return _travel("roller", pointer, pointer, found)


def _any_belt(resting: Resting, warmer_k: float) -> Travel:
    """A sprung arm, a slide or a ram: what the spring pulls at each pointer, the belt cut to fit."""
    stand, here = _free(resting.stand), resting.rest
    far = FREE_SLIDE_MM if stand.limits.unit == "mm" else FREE_ARM_DEG
    low, high = stand.limits.stops or (here.pointer - far, here.pointer + far)
    pointer, rest = _places(low, high, here.pointer)
    loop = stand.loop(warmer_k)
    sweep = Sweep(stand, loop, float(stand.free_mm(warmer_k)), here.adjuster_deg)
    seen, held = sweep.any_belt(pointer)
    tension = sweep.tension_n(seen, held, 0.0)
    if here.on_stop is not None:
        held[rest], tension[rest] = True, here.tension_n
    stop = np.where(np.arange(pointer.size) == rest, {None: 0.0, "low": -1.0, "high": 1.0}[here.on_stop], 0.0)
    return _travel("belt", pointer, pointer, _Found(seen, tension, stop, held, rest))


@dataclass(frozen=True)
class _Found:
    """What the three ways of moving find at each place."""

    seen: Look
    tension_n: FloatArray
    stop: FloatArray
    known: BoolArray
    rest: int


def _travel(by: By, setting: FloatArray, pointer: FloatArray, found: _Found) -> Travel:
    """The travel as it is answered."""
    adjuster = setting if by == "adjuster" else np.zeros(setting.shape)
    tension = np.where(found.known, found.tension_n, np.nan)
    centre = np.asarray(found.seen.pose.centre)
    return Travel(by, setting, adjuster, pointer, centre, tension, found.stop, found.known, found.rest)


def _free(stand: Stand) -> Stand:
    """The stand with its arm free: a nut that holds it afterwards is loose while it is set."""
    if isinstance(stand.table, LockedEccentric):
        return stand
    return stand.with_setting(replace(stand.setting, pointer=None))


def _places(low: float, high: float, here: float, backwards: bool = False) -> tuple[FloatArray, int]:
    """Places from end to end with the rest position among them, and its index."""
    grid = np.unique(np.append(np.linspace(low, high, STEPS + 1), np.clip(here, low, high)))
    grid = grid[::-1] if backwards else grid
    return grid, int(np.argmin(np.abs(grid - here)))
