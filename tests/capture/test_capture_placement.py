"""Teeth off their places and the swing of speed, told apart; hidden teeth; the stated interval on engines drawn.

The truth is the tests' own generator (``engines.py``, ``cranking.py``).
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

from twoturn.capture.angle.curve import angle_track  # noqa: E402
from twoturn.capture.angle.placement import fitted  # noqa: E402
from twoturn.capture.decode import decode  # noqa: E402
from twoturn.capture.wheel.shape import Wheel  # noqa: E402

STEPS = {"60-2": (*([1] * 57), 3), "36-1": (*([1] * 34), 2)}


def made(wheel: str, size: float, runout: float = 0.0, cylinders: int = 4) -> tuple[object, object, np.ndarray]:
    """A turning engine's track of teeth that stand off their places, its motion, and by how much."""
    shape = Wheel(STEPS[wheel])
    bench = engines.Bench(turns=24.0, start_deg=0.0)
    motion = cranking.Turned(bench, cranking.Engine(cylinders=cylinders, swing=0.2, uneven=0.0, jolts=0.0))
    rng = np.random.default_rng(4)
    turn = np.deg2rad(np.asarray(shape.angle_deg(np.arange(shape.teeth))))
    true = size * rng.standard_normal(shape.teeth) + runout * np.cos(turn + 1.0)
    nominal = shape.angle_deg(np.arange(23 * shape.teeth))
    times = motion.when(nominal + np.tile(true - true.mean(), 23) + 0.5)
    return angle_track(times, nominal, shape.pitch_deg, shape.widest_deg), motion, true - true.mean()


@pytest.mark.parametrize("wheel", ["60-2", "36-1"])
@pytest.mark.parametrize("size", [0.0, 0.2])
def test_misplaced_teeth_are_learned_and_an_exact_wheel_stays_exact(wheel: str, size: float) -> None:
    track, motion, true = made(wheel, size)
    learned = fitted(track, Wheel(STEPS[wheel]))
    assert learned.ripple is not None
    moments = np.linspace(track.times_s[200], track.times_s[-200], 5000)
    plain, ours = (float(np.std(one.at(moments)[0] - motion.where(moments))) for one in (track, learned.track))
    if size:
        assert ours < 0.65 * plain
        assert float(np.corrcoef(learned.ripple.placement_deg, true)[0, 1]) > 0.85
        assert learned.ripple.tooth_u_deg == pytest.approx(size, rel=0.35)
    else:
        assert ours < plain + 0.01


def test_a_wheel_out_of_centre_is_told_from_an_even_engine() -> None:
    """Order 1 is no multiple of the firing order of four cylinders, and no half orders say that they differ."""
    track, _motion, true = made("60-2", 0.02, runout=0.2)
    learned = fitted(track, Wheel(STEPS["60-2"]))
    assert learned.ripple is not None
    assert learned.ripple.firing_order == 2
    assert float(np.std(learned.ripple.placement_deg - true)) < 0.6 * float(np.std(true))


def test_hidden_teeth_tell_how_well_angles_between_teeth_are_known() -> None:
    found = {}
    for size in (0.0, 0.2):
        bench = engines.Bench(rate_hz=1e6, tooth_error_deg=size)
        decoded = decode(reading.capture_of(["crank", "cam"], engines.change_list(bench)[1]))
        assert decoded.crank is not None
        found[size] = (decoded.crank.hidden_deg, decoded.crank.hidden_gap_deg)
    assert found[0.0][0] < 0.01
    # a tooth that was never seen is off by what its neighbours cannot tell: its own error at least
    assert 0.15 < found[0.2][0] < 0.35
    assert found[0.2][1] > 0.15


def zero_of(one: object, edge: str) -> float:
    """Where the zero lies after the first rising edge behind the gap [crank degrees]."""
    bench = one.bench
    if one.inductive or edge == "rising":
        return 0.0
    smallest = np.min(np.diff(np.append(np.sort(bench.teeth), bench.places + min(bench.teeth))))
    return float(bench.width * smallest * 360 / bench.places)


def test_the_stated_interval_holds_on_engines_drawn_at_random() -> None:
    """Kinds and seeds fixed beforehand; bench/parts/capture_cover.py has the same by kind on many more."""
    inside = []
    for kind in ("plain", "strong", "rest", "fires", "wheel", "runout", "hall"):
        for seed in range(100, 103):
            one = cranking.drawn(kind, seed)
            decoded = decode(reading.capture_of(one.names, one.rows, one.bench.rate_hz if one.sampled else None))
            if not decoded.cams:
                continue
            edges = decoded.cams[0].edges
            off = reading.errors_deg(decoded, one.bench.cams["cam"], zero_of(one, decoded.crank.edge))
            for kind_of, error in zip([k for k, _ in one.bench.cams["cam"]], off, strict=True):
                inside.append(abs(error) <= 1.96 * max(edge.u for edge in edges if edge.edge == kind_of))
    assert len(inside) >= 60
    assert np.mean(inside) >= 0.9
