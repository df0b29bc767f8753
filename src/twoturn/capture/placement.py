"""Where the teeth of a wheel really stand: learned from many turns, told from the swing of speed, and taken out.

A tooth that stands off its place disagrees with its neighbours in every turn alike. What a smooth swing of speed makes
neighbours disagree by is computed from the mean speed over the turn and taken off first. Errors that vary slowly round
the wheel look like speed and stay; so does all of a wheel that repeats within the turn, as often as cylinders fire.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from twoturn.capture.angle import AngleTrack
from twoturn.capture.model import Array
from twoturn.capture.wheel import Wheel

LEAST_TURNS, MOST_PITCH_DEG, ORDERS = 6.0, 12.5, 6
SURE = 2.0
RCOND = 0.03


def placement_deg(track: AngleTrack, wheel: Wheel) -> Array:
    """How far each tooth of a turn stands behind its place.

    Parameters
    ----------
    track
        Crank angle of the teeth.
    wheel
        The wheel.

    Returns
    -------
    array
        Errors from the first tooth after the zero on, mean 0, shape (teeth,) [crank degrees]; all 0 where there are
        too few turns or teeth, the wheel repeats within the turn, or nothing sure is seen.
    """
    none = np.zeros(wheel.teeth)
    turns = float(track.angles_deg[-1] - track.angles_deg[0]) / 360
    if turns < LEAST_TURNS or wheel.pitch_deg > MOST_PITCH_DEG or wheel.sections > 1:
        return none
    number = tooth_numbers(track, wheel)
    off = track.hidden()
    mean, error = _by_tooth(off, number, wheel.teeth)
    swing = _swing_residual(track, wheel, number)
    rough = mean - swing
    if not np.isfinite(rough).all() or float(np.sqrt(np.mean(rough**2))) < SURE * float(np.sqrt(np.mean(error**2))):
        return none
    errors = -np.linalg.pinv(_disagreement(wheel, track.half), rcond=RCOND) @ rough
    return np.asarray(errors - errors.mean())


def corrected(track: AngleTrack, wheel: Wheel, errors_deg: Array) -> AngleTrack:
    """The same track with every tooth where it really stands.

    Parameters
    ----------
    track, wheel
        Crank angle of the teeth, and the wheel.
    errors_deg
        As from :func:`placement_deg` [crank degrees].
    """
    return replace(track, angles_deg=track.angles_deg + errors_deg[tooth_numbers(track, wheel)])


def tooth_numbers(track: AngleTrack, wheel: Wheel) -> NDArray[np.int64]:
    """Number of each tooth within its turn, 0 the first after the zero, shape (n,) [-]."""
    place = np.rint(track.angles_deg * wheel.places / 360).astype(np.int64) % wheel.places
    at = np.concatenate([[0], np.cumsum(wheel.steps * wheel.sections)[:-1]])
    return np.asarray(np.searchsorted(at, place))


def _by_tooth(values: Array, number: NDArray[np.int64], teeth: int) -> tuple[Array, Array]:
    """Median of values by tooth and its standard error; NaN for a tooth without values."""
    mean, error = np.full(teeth, np.nan), np.full(teeth, np.nan)
    for tooth in range(teeth):
        mine = values[(number == tooth) & np.isfinite(values)]
        if mine.size > 2:
            mean[tooth] = np.median(mine)
            error[tooth] = 1.4826 * np.median(np.abs(mine - mean[tooth])) * 1.25 / np.sqrt(mine.size)
    return mean, error


def _swing_residual(track: AngleTrack, wheel: Wheel, number: NDArray[np.int64]) -> Array:
    """What the mean swing of speed over a turn makes neighbours disagree by, by tooth [crank degrees]."""
    steps = np.diff(track.angles_deg)
    usual = steps <= 1.5 * wheel.widest_deg
    slow = np.where(usual, np.diff(track.times_s) / steps, np.nan)
    mean, _ = _by_tooth(slow / np.nanmean(slow), number[:-1], wheel.teeth)
    angles = np.asarray(wheel.angle_deg(np.arange(4 * wheel.teeth)))
    widths = np.diff(angles[: wheel.teeth + 1])
    middle = np.deg2rad(angles[: wheel.teeth] + widths / 2)
    orders = np.arange(1, min(ORDERS, wheel.teeth // 5) + 1)
    half = np.deg2rad(widths / 2)[:, None] * orders
    damped = np.sin(half) / half  # the mean of a harmonic over a step
    design = np.hstack(
        [
            np.ones((wheel.teeth, 1)),
            damped * np.cos(middle[:, None] * orders),
            damped * np.sin(middle[:, None] * orders),
        ]
    )
    factors = np.linalg.lstsq(design, mean, rcond=None)[0]
    turn = np.deg2rad(angles)[:, None] * orders
    count = orders.size
    times = factors[0] * np.deg2rad(angles) + (np.sin(turn) / orders) @ factors[1 : 1 + count]
    times = times - ((np.cos(turn) - 1) / orders) @ factors[1 + count :]
    made = AngleTrack(times, angles, track.half)
    return np.asarray(made.hidden()[wheel.teeth : 2 * wheel.teeth])


def _disagreement(wheel: Wheel, half: int) -> Array:
    """How errors of all teeth show as each tooth's disagreement with its neighbours, shape (teeth, teeth) [-]."""
    angles = np.asarray(wheel.angle_deg(np.arange(-wheel.teeth, 2 * wheel.teeth)))
    matrix = np.eye(wheel.teeth)
    around = np.concatenate([np.arange(-half, 0), np.arange(1, half + 1)])
    for tooth in range(wheel.teeth):
        window = wheel.teeth + tooth + around
        x = angles[window] - angles[wheel.teeth + tooth]
        x = x / np.abs(x).max()
        weights = np.linalg.pinv(x[:, None] ** np.arange(4))[0]
        np.subtract.at(matrix[tooth], window % wheel.teeth, weights)
    return matrix
