"""Leads that drop out for 5 to 60 ms: the cycles without are read, and it is said how many are lacking.

The wheel and the edges are known from the tests' own model; how long a loose lead drops out: common practice,
no source.
"""

from __future__ import annotations

import importlib
import sys
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

sys.path.insert(0, str(Path(__file__).parent))
cranking = importlib.import_module("cranking")
engines = importlib.import_module("engines")
reading = importlib.import_module("reading")

from twoturn.capture.decode import decode  # noqa: E402

CAM = [("rising", 101.3), ("falling", 181.7), ("rising", 301.3), ("falling", 401.7)]
Array = NDArray[np.float64]


def dropped(rows: Array, rng: np.random.Generator, column: int, level: float, count: int) -> Array:
    """The rows with a channel at one level now and then."""
    times, rows = rows[:, 0], rows.copy()
    for begin in rng.uniform(0.3, times[-1] - 0.4, count):
        rows[(times >= begin) & (times < begin + rng.uniform(0.005, 0.06)), column] = level
    return rows


@pytest.mark.parametrize("seed", range(3))
@pytest.mark.parametrize("sensor", ["hall", "inductive"])
@pytest.mark.parametrize("wheel", ["60-2", "36-2-2-2", "24-1", "36-1-2"])
def test_the_wheel_and_its_angles_are_read_past_drop_outs(wheel: str, sensor: str, seed: int) -> None:
    places, teeth = engines.WHEELS[wheel]
    bench = engines.Bench(places=places, teeth=teeth, cams={"cam": CAM}, rate_hz=2e4, turns=20.0, seed=seed)
    motion = cranking.Turned(bench, cranking.Engine(seed=seed, rpm=200.0, swing=0.15))
    names, rows = (engines.sampled_levels if sensor == "hall" else engines.inductive)(bench, motion)
    rng = np.random.default_rng([3400, seed, places])
    rows = dropped(rows, rng, 1, 0.0 if sensor == "hall" else 1.5, 4)
    decoded = decode(reading.capture_of(names, dropped(rows, rng, 2, 0.0, 3), bench.rate_hz))
    assert decoded.crank is not None
    assert same(decoded.crank.wheel.text, wheel)
    assert decoded.turns > 9.0  # a drop-out beside a compression may be taken for a stop: the longest run then
    assert len(decoded.cams[0].edges) == len(CAM)
    angles = np.array([edge.angle_deg for edge in decoded.cams[0].edges])
    steps = np.sort(np.diff(np.append(angles, angles[0] + 720)))
    true = np.sort([80.4, 119.6, 100.4, 419.6])  # between the edges of CAM
    assert np.abs(steps - true).max() < 0.3


def same(seen: str, wheel: str) -> bool:
    """Whether two wheels are the same, whichever gap is named first."""
    first, *gaps = seen.split("-")
    return [first, *sorted(gaps)] == [wheel.split("-", maxsplit=1)[0], *sorted(wheel.split("-")[1:])]


def test_how_many_cycles_lack_an_edge_is_told() -> None:
    bench = engines.Bench(cams={"cam": CAM}, rate_hz=1e5, turns=20.0)
    motion = engines.Motion(bench)
    names, rows = engines.change_list(bench, motion)
    whole = decode(reading.capture_of(names, rows), edge="rising")
    assert not any("lack an edge" in note for note in whole.notes)
    lost = [cycle * 720 + 301.3 for cycle in (3, 6)]
    for at in motion.when(np.array(lost)):
        inside = (rows[:, 0] > at - 0.004) & (rows[:, 0] < at + 0.09)
        rows[inside, 2] = 0.0  # from the falling edge before to the falling one after
    decoded = decode(reading.capture_of(names, rows), edge="rising")
    assert any("of 10 cycles 2 lack an edge of cam" in note for note in decoded.notes)
    assert max(map(abs, reading.errors_deg(decoded, CAM, 0.0))) < 0.1
