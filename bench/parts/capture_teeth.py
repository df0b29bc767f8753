"""A cam one or two belt teeth out against a reference recording of the same engine: missed, or invented."""

from __future__ import annotations

import tempfile
from dataclasses import replace
from pathlib import Path

import numpy as np
from tests.capture.engines import WHEELS, Bench, as_csv, change_list, sampled_levels

from bench.table import Row
from twoturn.acts.capture import Request, read_sensors

RUNS = 64
WHEEL_NAMES = ("60-2", "36-1", "36-2", "24-1", "24-2", "36-1-2", "60-2-2", "32-2-2")
REST_DEG = 1.0


def measure() -> list[Row]:
    """Rows of teeth missed and invented."""
    missed = invented = untold = wrong = out = right = 0
    with tempfile.TemporaryDirectory() as name:
        for seed in range(RUNS):
            teeth, told = _one(seed, Path(name))
            out += teeth != 0
            right += teeth == 0
            untold += told is None
            missed += teeth != 0 and told == 0
            invented += teeth == 0 and told not in (None, 0)
            wrong += teeth != 0 and told not in (None, 0, teeth)
    how = (
        f"{RUNS} pairs of recordings, 20 turns each, 8 wheels, 140 to 300 rpm, speed swinging to ± 25 %, wheel's teeth "
        f"0.1° out, rest {REST_DEG}° (1 σ), level changes or samples at 20 kHz"
    )
    figure = f"missed {missed} of {out}, {wrong} told by another number, no answer in {untold}"
    return [
        Row("capture: a belt tooth out missed", how, figure, "never", missed == 0 and wrong == 0),
        Row("capture: a belt tooth out invented", "the same", f"{invented} of {right}", "never", invented == 0),
    ]


def _one(seed: int, folder: Path) -> tuple[int, int | None]:
    """Teeth truly out, and as told."""
    rng = np.random.default_rng([77, seed])
    places, wheel = WHEELS[WHEEL_NAMES[seed % len(WHEEL_NAMES)]]
    teeth = int(rng.choice([-2, -1, 0, 0, 0, 1, 2]))
    per_tooth = 720 / int(rng.choice([40, 42, 44, 48, 52]))
    first, width = rng.uniform(0, 700), rng.uniform(60, 300)
    other = rng.uniform(20, 40)
    angles = [("rising", 0.0), ("falling", width), ("rising", width + other), ("falling", width + 3 * other)]
    base = Bench(
        places=places, teeth=wheel, cams={"cam": [(kind, first + angle) for kind, angle in angles]},
        rpm=rng.uniform(140, 300), swing=rng.uniform(0.1, 0.25), harmonic=int(rng.choice([1, 2, 3])), turns=20.0,
        start_deg=rng.uniform(0, 720), rate_hz=20_000.0, noise=0.05, tooth_error_deg=0.1, seed=seed,
    )  # fmt: skip
    late = teeth * per_tooth + REST_DEG * rng.standard_normal()
    moved = replace(
        base,
        cams={"cam": [(kind, angle + late) for kind, angle in base.cams["cam"]]},
        rpm=base.rpm * rng.uniform(0.85, 1.15),
        start_deg=rng.uniform(0, 720),
    )
    make = sampled_levels if seed % 4 == 3 else change_list
    paths = [folder / "reference.csv", folder / "now.csv"]
    for path, bench in zip(paths, (base, moved), strict=True):
        path.write_text(as_csv(*make(bench)), encoding="utf-8")
    answer = read_sensors(paths[1], Request(against=paths[0], deg_per_tooth=per_tooth))
    return teeth, answer.shifts[0]["teeth"] if answer.shifts else None
