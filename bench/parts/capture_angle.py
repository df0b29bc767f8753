"""Cam edges of simulated cranking with known truth, from the tests' own generator; plain interpolation beside."""

from __future__ import annotations

import tempfile
from dataclasses import replace
from pathlib import Path

import numpy as np
from tests.capture.engines import WHEELS, Bench, Motion, as_csv, change_list, crank_marks, level_changes, tooth_errors

from bench.table import Row
from twoturn.capture.decode import Decoded, decode
from twoturn.capture.read import read_capture

RUNS = 30
TURNS = 20.0
ERROR_DEG, ORDERS = 0.25, (2, 4, 6)
FINE, COARSE = ("60-2", "36-1", "36-2"), ("24-1", "24-2")


def measure() -> list[Row]:
    """Rows of the mean cam edge at two sampling rates and of the tooth-placement error that is removed."""
    return [
        _edge_row(100_000.0, 0.03, FINE),
        _edge_row(10_000.0, 0.15, FINE),
        _edge_row(100_000.0, 0.03, COARSE),
        *_placement_rows(),
    ]


def engine(seed: int, rate_hz: float, name: str = "60-2") -> Bench:
    """Cranking over ten cycles with ± 25 % swing of speed; cam edges, speed and start drawn."""
    rng = np.random.default_rng([76, seed])
    first = rng.uniform(5, 300)
    cams = {"cam": [("rising", first), ("falling", first + rng.uniform(60, 300))]}
    places, teeth = WHEELS[name]
    return Bench(
        places=places, teeth=teeth, cams=cams, rpm=rng.uniform(150, 280), swing=0.25, harmonic=2, turns=TURNS,
        start_deg=rng.uniform(0, 720), rate_hz=rate_hz, seed=seed,
    )  # fmt: skip


def decoded(bench: Bench) -> Decoded:
    """The recording written as a file of level changes, whole ticks of the recorder's clock, and read again."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "capture.csv"
        path.write_text(as_csv(*change_list(bench)), encoding="utf-8")
        return decode(read_capture(path))


def errors_deg(bench: Bench, found: Decoded) -> list[float]:
    """Error of every cam edge, the zero being a tooth of the polarity that was read [crank degrees]."""
    if found.crank is None or not found.cams:
        return [np.nan] * sum(len(edges) for edges in bench.cams.values())
    later = bench.width * 360 / bench.places if found.crank.edge == "falling" else 0.0
    turn, errors = 720 / found.crank.zeros, []
    for name, truth in bench.cams.items():
        seen = [edge for cam in found.cams if cam.channel == name for edge in cam.edges]
        for kind, angle in truth:
            near = [(edge.angle_deg - angle + later + turn / 2) % turn - turn / 2 for edge in seen if edge.edge == kind]
            errors.append(min(near, key=abs) if near else np.nan)
    return errors


def _edge_row(rate_hz: float, allowed_deg: float, wheels: tuple[str, ...]) -> Row:
    rows = []
    for seed in range(RUNS):
        bench = engine(seed, rate_hz, wheels[seed % len(wheels)])
        rows += errors_deg(bench, decoded(bench))
    found = np.array(rows)[np.isfinite(rows)]
    sigma, worst = float(np.sqrt(np.mean(found**2))), float(np.abs(found).max())
    lost = len(rows) - len(found)
    how = f"{RUNS} recordings of 10 cycles, 150 to 280 rpm ± 25 %, wheels {', '.join(wheels)}, two edges each"
    figure = f"{sigma:.4f}° (worst {worst:.3f}°, {lost} of {len(rows)} edges not told)"
    met = not lost and sigma <= allowed_deg
    return Row(f"capture: mean cam edge at {rate_hz / 1e3:.0f} kHz, 1 σ", how, figure, f"{allowed_deg}°", met)


def _placement_rows() -> list[Row]:
    ours, plain, slow, ideal = [], [], [], []
    for seed in range(RUNS):
        bench = replace(engine(seed, 1e6), tooth_error_deg=ERROR_DEG)
        ours += errors_deg(bench, decoded(bench))
        plain += _interpolated(bench)
        slow += _slow_part(bench)
        ideal += errors_deg(bench, decoded(replace(bench, tooth_error_deg=0.0)))
    left, before, like_speed, exact = (_rms(rows) for rows in (ours, plain, slow, ideal))
    fast, fast_before = (_rms(np.array(rows) + slow) for rows in (ours, plain))
    removed, fast_removed = 1 - left / before, 1 - fast / fast_before
    how = f"{RUNS} recordings, wheel 60-2, teeth placed {ERROR_DEG}° out (1 σ); against interpolation between two teeth"
    figure = f"{100 * removed:.0f} % ({before:.3f}° down to {left:.3f}°; exact wheel {exact:.4f}°)"
    part = (
        f"the same, less what all teeth share (where 0 is) and orders 2, 4 and 6 round the wheel ({like_speed:.3f}°): "
        "the swing has these orders, at one speed nothing tells them apart"
    )
    rest = f"{100 * fast_removed:.1f} % ({fast_before:.3f}° down to {fast:.3f}°)"
    what = "capture: repeating tooth-placement error removed"
    return [Row(what, how, figure, "80 %", removed >= 0.8), Row(what, part, rest, "80 %", fast_removed >= 0.8)]


def _rms(rows: list[float] | np.ndarray) -> float:
    return float(np.sqrt(np.nanmean(np.square(rows))))


def _slow_part(bench: Bench) -> list[float]:
    """What the tooth errors of ``ORDERS`` round the wheel and their mean hide from a cam edge [crank degrees]."""
    orders = np.array(ORDERS)

    def waves(angles_deg: np.ndarray) -> np.ndarray:
        turn = np.deg2rad(angles_deg)[:, None] * orders
        return np.hstack([np.ones((len(angles_deg), 1)), np.cos(turn), np.sin(turn)])

    errors = tooth_errors(bench)
    factors = np.linalg.lstsq(waves(crank_marks(bench) - errors), errors, rcond=None)[0]
    return list(waves(np.array([angle for _, angle in bench.cams["cam"]])) @ factors)


def _interpolated(bench: Bench) -> list[float]:
    """Errors of plain interpolation between the two nearest teeth at their nominal places [crank degrees]."""
    motion = Motion(bench)
    times, levels = level_changes(bench, motion)["crank"]
    teeth = times[levels == 1]
    number = np.rint((motion.where(teeth)) * bench.places / 360)
    nominal = number * 360 / bench.places
    edges, kinds = level_changes(bench, motion)["cam"]
    inside = (edges > teeth[0]) & (edges < teeth[-1])
    seen = np.interp(edges[inside], teeth, nominal)
    errors = []
    for kind, angle in bench.cams["cam"]:
        chosen = seen[kinds[inside] == (1.0 if kind == "rising" else 0.0)]
        errors.append(float(np.mean((chosen - angle + 180) % 360 - 180)))
    return errors
