"""A small engine for demo jobs: what crank and cam sensors would record while the starter turns it. Invented, seeded.

Angles are those a capture is read by: crank degrees after the first falling edge behind the wheel's longest gap.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
GRID_DEG: Final[float] = 0.25
CYCLE_DEG: Final[float] = 720.0


@dataclass(frozen=True)
class SensorEngine:
    """An engine as its sensors see it.

    Attributes
    ----------
    places, missing
        Places of the crank wheel, and how many are missing in its one gap [-].
    cams
        For each cam channel its edges as (``"rising"`` or ``"falling"``, angle [crank degrees]).
    cylinders
        Number of cylinders, for the swing of speed by compression [-].
    tdc_deg
        Firing TDC of cylinder 1 after the zero of the wheel [crank degrees].
    """

    cams: dict[str, tuple[tuple[str, float], ...]]
    places: int = 60
    missing: int = 2
    cylinders: int = 4
    tdc_deg: float = 84.0


@dataclass(frozen=True)
class Cranking:
    """How the engine is turned and recorded.

    Attributes
    ----------
    rpm
        Mean speed [1/min].
    swing
        Half of the speed's swing by compression, as a share of the mean [-].
    turns
        Crank turns recorded [-].
    start_deg
        Crank angle at which the recording begins [crank degrees].
    clock_hz
        The recorder's clock: times are whole ticks of it [Hz].
    jitter_deg
        Standard deviation of a single edge [crank degrees].
    late_deg
        By how much each cam channel is late [crank degrees]; 0 where it is not named.
    """

    rpm: float = 220.0
    swing: float = 0.15
    turns: float = 24.0
    start_deg: float = 137.0
    clock_hz: float = 1e6
    jitter_deg: float = 0.04
    late_deg: dict[str, float] = field(default_factory=dict)


def sensor_rows(engine: SensorEngine, cranking: Cranking, rng: np.random.Generator) -> tuple[Array, NDArray[np.int64]]:
    """Levels at every change, as a logic recorder writes them.

    Parameters
    ----------
    engine
        The engine.
    cranking
        How it is turned and recorded.
    rng
        The source of random numbers; the same seed gives the same rows.

    Returns
    -------
    tuple
        Times, shape (n,) [s], and levels, shape (n, 1 + cams) [-]: crankshaft first, then cams in their order.
    """
    channels = [_crank_edges(engine, cranking, rng), *(_cam_edges(engine, cranking, rng, name) for name in engine.cams)]
    merged = np.concatenate([times for times, _ in channels])
    owner = np.concatenate([np.full(times.size, number) for number, (times, _) in enumerate(channels)])
    level = np.concatenate([levels for _, levels in channels])
    order = np.argsort(merged, kind="stable")
    rows = np.empty((merged.size + 1, len(channels)), dtype=np.int64)
    rows[0] = [1 - int(levels[0]) if levels.size else 0 for _, levels in channels]
    for row, index in enumerate(order, start=1):
        rows[row] = rows[row - 1]
        rows[row, owner[index]] = level[index]
    times = np.concatenate([[0.0], np.round(merged[order] * cranking.clock_hz) / cranking.clock_hz])
    return times, rows


def capture_text(engine: SensorEngine, cranking: Cranking, rng: np.random.Generator) -> str:
    """The recording as CSV text that says it is simulated.

    Parameters
    ----------
    engine, cranking, rng
        As for :func:`sensor_rows`.
    """
    times, rows = sensor_rows(engine, cranking, rng)
    lines = ["# simulated recording of an invented engine", ",".join(["Time [s]", "crankshaft", *engine.cams])]
    lines += [f"{time:.7f}," + ",".join(str(level) for level in row) for time, row in zip(times, rows, strict=True)]
    return "\n".join(lines) + "\n"


def _clock(engine: SensorEngine, cranking: Cranking) -> tuple[Array, Array]:
    """Crank angles [crank degrees] and the times at which they are passed [s]."""
    angles = np.arange(cranking.start_deg, cranking.start_deg + 360 * cranking.turns + GRID_DEG, GRID_DEG)
    firing = 720.0 / engine.cylinders
    phase = 2 * np.pi * (angles - engine.tdc_deg) / firing
    speed = 6 * cranking.rpm * (1 - cranking.swing * np.cos(phase))
    slowness = 1 / speed
    steps = (slowness[1:] + slowness[:-1]) / 2 * GRID_DEG
    return angles, np.concatenate([[0.0], np.cumsum(steps)])


def _timed(angles: Array, levels: Array, engine: SensorEngine, cranking: Cranking) -> tuple[Array, Array]:
    """Times of edges at unwrapped angles; those outside the recording are left out."""
    grid, times = _clock(engine, cranking)
    inside = (angles > grid[0]) & (angles < grid[-1])
    order = np.argsort(angles[inside], kind="stable")
    return np.interp(angles[inside][order], grid, times), levels[inside][order]


def _crank_edges(engine: SensorEngine, cranking: Cranking, rng: np.random.Generator) -> tuple[Array, Array]:
    """Falling edges on the teeth, rising ones half a place later and less exact."""
    pitch = 360.0 / engine.places
    first, last = int(cranking.start_deg // 360) - 1, int(cranking.start_deg // 360 + cranking.turns) + 2
    teeth = np.arange(engine.places - engine.missing) * pitch
    falling = (np.arange(first, last)[:, None] * 360.0 + teeth).ravel()
    rising = falling + 0.5 * pitch
    noise = cranking.jitter_deg
    angles = np.concatenate(
        [falling + noise * rng.standard_normal(falling.size), rising + 3 * noise * rng.standard_normal(rising.size)]
    )
    levels = np.concatenate([np.zeros(falling.size), np.ones(rising.size)])
    return _timed(angles, levels, engine, cranking)


def _cam_edges(engine: SensorEngine, cranking: Cranking, rng: np.random.Generator, name: str) -> tuple[Array, Array]:
    """Edges of one cam channel, late by what was asked."""
    edges = engine.cams[name]
    first = int(cranking.start_deg // CYCLE_DEG) - 1
    cycles = np.arange(first, first + int(cranking.turns / 2) + 4)[:, None] * CYCLE_DEG
    late = cranking.late_deg.get(name, 0.0)
    angles = (cycles + np.array([angle + late for _, angle in edges])[None, :]).ravel()
    levels = np.tile(np.array([float(edge == "rising") for edge, _ in edges]), cycles.size)
    return _timed(angles + cranking.jitter_deg * rng.standard_normal(angles.size), levels, engine, cranking)
