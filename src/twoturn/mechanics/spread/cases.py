"""Many drives that differ a little brought to rest together: settings solved anew for each, by Newton steps."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from twoturn.drive.model.tensioners import DoubleEccentric, LockedEccentric
from twoturn.drive.path import BoolArray, FloatArray
from twoturn.mechanics.kinds.pose import Number
from twoturn.mechanics.rest.loop import Balance, Look, balance, look
from twoturn.mechanics.rest.numbers import Numbers
from twoturn.mechanics.rest.stand import Setting, Stand
from twoturn.mechanics.setting.settling import Set

STEPS = 10
CLOSE = 1e-7  # a Newton step that short leaves an error far below it


@dataclass(frozen=True)
class Cases:
    """Rest positions of many cases; every array has shape (cases,).

    Attributes
    ----------
    pointer, adjuster_deg
        Pointer [° or mm] and setting eccentric [°].
    tension_n
        Tension [N].
    on_stop
        True where the tensioner rests on a stop.
    good
        False where no setting or no accepted position was found.
    """

    pointer: FloatArray
    adjuster_deg: FloatArray
    tension_n: FloatArray
    on_stop: BoolArray
    good: BoolArray


def rest_of_cases(nominal: Set, numbers: Numbers, warmer_k: Number, count: int) -> Cases:
    """Bring many cases of one belt to rest.

    Parameters
    ----------
    nominal
        The belt with its settings solved for the numbers as written: where the search begins.
    numbers
        Replaced numbers, each of shape (cases,).
    warmer_k
        Temperature above the reference temperature, plain or of shape (cases,) [K].
    count
        How many cases [-].
    """
    stand = replace(nominal.stand, numbers=numbers, setting=Setting())
    start = nominal.at_reference
    setting, good = _settings(nominal, stand, count)
    stand = stand.with_setting(setting)
    if setting.pointer is not None:
        pointer = np.broadcast_to(np.asarray(setting.pointer, dtype=float), (count,))
        return _held(stand, warmer_k, pointer, good)
    notch = isinstance(stand.table, DoubleEccentric) and stand.table.adjuster_deg is None
    if np.ndim(warmer_k) == 0 and warmer_k == 0 and notch and start.pointer == 0.0:
        cases = _held(stand, 0.0, np.zeros(count), good)
    else:
        cases = _sprung(stand, warmer_k, np.full(count, start.pointer), good)
    return cases


def _settings(nominal: Set, stand: Stand, count: int) -> tuple[Setting, BoolArray]:
    """Settings of every case at the reference temperature, and for which there are any."""
    table, good = stand.table, np.ones(count, dtype=bool)
    adjuster: Number = 0.0
    if isinstance(table, DoubleEccentric):
        adjuster = stand.numbers.plain(
            "tensioner", table.pulley, "adjuster_deg", _plain(nominal.stand.setting.adjuster_deg)
        )
    reacts = isinstance(table, DoubleEccentric) and table.spring_reacts_on == "adjuster"
    if stand.belt.table.closure == "at notch":
        offset, good = _offsets(stand, adjuster)
        setting = Setting(adjuster, adjuster if reacts else None, None, offset)
        if isinstance(table, LockedEccentric):
            setting = replace(setting, pointer=_reader(stand, "set_deg", table.set_deg or 0.0))
        return setting, good
    if isinstance(table, LockedEccentric):
        if table.set_deg is not None:
            return Setting(pointer=_reader(stand, "set_deg", table.set_deg)), good
        pointer, good = _locked(stand, table, nominal.at_reference.pointer, count)
        return Setting(pointer=pointer), good
    if isinstance(table, DoubleEccentric) and (reacts or table.adjuster_deg is None):
        found, good = _adjusters(stand, _plain(nominal.stand.setting.adjuster_deg), count)
        adjuster = found if table.adjuster_deg is None else adjuster
        return Setting(adjuster, found if reacts else None), good
    setting = Setting(adjuster)
    if not table.locked_after_setting:
        return setting, good
    cases = _sprung(stand.with_setting(setting), 0.0, np.full(count, nominal.at_reference.pointer), good)
    return replace(setting, pointer=cases.pointer), cases.good


def _plain(value: Number) -> float:
    return float(np.asarray(value))


def _reader(stand: Stand, key: str, written: float) -> Number:
    return stand.numbers.plain("tensioner", stand.table.pulley, key, written)


def _newton(
    function: Callable[[FloatArray], tuple[FloatArray, FloatArray]], start: FloatArray, most: float
) -> tuple[FloatArray, BoolArray]:
    """Roots of every case, and which were found; steps of at most ``most``."""
    at, moved = start.copy(), np.full(start.shape, np.inf)
    for _ in range(STEPS):
        value, slope = function(at)
        with np.errstate(divide="ignore", invalid="ignore"):
            step = np.clip(value / slope, -most, most)
        step = np.where(np.isfinite(step), step, 0.0)
        moved = np.where(np.isfinite(value), np.abs(step), np.inf)
        at = at - step
        if np.max(moved[np.isfinite(moved)], initial=0.0) < CLOSE:
            break
    return at, np.asarray(moved < 1e-4)


def _offsets(stand: Stand, adjuster: Number) -> tuple[FloatArray, BoolArray]:
    seen = look(stand.loop(), 0.0, adjuster)
    if isinstance(stand.table, LockedEccentric):
        tension = np.asarray(_reader(stand, "target_n", stand.table.target_n or 0.0))
    else:
        tension = seen.pose.effort / seen.lever
    return np.asarray(seen.length_mm / stand.cord.stretch(tension) - stand.made_mm()), seen.leads


def _locked(stand: Stand, table: LockedEccentric, start: float, count: int) -> tuple[FloatArray, BoolArray]:
    """Pointer at which every case reaches its target; the stop where that lies beyond."""
    loop = stand.loop()
    wanted = stand.free_mm() * stand.cord.stretch(_reader(stand, "target_n", table.target_n or 0.0))

    def function(pointer: FloatArray) -> tuple[FloatArray, FloatArray]:
        seen = look(loop, pointer)
        return seen.length_mm - wanted, seen.lever * loop.kind.per_unit

    pointer, found = _newton(function, np.full(count, start), 10.0)
    if table.stops_deg is not None:
        inside = np.clip(pointer, *table.stops_deg)
        found |= inside != pointer
        pointer = inside
    return pointer, found & look(loop, pointer).leads


def _adjusters(stand: Stand, start: float, count: int) -> tuple[FloatArray, BoolArray]:
    """Adjuster angle of every case that puts its pointer on the notch, and for which its range holds one."""
    loop, free = stand.loop(), stand.free_mm()

    def at(adjuster: FloatArray) -> tuple[Look, Balance]:
        seen = look(loop, 0.0, adjuster)
        return seen, balance(seen, stand.cord, free, loop.kind.per_unit)

    def function(adjuster: FloatArray) -> tuple[FloatArray, FloatArray]:
        seen, found = at(adjuster)
        return np.where(seen.closed, found.lead, np.nan), found.by_adjuster

    angle, good = _newton(function, np.full(count, start), 10.0)
    seen, found = at(angle)
    branch = seen.by_adjuster * stand.adjust_way > 0 if stand.adjust_way else np.ones(count, dtype=bool)
    low, high = stand.limits.adjuster_range or (start - 180.0, start + 180.0)
    good &= seen.leads & (found.slope < 0) & (found.tension_n > 0) & branch & (angle >= low) & (angle <= high)
    return angle, good


def _sprung(stand: Stand, warmer_k: Number, start: FloatArray, good: BoolArray) -> Cases:
    """Rest position of every case; on its stop where the balance lies beyond."""
    loop, free = stand.loop(warmer_k), stand.free_mm(warmer_k)
    adjuster = stand.setting.adjuster_deg

    def function(pointer: FloatArray) -> tuple[FloatArray, FloatArray]:
        seen = look(loop, pointer, adjuster)
        found = balance(seen, stand.cord, free, loop.kind.per_unit)
        return np.where(seen.closed, found.lead, np.nan), found.slope

    low, high = stand.limits.span
    pointer, found = _newton(function, start, 5.0 * (1.0 if stand.limits.unit == "deg" else 0.2))
    seen = look(loop, pointer, adjuster)
    rest = balance(seen, stand.cord, free, loop.kind.per_unit)
    found &= seen.leads & (rest.slope < 0) & (rest.tension_n > 0) & (pointer >= low) & (pointer <= high)
    if stand.limits.stops is None or found.all():
        return Cases(
            pointer, _spread(adjuster, pointer), rest.tension_n, np.zeros(good.shape, dtype=bool), good & found
        )
    ends = [function(np.full(start.shape, end))[0] for end in (low, high)]
    on_low, on_high = ~found & (ends[0] < 0) & (ends[1] < 0), ~found & (ends[0] > 0) & (ends[1] > 0)
    pointer = np.where(on_low, low, np.where(on_high, high, pointer))
    seen = look(loop, pointer, adjuster)
    tension = stand.cord.tension_n(seen.length_mm, free)
    fine = found | ((on_low | on_high) & ((seen.lever > 0) | (tension == 0)))
    return Cases(pointer, _spread(adjuster, pointer), tension, on_low | on_high, good & fine)


def _spread(value: Number, like: FloatArray) -> FloatArray:
    return np.array(np.broadcast_to(np.asarray(value, dtype=float), like.shape))


def _held(stand: Stand, warmer_k: Number, pointer: FloatArray, good: BoolArray) -> Cases:
    """A roller held at its pointer in every case."""
    seen = look(stand.loop(warmer_k), pointer, stand.setting.adjuster_deg)
    tension = stand.cord.tension_n(seen.length_mm, stand.free_mm(warmer_k))
    on_stop = np.zeros(pointer.shape, dtype=bool)
    adjuster = _spread(stand.setting.adjuster_deg, pointer)
    return Cases(np.array(pointer), adjuster, _spread(tension, pointer), on_stop, good & seen.closed)
