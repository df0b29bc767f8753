"""Monte Carlo over the tolerances of a drive."""

from __future__ import annotations

import math

import numpy as np

from bench.shipped import DRIVES
from bench.table import Row, best_of
from twoturn.drive.load import read_drive
from twoturn.drive.parts import Belt
from twoturn.drive.path import belt_path
from twoturn.drive.radii import pitch_line_radii_mm
from twoturn.mechanics.belt import belt_at_rest
from twoturn.mechanics.length_u import length_u_mm

DRAWS = 100_000
POSITION_U_MM, RADIUS_U_MM = 0.1, 0.02


def measure() -> list[Row]:
    """Rows of the draws: the path's length, which the kernel gives, and the rest state, which nothing draws yet."""
    path = next(path for path in DRIVES if path.stem.startswith("birch"))
    drive = read_drive(path.read_text(encoding="utf-8"), path.name)
    rest = belt_at_rest(drive, drive.belts[0])
    assert rest.shape is not None
    centres, belt = rest.shape.centres, rest.belt
    seconds = best_of(lambda: _lengths_mm(centres, belt), 3)
    own = length_u_mm(belt, rest.shape.path)
    how = "10⁵ draws of every centre and radius of one drive with two cams, tensioner held, path and length of each"
    spread = float(_lengths_mm(centres, belt).std())
    figure = f"{seconds:.2f} s (spread {spread:.3f} mm; the file's own u {own:.3f} mm)"
    return [
        Row("Monte Carlo over coordinates and radii: belt length", how, figure, "2 s", seconds < 2),
        Row(
            "Monte Carlo over all tolerances: pointer and tension",
            "no function of the project draws the rest state of many drives at once",
            "not there yet",
            "2 s for 10⁵ draws",
            False,
        ),
    ]


def _lengths_mm(centres: np.ndarray, belt: Belt) -> np.ndarray:
    rng = np.random.default_rng(73)
    count = len(centres)
    noise = rng.standard_normal((DRAWS, 2 * count))
    drawn = centres + POSITION_U_MM * (noise[:, :count] + 1j * noise[:, count:])
    radii = pitch_line_radii_mm(belt) + RADIUS_U_MM * rng.standard_normal((DRAWS, count))
    inside = np.array([pulley.inside for pulley in belt.pulleys])
    lengths = belt_path(drawn, radii, inside, belt.sense).length_mm
    assert math.isfinite(float(lengths.sum()))
    return lengths
