"""Sensor captures with known truth, made for the tests alone: nothing here is taken from the project's own code."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Bench:
    """One recording to be made.

    ``teeth`` are the places that carry a tooth; ``cams`` name -> list of (edge, angle after the first rising crank edge
    behind the longest gap). ``swing`` is half the speed's swing as a share; ``harmonic`` swings a turn.
    """

    places: int = 60
    teeth: tuple[int, ...] = tuple(range(58))
    cams: dict[str, list[tuple[str, float]]] = field(
        default_factory=lambda: {"cam": [("rising", 101.3), ("falling", 281.7)]}
    )
    rpm: float = 220.0
    swing: float = 0.2
    harmonic: int = 2
    turns: float = 24.0
    start_deg: float = 133.0
    rate_hz: float = 100_000.0
    width: float = 0.5
    noise: float = 0.0
    tooth_error_deg: float = 0.0
    runout_deg: float = 0.0
    run_up: float = 0.0
    seed: int = 1


def even(places: int, *missing: int) -> tuple[int, ...]:
    """The places of a wheel but the missing ones."""
    return tuple(place for place in range(places) if place not in missing)


WHEELS: dict[str, tuple[int, tuple[int, ...]]] = {
    "60-2": (60, even(60, 58, 59)),
    "36-1": (36, even(36, 35)),
    "36-2": (36, even(36, 34, 35)),
    "24-1": (24, even(24, 23)),
    "24-2": (24, even(24, 22, 23)),
    "12-1": (12, even(12, 11)),
    "8-1": (8, even(8, 7)),
    "4-1": (4, even(4, 3)),
    "36-1-2": (36, even(36, 17, 34, 35)),
    "36-2-2-2": (36, even(36, 16, 17, 19, 20, 34, 35)),
    "60-2-2": (60, even(60, 28, 29, 58, 59)),
    "32-2-2": (32, even(32, 15, 16, 30, 31)),
    "58 even": (58, even(58)),
    "12+1": (36, (*range(0, 36, 3), 1)),
}


class Motion:
    """Crank angle over time: mean speed, compression swing, a run-up from near standstill."""

    angle: Array
    time: Array

    def __init__(self, bench: Bench) -> None:
        self.angle = np.linspace(bench.start_deg, bench.start_deg + 360 * bench.turns, int(bench.turns * 3600) + 1)
        turned = (self.angle - bench.start_deg) / 360
        speed = 6 * bench.rpm * (1 + bench.swing * np.sin(np.deg2rad(self.angle * bench.harmonic) + 0.7))
        if bench.run_up:
            speed = speed * np.sqrt(np.minimum(1.0, 0.02 + turned / bench.run_up))
        slow = 1 / speed
        step = np.diff(self.angle)
        # Simpson's rule on the midpoints taken as the mean of neighbours is enough at a tenth of a degree
        self.time = np.concatenate([[0.0], np.cumsum(step * (slow[1:] + slow[:-1]) / 2)])

    def when(self, angle: Array) -> Array:
        return np.interp(angle, self.angle, self.time)

    def where(self, time: Array) -> Array:
        return np.interp(time, self.time, self.angle)


def tooth_errors(bench: Bench) -> Array:
    """How far each tooth stands behind its place: each on its own, and all by a wheel that sits out of centre."""
    rng = np.random.default_rng(bench.seed + 1000)
    each = bench.tooth_error_deg * rng.standard_normal(len(bench.teeth))
    turn = np.deg2rad(np.array(sorted(bench.teeth)) * 360.0 / bench.places + rng.uniform(0, 360))
    return each + bench.runout_deg * np.sin(turn)


def crank_marks(bench: Bench) -> Array:
    """Angles of the leading (rising) edges of the teeth within a turn."""
    return np.array(sorted(bench.teeth)) * 360.0 / bench.places + tooth_errors(bench)


def level_changes(bench: Bench, motion: Motion) -> dict[str, tuple[Array, Array]]:
    """For each channel the times and new levels."""
    first, last = int(bench.start_deg // 360) - 1, int(bench.start_deg // 360 + bench.turns) + 2
    rising = (np.arange(first, last)[:, None] * 360 + crank_marks(bench)[None, :]).ravel()
    smallest = np.min(np.diff(np.append(np.sort(bench.teeth), bench.places + min(bench.teeth))))
    falling = rising + bench.width * smallest * 360 / bench.places
    out = {"crank": _cut(np.concatenate([rising, falling]), np.repeat([1.0, 0.0], rising.size), motion)}
    cycles = np.arange(first // 2 - 1, last // 2 + 2)[:, None] * 720
    for name, edges in bench.cams.items():
        angles = (cycles + np.array([angle for _, angle in edges])[None, :]).ravel()
        levels = np.tile([1.0 if edge == "rising" else 0.0 for edge, _ in edges], cycles.size)
        out[name] = _cut(angles, levels, motion)
    return out


def _cut(angles: Array, levels: Array, motion: Motion) -> tuple[Array, Array]:
    order = np.argsort(angles, kind="stable")
    angles, levels = angles[order], levels[order]
    inside = (angles > motion.angle[0]) & (angles < motion.angle[-1])
    return motion.when(angles[inside]), levels[inside]


def change_list(bench: Bench, motion: Motion | None = None) -> tuple[list[str], Array]:
    """Rows of (time, levels…) at every change, times rounded to the recorder's clock."""
    motion = motion or Motion(bench)
    changes = level_changes(bench, motion)
    names = list(changes)
    times = np.concatenate([changes[name][0] for name in names])
    owner = np.concatenate([np.full(changes[name][0].size, i) for i, name in enumerate(names)])
    level = np.concatenate([changes[name][1] for name in names])
    order = np.argsort(times, kind="stable")
    now = [1.0 - changes[name][1][0] if changes[name][1].size else 0.0 for name in names]
    rows = [[0.0, *now]]
    for index in order:
        now[owner[index]] = level[index]
        rows.append([round(times[index] * bench.rate_hz) / bench.rate_hz, *now])
    return names, np.array(rows)


def sampled_levels(bench: Bench, motion: Motion | None = None) -> tuple[list[str], Array]:
    """Rows of (time, volts…) of Hall sensors sampled evenly: 0 and 5 V, a rise over some µs, noise."""
    motion = motion or Motion(bench)
    rng = np.random.default_rng(bench.seed)
    times = np.arange(0, motion.time[-1], 1 / bench.rate_hz)
    columns = [times]
    changes = level_changes(bench, motion)
    for name in changes:
        at, levels = changes[name]
        index = np.searchsorted(at, times, side="right")
        state = np.concatenate([[1 - levels[0] if levels.size else 0.0], levels])[index]
        columns.append(5 * state + bench.noise * rng.standard_normal(times.size))
    return list(changes), np.column_stack(columns)


def inductive(
    bench: Bench, motion: Motion | None = None, *, swapped: bool = False, drift: float = 0.0
) -> tuple[list[str], Array]:
    """Rows of (time, volts…): an inductive crank sensor, cams as Hall sensors.

    Flux has a bump at every tooth; the voltage is its change in time, so amplitude grows with speed and the zero
    crossing at the middle of a tooth carries the angle. Teeth stand at ``crank_marks``.
    """
    motion = motion or Motion(bench)
    rng = np.random.default_rng(bench.seed)
    times = np.arange(0, motion.time[-1], 1 / bench.rate_hz)
    angle = motion.where(times)
    speed = np.gradient(angle, times)
    pitch = 360.0 / bench.places
    sigma = 0.28 * pitch * float(np.min(np.diff(np.append(np.sort(bench.teeth), bench.places + min(bench.teeth)))))
    grid = np.linspace(0, 360, 36_001)
    slope = np.zeros_like(grid)
    for mark in crank_marks(bench):
        off = (grid - mark + 180) % 360 - 180
        slope -= off / sigma**2 * np.exp(-0.5 * (off / sigma) ** 2)
    volts = speed * np.interp(angle % 360, grid, slope) / 1000 * (-1 if swapped else 1)
    volts = volts + bench.noise * rng.standard_normal(times.size) + drift * np.sin(2 * np.pi * times / times[-1]) + 1.5
    columns = [times, volts]
    changes = level_changes(bench, motion)
    for name in bench.cams:
        at, levels = changes[name]
        index = np.searchsorted(at, times, side="right")
        columns.append(5 * np.concatenate([[1 - levels[0] if levels.size else 0.0], levels])[index])
    return ["crank", *bench.cams], np.column_stack(columns)


def pulses(
    bench: Bench, motion: Motion | None = None, *, coupled_hz: float = 0.0, wide_deg: float = 6.0
) -> tuple[list[str], Array, list[float]]:
    """Rows of (time, volts…) of an inductive crank sensor and a cam sensor of few pulses on a quiet baseline.

    The cam sensor is inductive, its teeth at the angles of ``bench.cams`` (the middle of a tooth is the zero crossing);
    or a Hall sensor behind a capacitor where ``coupled_hz`` is given. Also returns the true angles of the teeth.
    """
    motion = motion or Motion(bench)
    names, rows = inductive(bench, motion)
    rng = np.random.default_rng(bench.seed + 5)
    times = rows[:, 0]
    angle = motion.where(times)
    marks = [at % 720 for _, at in bench.cams["cam"]]
    if coupled_hz:
        keep = np.exp(-2 * np.pi * coupled_hz / bench.rate_hz)
        volts, level = np.zeros(times.size), np.diff(rows[:, 2], prepend=rows[0, 2])
        for index in range(1, times.size):
            volts[index] = keep * (volts[index - 1] + level[index])
    else:
        volts = np.zeros(times.size)
        for mark in marks:
            off = (angle - mark + 360) % 720 - 360
            volts -= off / (wide_deg / 2) ** 2 * np.exp(-0.5 * (off / (wide_deg / 2)) ** 2)
        volts = volts * np.gradient(angle, times) / 1000
    rows[:, 2] = volts + bench.noise * rng.standard_normal(times.size)
    return names, rows, marks


def as_csv(names: list[str], rows: Array, *, separator: str = ",", decimal: str = ".", header: bool = True) -> str:
    head = [separator.join(["Time [s]", *names])] if header else []
    lines = [separator.join(f"{value:.9g}".replace(".", decimal) for value in row) for row in rows]
    return "\n".join(head + lines) + "\n"
