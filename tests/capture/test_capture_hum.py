"""Mains hum on an inductive crank sensor is taken out where it is sure, and an even row of teeth is none.

Truth: recordings made by ``cranking.py`` and ``engines.py`` (known angles), hum added here as a plain sine.
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

from twoturn.capture.cams import cam_edges  # noqa: E402
from twoturn.capture.decode import decode  # noqa: E402
from twoturn.capture.signal.edges import EdgeTrain  # noqa: E402
from twoturn.capture.signal.hum import without_hum  # noqa: E402

Array = NDArray[np.float64]


def _voltage(**changes: object) -> tuple[Array, Array]:
    """Times and crank voltage of cranking, about its mean."""
    made = engines.Bench(**{"rate_hz": 20_000.0, **changes})
    _, rows = engines.inductive(made, cranking.Turned(made, cranking.Engine(rpm=made.rpm, sag=0.1)))
    return rows[:, 0], rows[:, 1] - rows[:, 1].mean()


@pytest.mark.parametrize("mains_hz", [49.93, 50.0, 60.04])
def test_hum_is_taken_out_and_little_else(mains_hz: float) -> None:
    times, clean = _voltage()
    hum = 0.04 * np.sin(2 * np.pi * mains_hz * times + 0.4) + 0.02 * np.sin(4 * np.pi * mains_hz * times)
    kept, found = without_hum(times, clean + hum)
    assert found == pytest.approx(mains_hz, abs=0.02)
    assert np.std(kept - clean) < 0.2 * np.std(hum)


@pytest.mark.parametrize(("places", "teeth"), [(60, engines.even(60, 58, 59)), (12, engines.even(12, 11))])
def test_where_there_is_no_hum_nothing_is_taken_out(places: int, teeth: tuple[int, ...]) -> None:
    times, clean = _voltage(places=places, teeth=teeth)
    kept, found = without_hum(times, clean)
    assert found is None
    assert kept is clean


def test_an_even_wheel_whose_teeth_come_as_often_as_the_mains_swing_keeps_its_teeth() -> None:
    for swing in (0.0, 0.1):
        made = engines.Bench(places=12, teeth=engines.even(12), rpm=250.0, swing=swing, rate_hz=20_000.0)
        _, rows = engines.inductive(made)
        clean = rows[:, 1] - rows[:, 1].mean()
        kept, found = without_hum(rows[:, 0], clean)
        assert found is None
        assert kept is clean


@pytest.mark.parametrize("seed", [1011, 1030, 1091, 1096, 1162, 1240, 1351])
def test_a_sensor_with_hum_and_drift_gives_the_wheel_and_the_edges(seed: int) -> None:
    """Recordings that were read wrongly (another wheel, edges degrees off) before hum was looked for."""
    one = cranking.drawn("inductive", seed)
    found = decode(reading.capture_of(one.names, one.rows, one.bench.rate_hz))
    assert found.crank is not None
    assert found.crank.wheel.places == one.bench.places
    assert found.crank.wheel.teeth == len(one.bench.teeth)
    u = max(edge.u for cam in found.cams for edge in cam.edges)
    assert max(map(abs, reading.errors_deg(found, one.bench.cams["cam"], 0.0))) < 3 * u


def test_an_edge_that_scatters_widely_is_one_edge() -> None:
    rng = np.random.default_rng(3)
    angles = 100 + 720 * np.arange(14) + np.where(rng.permutation(14) % 2, 2.6, -2.6) + rng.normal(0, 0.3, 14)
    train = EdgeTrain("cam", angles / 1000, np.ones(14, dtype=bool), 0.0, "logic")
    (edge,) = cam_edges(train, angles, np.zeros_like, 14.0)
    assert edge.count == 14
    assert abs(edge.angle_deg - 100) < 2.2 * edge.u


def test_two_edges_side_by_side_stay_two() -> None:
    angles = np.sort(np.concatenate([100 + 720 * np.arange(14), 104 + 720 * np.arange(14)])).astype(np.float64)
    train = EdgeTrain("cam", angles / 1000, np.ones(28, dtype=bool), 0.0, "logic")
    assert [round(edge.angle_deg) for edge in cam_edges(train, angles, np.zeros_like, 14.0)] == [100, 104]
