"""A cam one or two belt teeth out against a reference recording of the same engine: missed, or invented."""

from __future__ import annotations

import tempfile
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from tests.capture.engines import WHEELS, Bench, as_csv, change_list, inductive, sampled_levels

from bench.table import Row
from twoturn.acts.capture import Request, read_sensors

RUNS = 240
WHEEL_NAMES = ("60-2", "60-2", "36-1", "36-2", "24-1", "24-2", "36-1-2", "60-2-2", "32-2-2", "12+1")
REST_DEG = 3.0
BLOCK_DEG_PER_K = 0.017
EDGES = ("rising", "falling", "rising", "falling")


@dataclass(frozen=True)
class Pair:
    """Two recordings of one engine, the later one with its cams moved.

    ``teeth`` and ``late_deg`` are true, by cam; ``kelvin`` the temperatures [°C] told with the recordings.
    """

    before: Bench
    after: Bench
    per_tooth: float
    teeth: dict[str, int]
    late_deg: dict[str, float]
    kelvin: tuple[float, float]
    sensor: str


def measure() -> list[Row]:
    """Rows of teeth missed and invented."""
    counts = dict.fromkeys(("out", "right", "missed", "invented", "wrong", "untold", "eighteen", "inside", "told"), 0)
    with tempfile.TemporaryDirectory() as name:
        for seed in range(RUNS):
            _judge(_pair(seed), Path(name), counts)
    how = (
        f"{RUNS} pairs of recordings of 12 turns, {counts['eighteen']} with teeth of 18° on a 60-2 wheel (its gap), 9 "
        f"wheels, one cam or two, now and then the second cam not recorded, 140 to 300 rpm, the second up to 40 % "
        f"faster or slower and up to 60 K colder, speed swinging to ± 25 %, wheel's teeth 0.1° out, rest up to "
        f"{REST_DEG:g}°, level changes, samples of Hall sensors or of an inductive one at 10 kHz"
    )
    figure = (
        f"missed {counts['missed']} of {counts['out']} cams, {counts['wrong']} told by another number, no answer for "
        f"{counts['untold']}"
    )
    share = counts["inside"] / max(1, counts["told"])
    never = counts["missed"] == 0 and counts["wrong"] == 0
    return [
        Row("capture: a belt tooth out missed", how, figure, "never", never),
        Row(
            "capture: a belt tooth out invented",
            "the same",
            f"{counts['invented']} of {counts['right']} cams",
            "never",
            counts["invented"] == 0,
        ),
        Row(
            "capture: shift inside its ± (19 of 20 times)",
            "the same",
            f"{100 * share:.0f} %",
            "90 to 100 %",
            share >= 0.9,
        ),
    ]


def _judge(pair: Pair, folder: Path, counts: dict[str, int]) -> None:
    """Read one pair and add to the counts."""
    paths = [folder / "before.csv", folder / "after.csv"]
    make = {"changes": change_list, "hall": sampled_levels, "inductive": inductive}[pair.sensor]
    for path, bench in zip(paths, (pair.before, pair.after), strict=True):
        path.write_text(as_csv(*make(bench)), encoding="utf-8")
    then, now = pair.kelvin
    request = Request(
        against=paths[0], deg_per_tooth=pair.per_tooth, temperature_c=now, against_temperature_c=then, edge="rising"
    )
    told = {shift["channel"]: shift for shift in read_sensors(paths[1], request).shifts}
    counts["eighteen"] += pair.per_tooth == 18.0 and pair.before.places == 60
    for name, teeth in pair.teeth.items():
        counts["out" if teeth else "right"] += 1
        shift = told.get(name)
        if shift is None or shift["teeth"] is None:
            counts["untold"] += 1
            continue
        counts["missed"] += teeth != 0 and shift["teeth"] == 0
        counts["invented"] += teeth == 0 and shift["teeth"] != 0
        counts["wrong"] += teeth != 0 and shift["teeth"] not in (0, teeth)
        counts["told"] += 1
        counts["inside"] += abs(shift["deg"] - pair.late_deg[name]) <= 1.96 * shift["u"]


def _pair(seed: int) -> Pair:
    """One pair with known truth."""
    rng = np.random.default_rng([78, seed])
    places, wheel = WHEELS[WHEEL_NAMES[seed % len(WHEEL_NAMES)]]
    per_tooth = 18.0 if seed % len(WHEEL_NAMES) < 2 else 720 / int(rng.choice([36, 40, 42, 44, 48, 52]))
    cams = {f"cam {number}": _cam(rng) for number in range(1, 1 + int(rng.integers(1, 3)))}
    kelvin = (20.0 + float(rng.choice([0, 0, 5, 30, 60])), 20.0)
    grown = BLOCK_DEG_PER_K * (kelvin[1] - kelvin[0])
    together = int(rng.choice([-2, -1, 0, 0, 0, 1, 2]))
    one = int(rng.choice([0, 0, -1, 1]))
    teeth = {name: together + (one if name == "cam 2" else 0) for name in cams}
    late = {name: teeth[name] * per_tooth + float(rng.uniform(-REST_DEG, REST_DEG)) for name in cams}
    before = Bench(
        places=places, teeth=wheel, cams=cams, rpm=rng.uniform(140, 300), swing=rng.uniform(0.05, 0.25),
        harmonic=int(rng.choice([1, 2, 3])), turns=12.0, start_deg=rng.uniform(0, 720), rate_hz=10_000.0, noise=0.05,
        tooth_error_deg=0.1, seed=seed,
    )  # fmt: skip
    gone = "cam 2" if seed % 8 == 5 and len(cams) == 2 else ""
    after = replace(
        before,
        cams={
            name: [(kind, angle + late[name] + grown) for kind, angle in edges]
            for name, edges in cams.items()
            if name != gone
        },
        rpm=before.rpm * float(rng.choice([rng.uniform(0.85, 1.15), rng.uniform(0.6, 1.4)])),
        start_deg=rng.uniform(0, 720),
    )
    kept = {name: number for name, number in teeth.items() if name != gone}
    sensor = ("changes", "hall", "changes", "inductive", "changes", "changes")[seed % 6]
    return Pair(before, after, per_tooth, kept, late, kelvin, sensor)


def _cam(rng: np.random.Generator) -> list[tuple[str, float]]:
    """Edges of a cam's wheel with two windows, unlike each other."""
    first, width, other = rng.uniform(0, 700), rng.uniform(60, 300), rng.uniform(20, 40)
    steps = (0.0, width, width + other, width + 3 * other)
    return [(kind, first + step) for kind, step in zip(EDGES, steps, strict=True)]
