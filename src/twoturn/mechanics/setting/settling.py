"""What is set once at the reference temperature: closure offset, setting eccentric, the pointer of a locked roller."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from twoturn.drive.model.tensioners import DoubleEccentric, LockedEccentric
from twoturn.mechanics.rest.balances import DEAD_CENTRE, Balances, NoPlace, Outcome, Standing, arm_rests
from twoturn.mechanics.rest.limits import Limits
from twoturn.mechanics.rest.loop import look
from twoturn.mechanics.rest.stand import Setting, Stand
from twoturn.mechanics.setting.adjusting import Adjustments, adjusters
from twoturn.mechanics.setting.locking import held_at, locked_rests

WHOLE_TURN = Limits(None, None, None, "deg")


@dataclass(frozen=True)
class Set:
    """A stand whose settings were solved.

    Attributes
    ----------
    stand
        The stand with its settings.
    notes
        What a person should know of them, whole sentences.
    at_reference
        Where the tensioner stands at the reference temperature, and on which stop if any.
    """

    stand: Stand
    notes: tuple[str, ...]
    at_reference: Standing


def settle(stand: Stand) -> Set | NoPlace:
    """Solve every setting of a belt's tensioner at the reference temperature.

    Parameters
    ----------
    stand
        The belt and its tensioner; the belt's stiffness and the spring must be given.

    Returns
    -------
    Set | NoPlace
        The settings, or why there are none.
    """
    if stand.belt.table.closure == "at notch":
        return _closed_at_notch(stand)
    if isinstance(stand.table, LockedEccentric):
        return _locked(stand)
    if isinstance(stand.table, DoubleEccentric):
        return _double(stand, stand.table)
    return _finished(stand, ())


def sprung_rest(stand: Stand, warmer_k: float = 0.0) -> Outcome:
    """Where a tensioner that is not locked comes to rest without friction, ``warmer_k`` [K] above the reference."""
    return sprung_rests(stand, warmer_k, (0.0,))[0]


def sprung_rests(stand: Stand, warmer_k: float, friction: tuple[float, ...], near: float = 0.0) -> list[Outcome]:
    """Rest positions with the friction helping (+1), hindering (−1) or absent (0).

    Parameters
    ----------
    stand
        The belt and its tensioner, settings solved.
    warmer_k
        Temperature above the reference temperature [K].
    friction
        The cases [-].
    near
        Of several accepted positions the one nearest this pointer [° or mm].
    """
    frees = np.full(len(friction), float(stand.free_mm(warmer_k)))
    rows = Balances(
        stand.loop(warmer_k), stand.cord, stand.limits, stand.setting.adjuster_deg, frees, np.array(friction)
    )
    return arm_rests(rows, near)


def held_rest(stand: Stand, warmer_k: float, pointer: float) -> Outcome:
    """A locked roller ``warmer_k`` [K] above the reference temperature, its ``pointer`` [° or mm] held."""
    adjuster = float(np.asarray(stand.setting.adjuster_deg))
    return held_at(stand.loop(warmer_k), stand.cord, float(stand.free_mm(warmer_k)), pointer, adjuster)


def _finished(stand: Stand, notes: tuple[str, ...], known: Outcome | None = None) -> Set | NoPlace:
    """Settings of a sprung kind: a nut that holds the arm afterwards holds it where it came to rest."""
    rest = sprung_rest(stand) if known is None else known
    if isinstance(rest, NoPlace):
        return rest
    if stand.table.locked_after_setting:
        stand = stand.with_setting(replace(stand.setting, pointer=rest.pointer))
    return Set(stand, notes, rest)


def _locked(stand: Stand) -> Set | NoPlace:
    table = stand.table
    assert isinstance(table, LockedEccentric)  # noqa: S101 - narrows the type
    rest: Outcome
    if table.set_deg is not None:
        rest = held_rest(stand, 0.0, table.set_deg)
    elif table.target_n is not None:
        free = np.array([float(stand.free_mm())])
        rest = locked_rests(stand.loop(), stand.cord, stand.limits, free, table.target_n)[0]
    else:
        return NoPlace("the locked eccentric has neither set_deg nor target_n")
    if isinstance(rest, NoPlace):
        return rest
    return Set(stand.with_setting(replace(stand.setting, pointer=rest.pointer)), (), rest)


def _double(stand: Stand, table: DoubleEccentric) -> Set | NoPlace:
    if table.adjuster_deg is None and table.adjust_turns is None:
        return NoPlace("adjust_turns is missing: which way the setting eccentric turns to lengthen the path")
    reacts = table.spring_reacts_on == "adjuster"
    zero = None
    if reacts:
        zero = adjuster_for(stand, 0.0)
        zero = adjuster_for(stand, 0.0, everywhere=True) if zero is None else zero
        if zero is None:
            return NoPlace(
                "no place of the setting eccentric puts the pointer on the notch, from where its spring counts"
            )
    if table.adjuster_deg is not None:
        angle = stand.limits.held_in_range(table.adjuster_deg)
        return _finished(stand.with_setting(replace(stand.setting, adjuster_deg=angle, adjuster_zero_deg=zero)), ())
    found = zero if reacts and zero is not None and stand.limits.reaches(zero) else adjuster_for(stand, 0.0)
    if found is None:
        return _at_end_of_range(stand, zero)
    set_up = stand.with_setting(replace(stand.setting, adjuster_deg=found, adjuster_zero_deg=found if reacts else None))
    seen = look(set_up.loop(), np.array([0.0]), found)
    tension = float(set_up.cord.tension_n(seen.length_mm, float(set_up.free_mm()))[0])
    return _finished(set_up, (), Standing(0.0, found, tension))


def adjuster_for(stand: Stand, pointer: float, *, everywhere: bool = False) -> float | None:
    """Clock angle of the setting eccentric [°] that puts the pointer at ``pointer`` [°] at the reference temperature.

    Parameters
    ----------
    stand
        The belt and its automatic roller.
    pointer
        Pointer asked [°].
    everywhere
        Look beyond the adjuster's range too.

    Returns
    -------
    float | None
        The angle as a value inside the range; None where there is none.
    """
    limits = WHOLE_TURN if everywhere else stand.limits
    asked = Adjustments(
        stand.loop(), stand.cord, limits, np.array([float(stand.free_mm())]), np.array([pointer]), stand.adjust_way
    )
    found = float(adjusters(asked)[0])
    return None if np.isnan(found) else stand.limits.held_in_range(found)


def _at_end_of_range(stand: Stand, zero: float | None) -> Set | NoPlace:
    """The setting eccentric turned as far as it goes towards the notch, where the notch cannot be reached."""
    ends = stand.limits.adjuster_range
    if ends is None:
        return NoPlace("no place of the setting eccentric puts the pointer on the notch")
    tried = []
    for end in ends:
        turned = stand.with_setting(replace(stand.setting, adjuster_deg=end, adjuster_zero_deg=zero))
        rest = sprung_rest(turned)
        if isinstance(rest, Standing):
            tried.append((rest.on_stop is not None, abs(rest.short_mm or rest.pointer), end, turned))
    if not tried:
        return NoPlace("no place of the setting eccentric puts the pointer on the notch")
    _, _, end, best = min(tried, key=lambda row: row[:2])
    note = (
        f"No place of the setting eccentric between {on_clock(ends[0])} and {on_clock(ends[1])} puts the pointer on "
        f"the notch; the answer holds with it at {on_clock(end)} on the clock."
    )
    return _finished(best, (note,))


def on_clock(angle_deg: float) -> str:
    """A clock angle ``angle_deg`` [°] as a value from 0° up to 360°, in words."""
    return f"{round(angle_deg % 360.0, 1) % 360.0:g}°"


def _closed_at_notch(stand: Stand) -> Set | NoPlace:
    """One length offset so that the belt closes with the pointer on the notch."""
    adjuster = 0.0
    notes: tuple[str, ...] = ()
    if isinstance(stand.table, DoubleEccentric):
        middle = stand.limits.adjuster_range
        if stand.table.adjuster_deg is not None:
            adjuster = stand.limits.held_in_range(stand.table.adjuster_deg)
        elif middle is not None:
            adjuster = (middle[0] + middle[1]) / 2
            notes = (
                f"adjuster_deg is not given: the setting eccentric is taken at {on_clock(adjuster)} on the clock.",
            )
        else:
            return NoPlace('closure "at notch" needs adjuster_deg or adjuster_range_deg')
    offset = closure_offset_mm(stand, adjuster)
    if isinstance(offset, NoPlace):
        return offset
    reacts = getattr(stand.table, "spring_reacts_on", "engine") == "adjuster"
    zero = adjuster if reacts and isinstance(stand.table, DoubleEccentric) else None
    closed = stand.with_setting(Setting(adjuster, zero, None, offset))
    if isinstance(closed.table, LockedEccentric):
        pointer = closed.table.set_deg or 0.0
        rest = held_rest(closed, 0.0, pointer)
        if isinstance(rest, NoPlace):
            return rest
        return Set(closed.with_setting(replace(closed.setting, pointer=pointer)), notes, rest)
    return _finished(closed, notes)


def closure_offset_mm(stand: Stand, adjuster_deg: float) -> float | NoPlace:
    """Length offset that closes the belt with the pointer on the notch at the reference temperature [mm].

    Parameters
    ----------
    stand
        The belt and its tensioner.
    adjuster_deg
        Clock angle of the setting eccentric [°].

    Returns
    -------
    float | NoPlace
        L/(1 + (T − length_at_n)/EA) − N·p − length_error, with T = M/g (target_n for a locked roller); or why not.
    """
    seen = look(stand.loop(), np.array([0.0]), adjuster_deg)
    if not seen.closed[0]:
        return NoPlace("with the pointer on the notch the belt has no path: the tensioner's pulley meets another one")
    if not seen.leads[0]:
        return NoPlace(DEAD_CENTRE)
    if isinstance(stand.table, LockedEccentric):
        if stand.table.target_n is None:
            return NoPlace('closure "at notch" of a locked eccentric needs target_n')
        tension = np.array([stand.table.target_n])
    else:
        tension = seen.pose.effort / seen.lever
    return float((seen.length_mm / stand.cord.stretch(tension))[0] - float(stand.made_mm()))
