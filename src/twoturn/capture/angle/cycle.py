"""How late each tooth of a cycle comes against an even turning: what the teeth and the swing of speed share."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from twoturn.capture.angle.curve import AngleTrack
from twoturn.capture.model import Array
from twoturn.capture.wheel.shape import Wheel

CYCLE_DEG, TURN_DEG = 720.0, 360.0
LEAST_CYCLES, LEAST_SEEN, FAULTY, FAULTY_SHARE = 2, 0.8, 6.0, 0.15
"""Cycles, share of their teeth that must be there, from how many standard deviations and what share of a step on a
tooth is faulty [-]."""
FLOOR_DEG = 5e-4
"""Least standard uncertainty of a mean lateness [crank degrees]: sums of rounded times."""


@dataclass(frozen=True, eq=False)
class Lateness:
    """How late the teeth of the two turns of a cycle come against an even turning.

    Attributes
    ----------
    angles_deg
        Their nominal angles within the cycle, growing, shape (m,) [crank degrees].
    tooth
        Their numbers within the turn, shape (m,) [-].
    late_deg
        Mean of their lateness over the cycles, shape (m,) [crank degrees at the mean speed of the cycle].
    u_deg
        Standard uncertainty of each from the noise of single teeth [crank degrees].
    cycles
        Cycles behind it [-].
    """

    angles_deg: Array
    tooth: NDArray[np.int64]
    late_deg: Array
    u_deg: float
    cycles: int


def tooth_numbers(track: AngleTrack, wheel: Wheel) -> NDArray[np.int64]:
    """Number of each tooth within its turn, 0 the first after the zero, shape (n,) [-]."""
    place = np.rint(track.angles_deg * wheel.places / TURN_DEG).astype(np.int64) % wheel.places
    at = np.concatenate([[0], np.cumsum(wheel.steps * wheel.sections)[:-1]])
    return np.asarray(np.searchsorted(at, place))


def lateness_deg(track: AngleTrack) -> Array:
    """How late each tooth comes against the mean over the two turns round it.

    Parameters
    ----------
    track
        Crank angle of the teeth.

    Returns
    -------
    array
        Shape (n,) [crank degrees at the mean speed of these turns]; NaN where they are not whole.
    """
    times, angles = track.times_s - track.times_s[0], track.angles_deg
    late = np.full(times.size, np.nan)
    inside = (angles - TURN_DEG >= angles[0] - 1e-9) & (angles + TURN_DEG <= angles[-1] + 1e-9)
    long = np.concatenate([[0], np.cumsum(np.diff(angles) > track.most_deg)])
    ends = [np.clip(np.searchsorted(angles, angles + turn), 0, angles.size - 1) for turn in (-TURN_DEG, TURN_DEG)]
    inside &= long[ends[0]] == long[ends[1]]
    at = angles[inside]
    if at.size == 0:
        return late
    mean = (_integral(angles, times, at + TURN_DEG) - _integral(angles, times, at - TURN_DEG)) / CYCLE_DEG
    slow = (np.interp(at + TURN_DEG, angles, times) - np.interp(at - TURN_DEG, angles, times)) / CYCLE_DEG
    late[inside] = (times[inside] - mean) / slow
    return _without_drift(angles, late)


def lateness(track: AngleTrack, wheel: Wheel) -> Lateness | None:
    """The mean lateness of every tooth of a cycle, over the whole cycles of a recording.

    Whole cycles alone, and faulty teeth filled from those beside them: so a swing that changes from cycle to cycle
    still leaves a smooth mean, and what is not smooth is the teeth's.

    Parameters
    ----------
    track, wheel
        Crank angle of the teeth, and the wheel.

    Returns
    -------
    Lateness or None
        None where there are too few cycles.
    """
    late = lateness_deg(track)
    known = np.flatnonzero(np.isfinite(late))
    if known.size == 0:
        return None
    turn = np.floor(track.angles_deg / TURN_DEG + 1e-9).astype(np.int64)
    running = tooth_numbers(track, wheel) + wheel.teeth * turn
    first, size = int(running[known[0]]), 2 * wheel.teeth
    rows = (int(running[known[-1]]) - first + 1) // size
    table = np.full((rows + 1) * size, np.nan)
    table[running[known] - first] = late[known]
    cycles = table.reshape(rows + 1, size)[:rows]
    cycles = cycles[np.isfinite(cycles).mean(axis=1) > LEAST_SEEN]
    if cycles.shape[0] < LEAST_CYCLES:
        return None
    whole, noise = _filled(cycles, FAULTY_SHARE * wheel.pitch_deg)
    tooth = first + np.arange(size)
    angles = wheel.angle_deg(tooth) % CYCLE_DEG
    order = np.argsort(angles)
    u = float(np.hypot(noise / np.sqrt(len(whole)), FLOOR_DEG))
    return Lateness(angles[order], tooth[order] % wheel.teeth, whole.mean(axis=0)[order], u, len(whole))


def _filled(cycles: Array, least_deg: float) -> tuple[Array, float]:
    """Cycles with missing and faulty teeth filled from those beside them, and the noise of a single tooth.

    The noise is what a tooth differs from the middle of the cycles more than its two neighbours do, the smooth change
    of the swing from cycle to cycle left out [crank degrees].
    """
    seen = np.isfinite(cycles).any(axis=0)
    middle = np.full(cycles.shape[1], np.nanmean(cycles))
    middle[seen] = np.nanmedian(cycles[:, seen], axis=0)
    off, at = cycles - middle, np.arange(cycles.shape[1])
    spread = 0.0
    for _ in range(2):
        row_filled = np.array([np.interp(at, at[np.isfinite(row)], row[np.isfinite(row)]) for row in off])
        beside = (np.roll(row_filled, 1, axis=1) + np.roll(row_filled, -1, axis=1)) / 2
        rough = (off - beside)[:, 1:-1]
        spread = 1.4826 * float(np.nanmedian(np.abs(rough))) / np.sqrt(1.5)
        faulty = np.abs(off - beside) > max(FAULTY * spread, least_deg)
        faulty[:, [0, -1]] = False
        # a faulty tooth spoils the test of the two beside it: only the worst of three goes
        size = np.nan_to_num(np.abs(off - beside))
        worst = (size >= np.roll(size, 1, axis=1)) & (size >= np.roll(size, -1, axis=1))
        off = np.where(faulty & worst, np.nan, off)
    filled = np.array([np.interp(at, at[np.isfinite(row)], row[np.isfinite(row)]) for row in off])
    return middle + filled, spread


def _integral(angles: Array, times: Array, wanted: Array) -> Array:
    """Integral of time over angle from the first tooth on, times between teeth on straight lines [s·deg]."""
    steps = np.diff(angles)
    sums = np.concatenate([[0.0], np.cumsum(steps * (times[1:] + times[:-1]) / 2)])
    index = np.clip(np.searchsorted(angles, wanted, side="right") - 1, 0, angles.size - 2)
    beyond = wanted - angles[index]
    slope = (times[index + 1] - times[index]) / steps[index]
    return np.asarray(sums[index] + beyond * times[index] + slope * beyond**2 / 2)


def _without_drift(angles: Array, late: Array) -> Array:
    """Lateness less its own mean over the two turns round each tooth, which a changing mean speed leaves behind."""
    known = np.flatnonzero(np.isfinite(late))
    at, values = angles[known], late[known]
    if at.size < 3 or at[-1] - at[0] < CYCLE_DEG:
        return late - np.nanmean(late)
    whole = (at >= at[0] + TURN_DEG) & (at <= at[-1] - TURN_DEG)
    middle = at[whole]
    if middle.size < 2:
        return late - np.nanmean(late)
    mean = (_integral(at, values, middle + TURN_DEG) - _integral(at, values, middle - TURN_DEG)) / CYCLE_DEG
    out = late.copy()
    out[known] = values - np.interp(at, middle, mean)
    return out
