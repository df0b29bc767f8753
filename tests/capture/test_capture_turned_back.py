"""A crankshaft that turns back while it is recorded (rocking at a stop, a kick of the compression) is told.

The recordings come from a model of the tests' own that knows the angle at every moment; which way an engine rocks and
by how much: common practice, no source.
"""

from __future__ import annotations

import importlib
import sys
from dataclasses import replace
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))
cranking = importlib.import_module("cranking")
engines = importlib.import_module("engines")
reading = importlib.import_module("reading")
rocking = importlib.import_module("rocking")

from twoturn.capture.decode import Decoded, decode  # noqa: E402
from twoturn.capture.runs import together  # noqa: E402

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
def test_the_runs_before_and_after_a_turning_back_are_read_and_that_is_told(wheel: str, back: float) -> None:
    decoded = read(wheel, [9.0, 12.0], [back])
    if wheel != "12+1" or back > 30.0:  # back by less than a tooth shows nothing
        assert told(decoded)
        assert any("2 runs forwards are read together" in note for note in decoded.notes)
        assert decoded.turns == pytest.approx(21.5, abs=1.5)
        assert min(edge.count for edge in decoded.cams[0].edges) >= 9
    assert len(decoded.cams[0].edges) == len(CAM)
    assert max(map(abs, reading.errors_deg(decoded, CAM, 0.0))) < 0.15


def later(run: Decoded, deg: float) -> Decoded:
    """The same reading with its cam edges later."""
    edges = (
        replace(
            edge, angle_deg=(edge.angle_deg + deg) % 720, cycles_deg=tuple((at + deg) % 720 for at in edge.cycles_deg)
        )
        for edge in run.cams[0].edges
    )
    return replace(run, cams=(replace(run.cams[0], edges=tuple(edges)),))


def test_runs_that_disagree_are_not_mixed() -> None:
    run = read("60-2", [16.0], [])
    same, used, against = together(run, [run])
    assert (used, against) == (1, 0)
    assert same.cams[0].edges[0].count == 2 * run.cams[0].edges[0].count
    assert same.cams[0].edges[0].angle_deg == pytest.approx(run.cams[0].edges[0].angle_deg)
    for late in (1.0, 18.0):  # another cam position: a belt that jumped at the stop
        kept, used, against = together(run, [run, later(run, late)])
        assert (used, against) == (0, 1)
        assert kept is run
    again, used, _ = together(run, [later(run, 360.0)])
    assert used == 1  # the other of the two zeros
    assert again.cams[0].edges[1].angle_deg == pytest.approx(run.cams[0].edges[1].angle_deg)
    assert again.cams[0].edges[1].scatter_deg < 2 * run.cams[0].edges[1].scatter_deg + 0.01


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
