"""Cam sensors that give few pulses on a quiet baseline, lost pulses, channels that are no sensor, a cam alone.

The truth is the tests' own generator.
"""

from __future__ import annotations

import importlib
import sys
from pathlib import Path

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parent))
engines = importlib.import_module("engines")
cranking = importlib.import_module("cranking")
reading = importlib.import_module("reading")

from twoturn.capture.decode import decode  # noqa: E402

Bench = engines.Bench


def turned(seed: int, rate_hz: float, edges: list[tuple[str, float]], noise: float) -> tuple[object, object]:
    bench = Bench(cams={"cam": edges}, turns=18.0, rate_hz=rate_hz, noise=noise, seed=seed)
    return bench, cranking.Turned(bench, cranking.Engine(rpm=200.0 + 20 * seed, swing=0.12, seed=seed))


@pytest.mark.parametrize("noise", [1e-4, 2e-3, 8e-3])
@pytest.mark.parametrize("wide_deg", [4.0, 10.0])
def test_inductive_cam_pulses_are_read_at_their_middle_and_nowhere_else(noise: float, wide_deg: float) -> None:
    bench, motion = turned(1, 20_000.0, [("falling", 81.0), ("falling", 290.0), ("falling", 511.0)], noise)
    names, rows, _marks = engines.pulses(bench, motion, wide_deg=wide_deg)
    decoded = decode(reading.capture_of(names, rows, bench.rate_hz))
    assert decoded.cams[0].sensor == "inductive"
    assert [edge.edge for edge in decoded.cams[0].edges] == ["falling"] * 3
    assert max(map(abs, reading.errors_deg(decoded, bench.cams["cam"], 0.0))) < 0.1


@pytest.mark.parametrize("coupled_hz", [5.0, 10.0, 30.0])
def test_a_hall_sensor_behind_a_capacitor_is_read_at_its_jumps(coupled_hz: float) -> None:
    edges = [("rising", 81.0), ("falling", 190.0), ("rising", 411.0), ("falling", 511.0)]
    bench, motion = turned(2, 44_100.0, edges, 1e-3)
    names, rows, _marks = engines.pulses(bench, motion, coupled_hz=coupled_hz)
    decoded = decode(reading.capture_of(names, rows, bench.rate_hz))
    assert [edge.edge for edge in decoded.cams[0].edges] == ["rising", "falling"] * 2
    assert max(map(abs, reading.errors_deg(decoded, bench.cams["cam"], 0.0))) < 0.15


@pytest.mark.parametrize("wheel", ["60-2", "36-1"])
@pytest.mark.parametrize("seed", range(4))
def test_a_lost_pulse_of_the_cam_does_not_multiply_the_wheel(wheel: str, seed: int) -> None:
    places, teeth = engines.WHEELS[wheel]
    bench = Bench(
        places=places, teeth=teeth, cams={"cam": [("rising", 40.0), ("falling", 95.0)]}, turns=18.0, seed=seed
    )
    rows = engines.change_list(bench)[1].copy()
    change = np.flatnonzero(np.diff(rows[:, 2]) > 0) + 1
    lost = int(np.random.default_rng(seed).integers(1, change.size - 1))
    until = change[lost] + int(np.argmax(rows[change[lost] :, 2] == 0))
    rows[change[lost] : until, 2] = 0
    decoded = decode(reading.capture_of(["A", "B"], rows))
    assert decoded.crank is not None
    assert decoded.crank.wheel.text == wheel
    assert decoded.turns == pytest.approx(18, abs=0.2)


def test_a_cam_wheel_with_one_odd_tooth_repeats_with_the_cycle() -> None:
    """Twelve even teeth of the cam and one more: most of it recurs every turn, all of it every two."""
    edges = [(kind, 60.0 * i + off) for i in range(12) for kind, off in (("rising", 0.0), ("falling", 20.0))]
    edges += [("rising", 30.0), ("falling", 45.0)]
    bench = Bench(cams={"cam": sorted(edges, key=lambda edge: edge[1])}, turns=18.0)
    decoded = decode(reading.capture_of(["crank", "cam"], engines.change_list(bench)[1]))
    assert decoded.cams[0].repeat_sections == 2
    assert decoded.turns == pytest.approx(18, abs=0.2)


def test_a_cam_alone_is_not_taken_for_the_crank() -> None:
    edges = [(kind, at + off) for at in (0.0, 180.0, 360.0) for kind, off in (("rising", 5.0), ("falling", 60.0))]
    bench = Bench(cams={"cam": edges}, turns=24.0)
    rows = engines.change_list(bench)[1][:, [0, 2]]
    rows = rows[np.concatenate([[True], np.diff(rows[:, 1]) != 0])]
    decoded = decode(reading.capture_of(["cam1"], rows))
    assert decoded.crank is None
    assert "cam" in decoded.why[0]
    assert "crank" in decoded.why[0]
