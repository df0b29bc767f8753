"""How uncertain the tension is at a pointer that was read: every uncertain input to first order, and friction."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from twoturn.drive.model.tensioners import DoubleEccentric, LockedEccentric
from twoturn.drive.path import FloatArray
from twoturn.mechanics.rest.loop import balance, look
from twoturn.mechanics.rest.numbers import Numbers
from twoturn.mechanics.rest.stand import Stand
from twoturn.mechanics.spread.inputs import UncertainInput, uncertain_inputs

SHARE = 0.01
"""Part of a standard uncertainty by which an input is moved [-]."""
RECTANGLE = np.sqrt(3.0)
DEG = np.pi / 180


def tension_u_n(stand: Stand, pointer: FloatArray, adjuster_deg: FloatArray, warmer_k: float) -> FloatArray:
    """Standard uncertainty of the tension at pointers that were read.

    Parameters
    ----------
    stand
        The belt and its tensioner, settings solved.
    pointer, adjuster_deg
        Pointers [° or mm] and, of an automatic roller, the setting eccentric there [°]; shape (places,).
    warmer_k
        Temperature above the reference temperature [K].

    Returns
    -------
    FloatArray
        Shape (places,) [N].

    Notes
    -----
    The pointer is what a fitter sees, so it is held: the setting eccentric is re-solved to first order,
    da = −R_θ/R_a·dθ with R = M − T·g. A roller that was set to a tension keeps that tension where it was set, so only
    what happens beyond it is uncertain. Dry friction leaves the tension anywhere within ± friction/g: a rectangle of
    that half width, u = friction/(g·√3) (JCGM 100:2008, 4.3.7). Inputs are independent (JCGM 100:2008, 5.1.2).
    """
    inputs = [item for item in uncertain_inputs(stand.drive, stand.belt) if item.key[2] != "adjuster_deg"]
    squares = np.zeros(pointer.shape)
    if inputs:
        squares += np.sum(_parts(stand, inputs, pointer, adjuster_deg, warmer_k) ** 2, axis=0)
    if not isinstance(stand.table, LockedEccentric):
        seen = look(stand.loop(warmer_k), pointer, adjuster_deg)
        squares += (seen.pose.friction / seen.lever / RECTANGLE) ** 2
    return np.asarray(np.sqrt(squares))


def _parts(
    stand: Stand, inputs: list[UncertainInput], pointer: FloatArray, adjuster_deg: FloatArray, warmer_k: float
) -> FloatArray:
    """What one standard uncertainty of every input does to the tension; shape (inputs, places) [N]."""
    count, places = len(inputs), pointer.size
    push = SHARE * np.kron(np.eye(count), np.array([1.0, -1.0]))
    columns = {item.key: np.repeat(item.value + item.u * row, places) for item, row in zip(inputs, push, strict=True)}
    moved = replace(stand, numbers=Numbers(columns))
    moved = moved.with_setting(replace(stand.setting, offset_mm=_offset_mm(stand, moved)))
    at, turned = np.tile(pointer, 2 * count), np.tile(adjuster_deg, 2 * count)
    loop = moved.loop(warmer_k)
    seen = look(loop, at, turned)
    if isinstance(stand.table, LockedEccentric):
        return _slopes(moved.cord.tension_n(seen.length_mm, moved.free_mm(warmer_k)), places)
    pull = _slopes(seen.pose.effort / seen.lever, places)
    if not isinstance(stand.table, DoubleEccentric):
        return pull
    found = balance(seen, moved.cord, moved.free_mm(warmer_k), loop.kind.per_unit)
    return pull - _slopes(found.lead, places) * _by_adjuster(stand, pointer, adjuster_deg, warmer_k)


def _slopes(values: FloatArray, places: int) -> FloatArray:
    """Central differences of values that stand pushed up and down by turns; a standard uncertainty each."""
    pairs = np.broadcast_to(values, values.shape).reshape(-1, 2, places)
    return np.asarray((pairs[:, 0] - pairs[:, 1]) / (2 * SHARE))


def _by_adjuster(stand: Stand, pointer: FloatArray, adjuster_deg: FloatArray, warmer_k: float) -> FloatArray:
    """∂(M/g)/∂a over ∂R/∂a at pointers [°] and adjuster angles [°]; shape (places,) [1/mm]."""
    loop = stand.loop(warmer_k)
    seen = look(loop, pointer, adjuster_deg)
    found = balance(seen, stand.cord, stand.free_mm(warmer_k), loop.kind.per_unit)
    lever = seen.lever
    aside = (seen.pose.effort_by_adjuster / lever - seen.pose.effort * seen.lever_by_adjuster / lever**2) * DEG
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.asarray(aside / found.by_adjuster)


def _offset_mm(stand: Stand, moved: Stand) -> FloatArray:
    """Closure offset of every case [mm]: what was set by tension or closed at the notch is so in each of them."""
    table, zero = stand.table, np.asarray(stand.setting.offset_mm)
    locked = isinstance(table, LockedEccentric)
    target = table.target_n if isinstance(table, LockedEccentric) and table.set_deg is None else None
    if stand.belt.table.closure != "at notch" and target is None:
        return zero
    at = stand.setting.pointer if target is not None and stand.setting.pointer is not None else 0.0
    seen = look(moved.loop(), at, stand.setting.adjuster_deg)
    if locked:
        wanted = target if target is not None else getattr(table, "target_n", None) or 0.0
        return np.asarray(seen.length_mm / moved.cord.stretch(wanted) - moved.made_mm())
    return np.asarray(seen.length_mm / moved.cord.stretch(seen.pose.effort / seen.lever) - moved.made_mm())
