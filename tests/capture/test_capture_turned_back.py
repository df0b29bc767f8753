"""A crankshaft that turns back while it is recorded (rocking at a stop, a kick of the compression) is told.

The recordings come from a model of the tests' own that knows the angle at every moment; which way an engine rocks and
by how much: common practice, no source.
"""

from __future__ import annotations

import importlib
import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))
cranking = importlib.import_module("cranking")
engines = importlib.import_module("engines")
reading = importlib.import_module("reading")
rocking = importlib.import_module("rocking")

from twoturn.capture.decode import Decoded, decode  # noqa: E402

CAM = [("rising", 101.3), ("falling", 181.7), ("rising", 301.3), ("falling", 401.7)]


def read(wheel: str, turns: list[float], backs: list[float], rest_s: float = 0.0) -> Decoded:
    places, teeth = engines.WHEELS[wheel]
    bench = engines.Bench(places=places, teeth=teeth, cams={"cam": CAM}, swing=0.1, rpm=190.0)
    rows = rocking.recorded(bench, *rocking.path(bench, turns, backs, 130.0, rest_s))
    return decode(reading.capture_of(*rows), edge="rising")


def told(decoded: Decoded) -> bool:
    return any("turned back" in note for note in decoded.notes)


@pytest.mark.parametrize("wheel", ["60-2", "36-1", "36-2-2-2", "60-2-2", "24-1", "12+1", "58 even"])
@pytest.mark.parametrize("back", [20.0, 90.0, 400.0])
def test_the_run_before_or_after_a_turning_back_is_read_and_that_is_told(wheel: str, back: float) -> None:
    decoded = read(wheel, [9.0, 12.0], [back])
    if wheel != "12+1" or back > 30.0:  # back by less than a tooth shows nothing
        assert told(decoded)
        assert decoded.turns == pytest.approx(12.5, abs=1.0)
    assert len(decoded.cams[0].edges) == len(CAM)
    assert max(map(abs, reading.errors_deg(decoded, CAM, 0.0))) < 0.15


@pytest.mark.parametrize("wheel", ["60-2", "36-1", "24-2"])
def test_rocking_at_a_stop_before_the_engine_goes_on(wheel: str) -> None:
    decoded = read(wheel, [9.0, 0.3, 0.1, 12.0], [80.0, 40.0, 20.0], rest_s=0.8)
    assert told(decoded)
    assert max(map(abs, reading.errors_deg(decoded, CAM, 0.0))) < 0.15


@pytest.mark.parametrize("seed", range(3))
@pytest.mark.parametrize("kind", ["plain", "strong", "fires", "faults"])
def test_an_engine_that_only_slows_at_its_compressions_turned_back_nowhere(kind: str, seed: int) -> None:
    made = cranking.drawn(kind, 900 + seed)
    assert not told(decode(reading.capture_of(made.names, made.rows)))
