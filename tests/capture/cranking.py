"""Turning of an engine by its torques, and recordings drawn at random with known truth: made for the tests alone.

The crankshaft is a flywheel driven by a starter whose torque falls with speed, held back by friction and by the gas in
the cylinders (crank slider without the rod's length, gas by p·V^1.3; both in any handbook of engines, from memory).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from engines import WHEELS, Bench, Motion, change_list, inductive, sampled_levels
from numpy.typing import NDArray

Array = NDArray[np.float64]
STEP_DEG = 0.25
FIRING = {1: (0,), 2: (0, 360), 3: (0, 240, 480), 4: (0, 180, 360, 540), 5: (0, 144, 288, 432, 576)}
FIRING |= {6: tuple(range(0, 720, 120)), 8: tuple(range(0, 720, 90))}


@dataclass(frozen=True)
class Engine:
    """An engine to be turned.

    ``gas`` scales the gas torque, ``uneven`` each cylinder's part of it (1 σ); ``fires_at`` is the turn from which it
    fires, ``jolts`` the cycle-to-cycle change of its torque (1 σ), ``from_rest`` starts the recording at rest.
    """

    cylinders: int = 4
    rpm: float = 220.0
    swing: float = 0.15
    uneven: float = 0.05
    fires_at: float = 1e9
    jolts: float = 0.02
    from_rest: bool = False
    sag: float = 0.0
    seed: int = 1


def gas_torque(after_tdc_deg: Array, ratio: float = 9.5) -> Array:
    """Torque of one cylinder's gas [share of its greatest], angles after firing TDC within ±360."""
    angle = np.deg2rad(after_tdc_deg)
    volume = 1 / (ratio - 1) + (1 - np.cos(angle)) / 2
    pressure = (volume.max() / volume) ** 1.3 - 1
    torque = np.where(np.abs(after_tdc_deg) < 180, pressure * np.sin(angle), 0.0)
    torque = np.where(after_tdc_deg > 0, 0.9 * torque, torque)  # heat lost to the walls
    return torque / np.abs(torque).max()


class Turned(Motion):
    """Crank angle over time by the energy of the flywheel."""

    def __init__(self, bench: Bench, engine: Engine) -> None:
        rng = np.random.default_rng(engine.seed + 77)
        self.angle = np.arange(bench.start_deg, bench.start_deg + 360 * bench.turns, STEP_DEG)
        torque = np.zeros(self.angle.size)
        tdc = rng.uniform(0, 720)
        fired_from = bench.start_deg + 360 * engine.fires_at
        for first in FIRING[engine.cylinders]:
            strength = max(0.3, 1 + engine.uneven * rng.standard_normal())
            after = (self.angle - tdc - first + 360) % 720 - 360
            cycle = np.floor((self.angle - tdc - first + 360) / 720).astype(int)
            each = 1 + engine.jolts * rng.standard_normal(cycle.max() - cycle.min() + 1)
            own = gas_torque(after) * strength * each[cycle - cycle.min()]
            lit = (after > 0) & (self.angle - after > fired_from)
            torque += np.where(lit, own * 3.0, own)
        # energy as a share of that at the mean speed; scaled to the swing asked for
        wave = np.cumsum(torque - torque[self.angle < fired_from].mean()) * np.deg2rad(STEP_DEG)
        part = wave[self.angle < fired_from]
        scale = 4 * engine.swing / np.ptp(part[: int(720 / STEP_DEG)])
        energy = np.empty(self.angle.size)
        now = 0.003 if engine.from_rest else 1.0
        pull = 0.35 * np.deg2rad(STEP_DEG)
        sag = 1 - engine.sag * np.arange(self.angle.size) / self.angle.size
        mean = torque[self.angle < fired_from].mean()
        gas = (torque - mean) * scale * np.deg2rad(STEP_DEG)
        for index in range(self.angle.size):
            energy[index] = now
            now = max(now + gas[index] + pull * (sag[index] - np.sqrt(now)), 0.003)
        speed = 6 * engine.rpm * np.sqrt(energy)
        slow = 1 / speed
        self.time = np.concatenate([[0.0], np.cumsum(STEP_DEG * (slow[1:] + slow[:-1]) / 2)])

    @property
    def swing(self) -> float:
        """Half of the greatest swing of speed within a turn of the second half, as a share [-]."""
        turn = int(360 / STEP_DEG)
        speed = STEP_DEG / np.diff(self.time)
        rows = speed[: speed.size // turn * turn].reshape(-1, turn)[speed.size // turn // 2 :]
        return float(np.max(np.ptp(rows, axis=1) / rows.mean(1)) / 2)


KINDS = (
    "plain",
    "strong",
    "rest",
    "fires",
    "wheel",
    "runout",
    "faults",
    "slow rate",
    "coarse",
    "hall",
    "inductive",
    "sine",
)


@dataclass(frozen=True, eq=False)
class Drawn:
    """A recording drawn at random: its kind, what it was made from, names and rows, whether sampled evenly."""

    kind: str
    bench: Bench
    names: list[str]
    rows: Array
    sampled: bool
    inductive: bool


def _bench(kind: str, rng: np.random.Generator, seed: int) -> Bench:
    """Wheel, cams and recorder of a recording of a kind."""
    fine = ["60-2", "36-1", "36-2", "24-1", "24-2", "36-1-2", "36-2-2-2", "60-2-2", "32-2-2", "12+1", "12-1"]
    name = str(rng.choice(["8-1", "4-1", "12-1", "4 even", "2 even", "8 even"] if kind == "coarse" else fine))
    if kind in ("wheel", "runout"):
        name = str(rng.choice(["60-2", "36-1", "36-2", "24-2"]))
    places, teeth = WHEELS[name] if name in WHEELS else (int(name[0]), tuple(range(int(name[0]))))
    first = rng.uniform(0, 700)
    angles = np.cumsum(rng.uniform(25, 160, 4))
    cams = {"cam": [("falling" if i % 2 else "rising", float(first + a)) for i, a in enumerate(angles)]}
    return Bench(
        places=places, teeth=teeth, cams=cams, turns=float(rng.integers(14, 30)), start_deg=rng.uniform(0, 720),
        rate_hz=float(10 ** rng.uniform(5, 6)), width=rng.uniform(0.3, 0.65), seed=seed,
    )  # fmt: skip


def drawn(kind: str, seed: int) -> Drawn:
    """One recording of a kind."""
    rng = np.random.default_rng([KINDS.index(kind), seed])
    bench = _bench(kind, rng, seed)
    engine = Engine(
        cylinders=int(rng.choice([1, 2, 3, 4, 4, 4, 5, 6, 8])), rpm=rng.uniform(140, 300), swing=rng.uniform(0.05, 0.2),
        uneven=rng.uniform(0, 0.1), jolts=rng.uniform(0, 0.05), sag=rng.uniform(0, 0.2), seed=seed,
    )  # fmt: skip
    if kind == "strong":
        engine = replace(engine, swing=rng.uniform(0.2, 0.25))
    elif kind == "rest":
        engine = replace(engine, from_rest=True, swing=rng.uniform(0.05, 0.12))
    elif kind == "fires":
        engine = replace(engine, fires_at=rng.uniform(5, bench.turns - 3))
    elif kind == "wheel":
        bench = replace(bench, tooth_error_deg=rng.uniform(0.05, 0.3))
    elif kind == "runout":
        bench = replace(bench, tooth_error_deg=0.03, runout_deg=rng.uniform(0.03, 0.15))
    elif kind == "slow rate":
        bench = replace(bench, rate_hz=float(10 ** rng.uniform(4, 4.7)))
    elif kind == "sine":
        bench = replace(bench, swing=rng.uniform(0.1, 0.25), harmonic=int(rng.choice([1, 2, 3])), rpm=engine.rpm)
    elif kind in ("hall", "inductive"):
        bench = replace(bench, rate_hz=float(10 ** rng.uniform(4, 5)), noise=rng.uniform(0, 0.15))
    motion = Motion(bench) if kind == "sine" else Turned(bench, engine)
    return _recorded(kind, bench, motion, rng)


def _recorded(kind: str, bench: Bench, motion: Motion, rng: np.random.Generator) -> Drawn:
    """The recording of an engine's turning, with the faults of its kind."""
    if kind == "hall":
        names, rows = sampled_levels(bench, motion)
    elif kind == "inductive":
        bench = replace(bench, noise=rng.uniform(0, 0.02))
        names, rows = inductive(bench, motion, swapped=bool(rng.integers(2)), drift=rng.uniform(0, 0.3))
        rows[:, 1] += rng.uniform(0, 0.05) * np.sin(2 * np.pi * 50 * rows[:, 0])
    else:
        names, rows = change_list(bench, motion)
    if kind == "faults":
        rows = spoilt(rows, rng, int(rng.integers(1, 8)), int(rng.integers(1, 8)))
    return Drawn(kind, bench, names, rows, kind in ("hall", "inductive"), kind == "inductive")


def spoilt(rows: Array, rng: np.random.Generator, lost: int, false: int) -> Array:
    """Crank pulses lost and false pulses put in, at random."""
    rows = rows.copy()
    change = np.flatnonzero(np.diff(rows[:, 1])) + 1
    pulses = [(a, b) for a, b in pairwise(change) if rows[a, 1] == 1]
    for start, end in (pulses[i] for i in rng.choice(len(pulses) - 20, lost, replace=False) + 10):
        rows[start:end, 1] = 0
    extra = []
    for start, end in (pulses[i] for i in rng.choice(len(pulses) - 20, false, replace=False) + 10):
        middle = rows[end, 0] + 0.4 * (rows[end + 1, 0] - rows[end, 0])
        for shift, level in ((0.0, 1.0), (0.12 * (rows[end, 0] - rows[start, 0]), 0.0)):
            extra.append([middle + shift, level, *rows[end, 2:]])
    rows = np.vstack([rows, np.array(extra).reshape(-1, rows.shape[1])])
    return rows[np.argsort(rows[:, 0], kind="stable")]
