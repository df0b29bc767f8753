"""How often the stated 95 % interval of a cam edge holds, by kind of recording, on engines drawn at random."""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

from bench.table import Row
from twoturn.capture.decode import Decoded, decode

sys.path.insert(0, str(Path(__file__).resolve().parents[2] / "tests" / "capture"))
import cranking
import reading

SEEDS = range(200, 230)
WORDS = {
    "plain": "steady cranking, exact wheels",
    "strong": "swing of speed to ± 25 %",
    "rest": "from standstill",
    "fires": "the engine fires",
    "wheel": "teeth 0.05 to 0.3° out (1 σ)",
    "runout": "wheel out of centre by 0.03 to 0.15°",
    "faults": "lost and false pulses",
    "slow rate": "10 to 50 kHz",
    "coarse": "wheels of 2 to 12 teeth",
    "hall": "Hall sensors in volts, noise",
    "inductive": "inductive, drift, hum and noise",
    "sine": "a plain sine of speed",
}


def measure() -> list[Row]:
    """One row a kind."""
    return [_row(kind) for kind in cranking.KINDS]


def _row(kind: str) -> Row:
    held, errors, stated, untold, gross = [], [], [], 0, 0
    for seed in SEEDS:
        one = cranking.drawn(kind, seed)
        rate = one.bench.rate_hz if one.sampled else None
        found = _scored(one, decode(reading.capture_of(one.names, one.rows, rate)))
        untold += not found
        gross += any(abs(error) > max(4 * u, 0.3) for error, u in found)
        held += [abs(error) <= 1.96 * u for error, u in found]
        errors += [error for error, _ in found]
        stated += [u for _, u in found]
    share = float(np.mean(held))
    how = f"{len(SEEDS)} recordings, {len(held)} edges: {WORDS[kind]}; seeds {SEEDS.start} to {SEEDS.stop - 1}"
    figure = (
        f"{100 * share:.0f} % (middle error {np.median(np.abs(errors)):.3f}°, "
        f"middle ± {1.96 * np.median(stated):.2f}°; {untold} not told, {gross} grossly wrong)"
    )
    return Row("capture: the stated interval holds", how, figure, "90 % or more", share >= 0.9 and not gross)


def _scored(one: cranking.Drawn, found: Decoded) -> list[tuple[float, float]]:
    """Error and stated u of every true edge, the best of the possible zeros taken [crank degrees]."""
    if found.crank is None or not found.cams:
        return []
    bench, zeros = one.bench, max(1, found.crank.zeros)
    smallest = np.min(np.diff(np.append(np.sort(bench.teeth), bench.places + min(bench.teeth))))
    later = 0.0 if one.inductive or found.crank.edge != "falling" else bench.width * smallest * 360 / bench.places
    seen = [(edge.edge, edge.angle_deg, edge.u) for cam in found.cams for edge in cam.edges]
    best: list[tuple[float, float]] = []
    for zero in range(zeros):
        row = []
        for kind, angle in bench.cams["cam"]:
            near = [
                ((at - angle + later - zero * 720 / zeros + 360) % 720 - 360, u) for edge, at, u in seen if edge == kind
            ]
            row.append(min(near, key=lambda pair: abs(pair[0])) if near else (360.0, 1.0))
        if not best or max(abs(error) for error, _ in row) < max(abs(error) for error, _ in best):
            best = row
    return best
