"""Real sensor captures, where a folder holds them (TWOTURN_RECORDINGS), against what an independent decoder found."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from bench.table import RECORDINGS, Row
from twoturn.acts.capture import read_sensors
from twoturn.capture.decode import Decoded
from twoturn.errors import TwoTurnError

REFERENCE: dict[str, tuple[str, tuple[float, ...], float]] = {
    "a": ("36-1-2", (236.64, 603.97), 0.04),
    "b": ("2 places, no gap", (135.83, 314.16, 496.28, 570.96), 0.24),
    "c": (
        "36-2-2-2",
        (96.02, 118.37, 139.42, 158.54, 181.66, 238.37, 258.72, 278.14, 300.84, 478.50, 696.28, 717.90),
        0.27,
    ),
}
"""By file: the wheel, cam edges [crank degrees] and the greatest scatter of one edge [crank degrees]."""

WHEEL_ONLY = {"d": "60-2", "e": "36-2"}


def measure() -> list[Row]:
    """Rows of the real captures; a row that says so where there are none."""
    if not RECORDINGS or not (Path(RECORDINGS) / "captures").is_dir():
        why = "no folder of real recordings is named (TWOTURN_RECORDINGS)"
        return [Row("capture: real files", why, "not measured", "no worse than an independent decoder", None)]
    folder = Path(RECORDINGS) / "captures"
    rows = [_edges(folder, name) for name in REFERENCE]
    for name, wheel in WHEEL_ONLY.items():
        told = _told(_read(folder / f"{name}.csv"))
        rows.append(Row(f"capture: real file {name}", "the crank wheel alone", told, wheel, told == wheel))
    told = _told(_read(folder / "f.csv"))
    how = "a wheel unlike the usual ones, which the independent decoder did not solve"
    return [*rows, Row("capture: real file f", how, told, "what is seen, or why not", None)]


def _read(path: Path) -> Decoded | None:
    try:
        return read_sensors(path).decoded
    except TwoTurnError:
        return None


def _told(found: Decoded | None) -> str:
    """The wheel that was seen, or why none."""
    if found is None:
        return "refused"
    return found.crank.wheel.text if found.crank else "; ".join(found.why)


def _edges(folder: Path, name: str) -> Row:
    wheel, angles, scatter = REFERENCE[name]
    found = _read(folder / f"{name}.csv")
    told = _told(found)
    how = (
        f"cranking or running engine, {len(angles)} cam edges of an independent decoder; "
        "thresholds were set with the file in view"
    )
    target = f"{wheel}; within its scatter of {scatter}°"
    if found is None or found.crank is None or told != wheel or not found.cams:
        return Row(f"capture: real file {name}", how, told, target, False)
    worst = min(
        _worst(np.array(angles), np.array([edge.angle_deg for edge in cam.edges]), 720 * zero / found.crank.zeros)
        for cam in found.cams
        for zero in range(found.crank.zeros)
    )
    figure = f"{told}; greatest difference of an edge {worst:.2f}°"
    return Row(f"capture: real file {name}", how, figure, target, worst <= scatter)


def _worst(wanted: np.ndarray, seen: np.ndarray, zero: float) -> float:
    """Greatest distance of a wanted edge from the nearest seen one [crank degrees]."""
    away = np.abs((seen[None, :] + zero - wanted[:, None] + 360) % 720 - 360)
    return float(away.min(axis=1).max())
