"""Cranking evenness by cylinder and flutter of the cams, against recordings with known truth."""

from __future__ import annotations

import importlib
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parent))
engines = importlib.import_module("engines")

from twoturn.acts.capture import Request, capture_json, read_sensors  # noqa: E402
from twoturn.acts.capture_turning import cylinder_words  # noqa: E402
from twoturn.capture.angle.curve import angle_track  # noqa: E402
from twoturn.capture.turning.evenness import compressions, firing_tdcs  # noqa: E402
from twoturn.capture.turning.wave import Wave, compression_wave, wave_shift, witness  # noqa: E402
from twoturn.cli.capture_text import capture_lines  # noqa: E402

TDC = 84.0
ORDER = (1, 3, 4, 2)


def turned(depths: dict[int, float], cycles: int = 8, seed: int = 1):  # type: ignore[no-untyped-def]
    """Teeth of a 60-2 wheel on a crankshaft that each cylinder slows by its own depth (share of the speed)."""
    rng = np.random.default_rng(seed)
    angle = np.arange(0, 720.0 * cycles, 0.1)
    speed = np.full(angle.size, 1320.0)
    for number, cylinder in enumerate(ORDER):
        off = (angle - TDC - 180 * number + 360) % 720 - 360
        speed -= 1320 * depths[cylinder] * np.exp(-0.5 * (off / 35) ** 2)
    time = np.concatenate([[0.0], np.cumsum(0.1 / ((speed[1:] + speed[:-1]) / 2))])
    teeth = np.concatenate([np.arange(58) * 6.0 + 360 * turn for turn in range(2 * cycles)])
    times = np.interp(teeth, angle, time) + 2e-6 * rng.standard_normal(teeth.size)
    return angle_track(times, teeth, 6.0, 18.0)


def test_firing_order_names_the_dead_centres() -> None:
    """Even firing: 720/4 apart, in the firing order from cylinder 1 (common practice, no source)."""
    assert firing_tdcs(TDC, 4, ORDER) == ((1, 84.0), (3, 264.0), (4, 444.0), (2, 624.0))
    assert firing_tdcs(TDC, None, (3, 4, 2, 1)) == ((1, 84.0), (3, 264.0), (4, 444.0), (2, 624.0))
    assert firing_tdcs(None, 4, ORDER) == firing_tdcs(TDC, 4, ()) == firing_tdcs(TDC, 6, ORDER) == ()


def test_a_weak_cylinder_is_named_and_even_ones_are_not() -> None:
    track = turned({1: 0.3, 3: 0.3, 4: 0.12, 2: 0.3})
    wave = compression_wave(track, 4)
    assert wave is not None
    rows = {row.cylinder: row for row in compressions(track, wave, firing_tdcs(TDC, 4, ORDER))}
    assert rows[4].weak
    assert rows[4].share < 0.6
    assert all(rows[one].share == pytest.approx(1.15, abs=0.1) for one in (1, 2, 3))
    assert "cylinder 4" in cylinder_words(tuple(rows.values()))[0]
    even = turned({1: 0.25, 3: 0.25, 4: 0.25, 2: 0.25})
    rows_even = compressions(even, compression_wave(even, 4), firing_tdcs(TDC, 4, ORDER))  # type: ignore[arg-type]
    assert [row.share for row in rows_even] == pytest.approx([1.0] * 4, abs=0.03)
    assert cylinder_words(rows_even) == []


def test_the_wave_stands_where_the_speed_is_least() -> None:
    wave = compression_wave(turned({1: 0.2, 3: 0.2, 4: 0.2, 2: 0.2}))
    assert wave is not None
    assert wave.per_cycle == 4
    assert wave.slowest_deg == pytest.approx(TDC, abs=1.0)
    moved = replace(wave, slowest_deg=wave.slowest_deg + 18)
    off = wave_shift(moved, wave)
    assert off is not None
    assert off[0] == pytest.approx(18.0)
    assert witness(18.0, off, 4) == "moved alike"
    assert witness(18.0, wave_shift(wave, wave), 4) == "stayed"
    assert witness(18.0, (9.0, 5.0), 4) == "silent"
    assert wave_shift(wave, Wave(6, 10.0, 1.0, 0.1)) is None


def test_even_turning_has_no_wave() -> None:
    assert compression_wave(turned({1: 0.0, 3: 0.0, 4: 0.0, 2: 0.0})) is None
    assert compression_wave(turned({1: 0.2, 3: 0.2, 4: 0.2, 2: 0.2}, cycles=2)) is None


def test_cams_that_flutter_are_told_only_while_the_engine_runs(tmp_path: Path) -> None:
    def told(rpm: float, flutter: float) -> dict[str, object]:
        made = engines.Bench(cams={"camshaft": [("rising", 60.0), ("falling", 200.0)]}, rpm=rpm, swing=0.03, turns=40.0)
        changes = engines.level_changes(made, engines.Motion(made))
        times, levels = changes["camshaft"]
        jitter = flutter / (6 * rpm) * np.random.default_rng(5).standard_normal(times.size)
        events = [(t, 1, level) for t, level in zip(times + jitter, levels, strict=True)]
        events += [(t, 0, level) for t, level in zip(*changes["crank"], strict=True)]
        state, rows = [1 - changes["crank"][1][0], 1 - levels[0]], []
        for moment, column, level in sorted(events):
            state[column] = level
            rows.append([moment, *state])
        path = tmp_path / f"{rpm:.0f}-{flutter}.csv"
        path.write_text(engines.as_csv(["crank", "camshaft"], np.array(rows)), encoding="utf-8")
        return capture_json(read_sensors(path, Request()))

    loose, tight, cranked = told(900.0, 1.0), told(900.0, 0.0), told(200.0, 0.0)
    assert loose["cams"][0]["flutter_deg"] == pytest.approx(1.0, rel=0.5)  # type: ignore[index]
    assert any("flutters by" in words for words in loose["why"])  # type: ignore[union-attr]
    assert any("flutters by" in line for line in capture_lines(loose))
    assert not any("flutters by" in words for words in tight["why"])  # type: ignore[union-attr]
    assert cranked["cams"][0]["flutter_deg"] is None  # type: ignore[index]


def test_cam_edges_come_by_cycle_with_their_drift(tmp_path: Path) -> None:
    """A cam that moves a tenth of a degree later each cycle, 350° to 10° of the next turn among its edges."""
    made = engines.Bench(cams={"camshaft": [("rising", 60.0), ("falling", 719.5)]}, turns=24.0, swing=0.1)
    motion = engines.Motion(made)
    changes = engines.level_changes(made, motion)
    times, levels = changes["camshaft"]
    angles = motion.where(times)
    moved = motion.when(angles + 0.1 * np.floor(angles / 720))
    events = [(t, 1, level) for t, level in zip(moved, levels, strict=True)]
    events += [(t, 0, level) for t, level in zip(*changes["crank"], strict=True)]
    state, rows = [1 - changes["crank"][1][0], 1 - levels[0]], []
    for moment, column, level in sorted(events):
        state[column] = level
        rows.append([moment, *state])
    path = tmp_path / "drift.csv"
    path.write_text(engines.as_csv(["crank", "camshaft"], np.array(rows)), encoding="utf-8")
    answer = capture_json(read_sensors(path, Request(edge="rising")))
    assert len(answer["cams"][0]["edges"]) == 2
    for edge in answer["cams"][0]["edges"]:
        assert len(edge["cycles_deg"]) == edge["count"] >= 10
        assert np.diff(edge["cycles_deg"]) == pytest.approx([0.1] * (edge["count"] - 1), abs=0.05)
        assert edge["drift_deg"] == pytest.approx(0.1 * (edge["count"] - 1), abs=0.05)
        assert edge["angle_deg"] == pytest.approx(np.mean(edge["cycles_deg"]) % 720, abs=1e-6)
    assert any("later during the recording" in words for words in answer["why"])
