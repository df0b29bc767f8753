"""Decoding without being told: wheels, sensors, polarity, cam edges, against recordings with known truth."""

from __future__ import annotations

import importlib
import itertools
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parent))
engines = importlib.import_module("engines")
reading = importlib.import_module("reading")

from twoturn.capture.decode import decode  # noqa: E402
from twoturn.errors import RecordingError  # noqa: E402

Bench = engines.Bench
USUAL = ["60-2", "36-1", "36-2", "24-1", "24-2", "12-1", "36-1-2", "36-2-2-2", "60-2-2", "32-2-2", "12+1"]


def bench(wheel: str, **more: object) -> Bench:
    places, teeth = engines.WHEELS[wheel]
    return Bench(places=places, teeth=teeth, **more)


def zero_of(made: Bench, edge: str) -> float:
    """Where the zero of a polarity lies after the first rising edge behind the gap."""
    smallest = np.min(np.diff(np.append(np.sort(made.teeth), made.places + min(made.teeth))))
    return 0.0 if edge == "rising" else float(made.width * smallest * 360 / made.places)


@pytest.mark.parametrize("wheel", USUAL)
def test_levels_at_changes(wheel: str) -> None:
    made = bench(wheel, rate_hz=1e6)
    _names, rows = engines.change_list(made)
    decoded = decode(reading.capture_of(["A", "B"], rows))
    assert decoded.crank is not None
    assert (decoded.crank.wheel.text, decoded.crank.channel) == (wheel, "A")
    assert decoded.turns == pytest.approx(24, abs=0.2)
    limit = 0.02 if made.places >= 24 else 0.15
    assert max(map(abs, reading.errors_deg(decoded, made.cams["cam"], zero_of(made, decoded.crank.edge)))) < limit


@pytest.mark.parametrize("wheel", ["60-2", "36-1", "36-2-2-2", "12+1"])
@pytest.mark.parametrize("rate_hz", [10_000.0, 100_000.0])
def test_hall_sensors_sampled_in_volts(wheel: str, rate_hz: float) -> None:
    made = bench(wheel, rate_hz=rate_hz, noise=0.1, swing=0.25)
    _names, rows = engines.sampled_levels(made)
    decoded = decode(reading.capture_of(["A", "B"], rows, rate_hz))
    assert decoded.crank is not None
    assert (decoded.crank.wheel.text, decoded.crank.sensor) == (wheel, "two-level")
    limit = 0.15 if rate_hz == 10_000 else 0.05
    assert max(map(abs, reading.errors_deg(decoded, made.cams["cam"], zero_of(made, decoded.crank.edge)))) < limit


@pytest.mark.parametrize("wheel", ["60-2", "36-1", "36-2", "36-1-2", "36-2-2-2", "24-1"])
@pytest.mark.parametrize("swapped", [False, True])
def test_inductive_sensors_either_way_round(wheel: str, *, swapped: bool) -> None:
    made = bench(wheel, rate_hz=20_000.0, noise=0.01, run_up=1.0)
    _names, rows = engines.inductive(made, swapped=swapped, drift=0.3)
    decoded = decode(reading.capture_of(["A", "B"], rows, made.rate_hz))
    assert decoded.crank is not None
    assert (decoded.crank.wheel.text, decoded.crank.sensor) == (wheel, "inductive")
    assert decoded.crank.edge == ("rising" if swapped else "falling")
    assert max(map(abs, reading.errors_deg(decoded, made.cams["cam"], 0.0))) < 0.15


def test_an_even_wheel_is_counted_by_the_cam() -> None:
    for teeth in (2, 4, 60):
        made = Bench(places=teeth, teeth=engines.even(teeth), swing=0.05, rate_hz=1e6)
        _names, rows = engines.change_list(made)
        decoded = decode(reading.capture_of(["crank", "cam"], rows))
        assert decoded.crank is not None
        assert decoded.crank.wheel.text == f"{teeth} places, no gap"
        assert decoded.crank.zeros == 2 * teeth
        assert "possible" in decoded.crank.anchor or "come in two turns" in decoded.crank.anchor


def test_an_even_wheel_alone_is_described_and_not_guessed() -> None:
    made = Bench(places=60, teeth=engines.even(60), rate_hz=1e6)
    _names, rows = engines.change_list(made)
    decoded = decode(reading.capture_of(["crank"], rows[:, :2]))
    assert decoded.crank is not None
    assert decoded.cams == ()
    assert any("cannot be told" in sentence for sentence in decoded.why)


def test_the_turn_in_which_the_recording_begins_is_the_first() -> None:
    angles = []
    for start in (0.0, 133.0, 300.0, 420.0, 700.0):
        made = bench("36-1", start_deg=start, rate_hz=1e6)
        decoded = decode(reading.capture_of(["crank", "cam"], engines.change_list(made)[1]))
        rising = next(edge for edge in decoded.cams[0].edges if edge.edge == "rising")
        angles.append((rising.angle_deg - 101.3 + zero_of(made, decoded.crank.edge) + 1) % 720)
    # 0 = first edge after the gap, the last one at or before the first crank edge: half the starts lie one turn on
    assert [round(angle / 360) for angle in angles] == [0, 0, 0, 1, 1]
    assert all(abs(angle % 360 - 1) < 0.05 for angle in angles)


def test_a_named_edge_and_named_channels_are_kept_to() -> None:
    made = bench("60-2", rate_hz=1e6)
    capture = reading.capture_of(["A", "B"], engines.change_list(made)[1])
    for edge in ("rising", "falling"):
        decoded = decode(capture, crank="A", cams=("2",), edge=edge)
        assert decoded.crank is not None
        assert decoded.crank.edge == edge
        assert max(map(abs, reading.errors_deg(decoded, made.cams["cam"], zero_of(made, edge)))) < 0.02
    with pytest.raises(RecordingError, match="no channel is called"):
        decode(capture, crank="Z")


def test_speed_and_turns() -> None:
    made = bench("60-2", rate_hz=1e6, rpm=220, swing=0.25)
    decoded = decode(reading.capture_of(["A", "B"], engines.change_list(made)[1]))
    assert decoded.rpm is not None
    low, mean, high = decoded.rpm
    assert low == pytest.approx(220 * 0.75, rel=0.02)
    assert high == pytest.approx(220 * 1.25, rel=0.02)
    assert low < mean < high


def spoilt(rows: np.ndarray, rng: np.random.Generator, lost: int, false: int) -> np.ndarray:
    """Crank pulses lost and false pulses put in, at random."""
    rows = rows.copy()
    change = np.flatnonzero(np.diff(rows[:, 1])) + 1
    pulses = [(a, b) for a, b in itertools.pairwise(change) if rows[a, 1] == 1]
    for start, end in (pulses[i] for i in rng.choice(len(pulses) - 20, lost, replace=False) + 10):
        rows[start:end, 1] = 0
    extra = []
    for start, end in (pulses[i] for i in rng.choice(len(pulses) - 20, false, replace=False) + 10):
        middle = rows[end, 0] + 0.4 * (rows[end + 1, 0] - rows[end, 0])
        for shift, level in ((0.0, 1.0), (0.12 * (rows[end, 0] - rows[start, 0]), 0.0)):
            extra.append([middle + shift, level, *rows[end, 2:]])
    rows = np.vstack([rows, np.array(extra).reshape(-1, rows.shape[1])])
    return rows[np.argsort(rows[:, 0], kind="stable")]


@pytest.mark.parametrize("wheel", ["60-2", "36-1", "36-2-2-2"])
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_lost_teeth_and_false_edges_do_not_lose_the_place(wheel: str, seed: int) -> None:
    made = bench(wheel, rate_hz=1e6, swing=0.15)
    rows = spoilt(engines.change_list(made)[1], np.random.default_rng(seed), lost=6, false=6)
    decoded = decode(reading.capture_of(["crank", "cam"], rows))
    assert decoded.crank is not None
    assert decoded.crank.wheel.text == wheel
    assert decoded.turns == pytest.approx(24, abs=0.2)
    assert max(map(abs, reading.errors_deg(decoded, made.cams["cam"], zero_of(made, decoded.crank.edge)))) < 0.1


def test_the_stated_uncertainty_holds() -> None:
    """Standardised errors of seeded series: neither far too small nor far too large a u (JCGM 100:2008, 6.2)."""
    scaled = []
    for seed in range(12):
        made = bench("60-2", rate_hz=20_000, swing=0.2, tooth_error_deg=0.1, seed=seed, rpm=180 + 7 * seed)
        decoded = decode(
            reading.capture_of(["crank", "cam"], engines.sampled_levels(made)[1], made.rate_hz), edge="rising"
        )
        off = reading.errors_deg(decoded, made.cams["cam"], 0.0)
        scaled += [
            error / edge.u
            for error, edge in zip(off, sorted(decoded.cams[0].edges, key=lambda e: e.edge != "rising"), strict=True)
        ]
    assert 0.2 < float(np.sqrt(np.mean(np.square(scaled)))) < 2.2


def test_nothing_but_noise_is_not_a_wheel() -> None:
    rng = np.random.default_rng(5)
    times = np.cumsum(rng.exponential(0.01, 800))
    rows = np.column_stack([times, np.arange(800) % 2, rng.integers(0, 2, 800)])
    decoded = decode(reading.capture_of(["A", "B"], rows))
    assert decoded.cams == ()
    assert decoded.why


def test_raw_data_are_not_altered() -> None:
    made = bench("36-1", rate_hz=20_000.0, noise=0.01)
    _names, rows = engines.inductive(made)
    capture = reading.capture_of(["A", "B"], rows, made.rate_hz)
    before = [channel.values.copy() for channel in capture.channels]
    decode(capture)
    assert all((channel.values == old).all() for channel, old in zip(capture.channels, before, strict=True))


def test_changed_speeds_from_standstill() -> None:
    made = replace(bench("36-2", rate_hz=1e6), run_up=3.0, swing=0.25)
    decoded = decode(reading.capture_of(["A", "B"], engines.change_list(made)[1]))
    assert decoded.crank is not None
    assert decoded.crank.wheel.text == "36-2"
    assert max(map(abs, reading.errors_deg(decoded, made.cams["cam"], zero_of(made, decoded.crank.edge)))) < 0.05


@pytest.mark.parametrize("wheel", ["60-2", "36-2-2-2", "58 even"])
@pytest.mark.parametrize("turns", [0.3, 1.4, 3.1])
def test_the_place_is_kept_over_a_silence_of_the_crank_sensor(wheel: str, turns: float) -> None:
    made = bench(wheel, rate_hz=1e6)
    rows = engines.change_list(made)[1].copy()
    turn_s = 60 / made.rpm
    silent = (rows[:, 0] > 10 * turn_s) & (rows[:, 0] < (10 + turns) * turn_s)
    rows[silent, 1] = rows[np.argmax(silent) - 1, 1]
    decoded = decode(reading.capture_of(["crank", "cam"], rows))
    assert decoded.turns == pytest.approx(24, abs=0.2)
    assert min(edge.count for edge in decoded.cams[0].edges) >= 12 - turns / 2 - 2
    assert max(map(abs, reading.errors_deg(decoded, made.cams["cam"], zero_of(made, decoded.crank.edge)))) < 0.05


def test_the_engine_stops_and_is_cranked_again() -> None:
    for turned in (0.0, 200.0, 370.0):
        made = bench("60-2", rate_hz=1e6, turns=10.0, run_up=1.0)
        first = engines.change_list(made)[1]
        again = engines.change_list(replace(made, start_deg=made.start_deg + 3600 + turned))[1]
        again[:, 0] += first[-1, 0] + 2.0
        decoded = decode(reading.capture_of(["crank", "cam"], np.vstack([first, again])))
        assert min(edge.count for edge in decoded.cams[0].edges) >= 8
        assert max(map(abs, reading.errors_deg(decoded, made.cams["cam"], zero_of(made, decoded.crank.edge)))) < 0.05
