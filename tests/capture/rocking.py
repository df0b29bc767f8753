"""A crankshaft that turns back within a recording: made for the tests alone, from the levels that the angle has."""

from __future__ import annotations

import numpy as np
from engines import Bench, crank_marks
from numpy.typing import NDArray

Array = NDArray[np.float64]
STEP_S = 1e-5


def levels_at(bench: Bench, angle: Array) -> dict[str, NDArray[np.bool_]]:
    """Level of every channel at unwrapped angles: what a sensor of the place sees, whichever way the wheel turns."""
    smallest = np.min(np.diff(np.append(np.sort(bench.teeth), bench.places + min(bench.teeth))))
    marks = crank_marks(bench)
    width = bench.width * smallest * 360 / bench.places
    within = angle % 360
    after = within - marks[np.searchsorted(marks, within, side="right") - 1]
    levels = {"crank": (after % 360) < width}
    for name, edges in bench.cams.items():
        kinds = sorted((at % 720, edge == "rising") for edge, at in edges)
        places, high = np.array([at for at, _ in kinds]), np.array([up for _, up in kinds])
        levels[name] = high[np.searchsorted(places, angle % 720, side="right") - 1]
    return levels


def path(
    bench: Bench, turns: list[float], backs: list[float], stop_deg: float, rest_s: float = 0.0
) -> tuple[Array, Array]:
    """Times and angles of runs forwards, each ended by a turn back of some degrees with even braking.

    ``turns`` of each run before and between the ``backs``; the speed falls to nothing over ``stop_deg``, and the wheel
    rests for ``rest_s`` where it turns forwards again.
    """
    top = 6 * bench.rpm
    brake = top**2 / (2 * stop_deg)
    corners = [(0.0, top)]
    for run, back in zip(turns, [*backs, 0.0], strict=True):
        now = corners[-1][0]
        corners.append((now + 360 * run / top, top))
        if back:
            speed = np.sqrt(back * brake)  # as fast back as braking over half of it allows
            corners.append((corners[-1][0] + (top + speed) / brake, -speed))
            corners.append((corners[-1][0] + speed / brake, 0.0))
            corners.append((corners[-1][0] + max(rest_s, 1e-6), 0.0))
            corners.append((corners[-1][0] + top / brake, top))
    times = np.arange(0.0, corners[-1][0], STEP_S)
    at, speeds = np.array(corners).T
    speed = np.interp(times, at, speeds)
    speed = speed * (1 + bench.swing * np.sin(2 * np.pi * bench.rpm / 30 * times))
    return times, bench.start_deg + np.concatenate([[0.0], np.cumsum(speed[1:] + speed[:-1]) * STEP_S / 2])


def recorded(bench: Bench, times: Array, angles: Array) -> tuple[list[str], Array]:
    """Rows of (time, levels…) at every change."""
    levels = levels_at(bench, angles)
    names = list(levels)
    table = np.array([levels[name] for name in names])
    change = np.append(0, np.flatnonzero((table[:, 1:] != table[:, :-1]).any(axis=0)) + 1)
    return names, np.column_stack([times[change], table[:, change].T.astype(float)])
