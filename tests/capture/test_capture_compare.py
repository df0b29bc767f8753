"""How late a cam is: whole belt teeth never missed nor invented, the sensor's gap told from timing, honest refusals."""

from __future__ import annotations

import importlib
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parent))
engines = importlib.import_module("engines")

from twoturn.acts.capture import CaptureAnswer, Request, capture_json, maker_edges, read_sensors  # noqa: E402
from twoturn.acts.capture_picture import answer_svg  # noqa: E402
from twoturn.drive.load import load_drive  # noqa: E402
from twoturn.errors import DomainError  # noqa: E402

EDGES = [("rising", 101.3), ("falling", 161.0), ("rising", 300.0), ("falling", 430.0)]
TOOTH = 360 / 20  # 20 teeth on the crankshaft: 18 degrees, three places of a 60-2 wheel (geometry, design section 5)
DRIVE = """
[drive]
name = "invented engine of the tests"
crank_turns = "clockwise"
source = "invented for this test"

[[belt]]
teeth = 120

[[pulley]]
id = "crankshaft"
role = "crankshaft"
teeth = 20

[[pulley]]
id = "camshaft"
role = "camshaft"
teeth = 40

[[pulley]]
id = "tensioner"
role = "tensioner"
belt_side = "back"
diameter_mm = 60.0

[[tensioner]]
pulley = "tensioner"
kind = "double eccentric"
tightens = "clockwise"

[timing]
gap_to_tdc_deg = 84.0
cam_edges = [
  { shaft = "camshaft", edge = "rising", angle_deg = 17.3, tolerance_deg = 2.0 },
  { shaft = "camshaft", edge = "falling", angle_deg = 77.0, tolerance_deg = 2.0 },
  { shaft = "camshaft", edge = "rising", angle_deg = 216.0, tolerance_deg = 2.0 },
  { shaft = "camshaft", edge = "falling", angle_deg = 346.0, tolerance_deg = 2.0 },
]
"""


def write(path: Path, late: float, *, gap: float = 0.0, **more: object) -> Path:
    edges = [(kind, angle + late + (gap if kind == "rising" else -gap)) for kind, angle in EDGES]
    made = engines.Bench(cams={"camshaft": edges}, rate_hz=1e5, turns=12.0, **more)
    path.write_text(engines.as_csv(*engines.change_list(made)), encoding="utf-8")
    return path


@pytest.fixture
def drive(tmp_path: Path) -> Path:
    path = tmp_path / "drive.toml"
    path.write_text(DRIVE, encoding="utf-8")
    return path


@pytest.fixture
def reference(tmp_path: Path) -> Path:
    return write(tmp_path / "reference.csv", 0.0, start_deg=20.0)


def test_a_tooth_out_is_never_missed_and_never_invented(tmp_path: Path, drive: Path, reference: Path) -> None:
    rng = np.random.default_rng(11)
    for number in range(16):
        teeth = int(rng.integers(-3, 4))
        late = teeth * TOOTH + float(rng.normal(0, 1.2))
        path = write(
            tmp_path / f"{number}.csv", late, start_deg=float(rng.uniform(0, 720)), swing=float(rng.uniform(0, 0.25)),
            rpm=float(rng.uniform(190, 240)), tooth_error_deg=0.05, seed=number,
        )  # fmt: skip
        by_reference = read_sensors(path, Request(edge="rising", against=reference, deg_per_tooth=TOOTH)).shifts[0]
        by_maker = read_sensors(path, Request(edge="rising", drive=drive)).shifts[0]
        for shift in (by_reference, by_maker):
            assert shift["teeth"] == teeth
            assert shift["deg"] == pytest.approx(late, abs=0.15)
            assert shift["probability"] > 0.9


def test_the_tolerance_is_no_part_of_the_uncertainty(tmp_path: Path, drive: Path) -> None:
    path, wide = write(tmp_path / "x.csv", 0.4), tmp_path / "wide.toml"
    wide.write_text(drive.read_text(encoding="utf-8").replace("tolerance_deg = 2.0", "tolerance_deg = 6.0"))
    narrow_row, wide_row = (read_sensors(path, Request(edge="rising", drive=one)).shifts[0] for one in (drive, wide))
    assert (narrow_row["tolerance_deg"], wide_row["tolerance_deg"]) == (2.0, 6.0)
    assert narrow_row["u"] == wide_row["u"] < 0.1
    assert narrow_row["deg"] == wide_row["deg"] == pytest.approx(0.4, abs=0.15)
    assert wide_row["probability"] <= narrow_row["probability"]


def test_a_shift_of_whole_places_asks_for_a_second_witness(tmp_path: Path, drive: Path) -> None:
    answer = read_sensors(write(tmp_path / "x.csv", TOOTH), Request(edge="rising", drive=drive))
    assert any("3 whole places of the 60-2 crank wheel" in sentence for sentence in answer.why)
    assert any("crank sensor" in sentence or "sensor wheel" in sentence for sentence in answer.why)


def test_the_sensors_gap_is_told_from_timing(tmp_path: Path, reference: Path) -> None:
    answer = read_sensors(write(tmp_path / "x.csv", 0.0, gap=2.0), Request(edge="rising", against=reference))
    assert answer.shifts[0]["deg"] == pytest.approx(0.0, abs=0.1)
    assert any("sensor's gap" in sentence for sentence in answer.why)


def test_without_teeth_no_teeth_are_told(tmp_path: Path, reference: Path) -> None:
    shift = read_sensors(write(tmp_path / "x.csv", 5.0), Request(edge="rising", against=reference)).shifts[0]
    assert shift["teeth"] is None
    assert shift["probability"] is None


def test_another_speed_is_less_certain(tmp_path: Path, reference: Path) -> None:
    asked = Request(edge="rising", against=reference, temperature_c=20.0, against_temperature_c=25.0)
    same = read_sensors(write(tmp_path / "same.csv", 0.0), asked)
    other = read_sensors(write(tmp_path / "other.csv", 0.0, rpm=800.0), asked)
    assert other.shifts[0]["u"] > 2 * same.shifts[0]["u"]
    assert any("speeds differ" in sentence for sentence in other.why)


def test_unlike_recordings_are_not_compared(tmp_path: Path, reference: Path) -> None:
    places, teeth = engines.WHEELS["36-1"]
    answer = read_sensors(write(tmp_path / "x.csv", 0.0, places=places, teeth=teeth), Request(against=reference))
    assert answer.shifts == ()
    assert any("crank wheels differ" in sentence for sentence in answer.why)
    strange = tmp_path / "y.csv"
    made = engines.Bench(
        cams={"camshaft": [("rising", 10.0), ("falling", 40.0), ("rising", 200.0), ("falling", 215.0)]}
    )
    strange.write_text(engines.as_csv(*engines.change_list(replace(made, rate_hz=1e5))), encoding="utf-8")
    answer = read_sensors(strange, Request(edge="rising", against=reference))
    assert answer.shifts == ()
    assert any("do not show the pattern" in sentence for sentence in answer.why)


FOUR = [("rising", 20.0), ("falling", 60.0), ("rising", 190.0), ("falling", 260.0),
        ("rising", 400.0), ("falling", 470.0), ("rising", 560.0), ("falling", 640.0)]  # fmt: skip
SQUARE = [(kind, 90.0 * number) for number, kind in enumerate(["rising", "falling"] * 4)]


def one_edge(tmp_path: Path, cam: list[tuple[str, float]], angle: float) -> CaptureAnswer:
    """A cam wheel with four rising edges against a maker who states one of them, at an angle after the zero."""
    made = engines.Bench(cams={"camshaft": [(kind, (deg + 3.0) % 720) for kind, deg in cam]}, rate_hz=1e5, turns=12.0)
    path, drive = tmp_path / "x.csv", tmp_path / "one.toml"
    path.write_text(engines.as_csv(*engines.change_list(made)), encoding="utf-8")
    edge = f'{{ shaft = "camshaft", edge = "rising", angle_deg = {(angle - 84.0) % 720}, tolerance_deg = 2.0 }}'
    drive.write_text(DRIVE.split("cam_edges", maxsplit=1)[0] + f"cam_edges = [{edge}]\n", encoding="utf-8")
    return read_sensors(path, Request(edge="rising", drive=drive))


def test_more_edges_than_the_maker_states(tmp_path: Path) -> None:
    near = one_edge(tmp_path, SQUARE, 180.0)  # every other edge is 180° away: the nearest is sure
    assert near.shifts[0]["deg"] == pytest.approx(3.0, abs=0.2)
    assert any("4 rising edges in two turns where the maker states 1: the nearest" in one for one in near.why)
    either = one_edge(tmp_path, FOUR, 20.0)  # in the other turn the edge at 400 is 20° later
    between = one_edge(tmp_path, SQUARE, 110.0)  # 73° late or 107° early
    for answer in (either, between):
        assert answer.shifts == ()
        assert capture_json(answer)["shift"] is None
        assert any("cannot tell which, so no shift is told" in one for one in answer.why)


def test_without_an_authority_the_reason_is_given(tmp_path: Path) -> None:
    answer = read_sensors(write(tmp_path / "x.csv", 0.0), Request(edge="rising"))
    assert answer.shifts == ()
    assert any("nothing to compare with" in sentence for sentence in answer.why)


def test_the_zero_agrees_with_the_makers(tmp_path: Path, drive: Path) -> None:
    kept = []
    for start in (10.0, 370.0):
        answer = read_sensors(
            write(tmp_path / f"{start}.csv", 0.0, start_deg=start), Request(edge="rising", drive=drive)
        )
        assert answer.tdc_deg is not None
        assert answer.comparison is not None
        zero = answer.comparison.offset_deg
        kept.append([round(edge.angle_deg - zero) % 720 for edge in answer.decoded.cams[0].edges])
    assert sorted(kept[0]) == sorted(kept[1]) == [101, 161, 300, 430]
    assert all(word in answer_svg(answer) for word in ("power", "exhaust", "inlet", "compression"))
    assert len(maker_edges(load_drive(drive))) == 1


def test_json_is_plain(tmp_path: Path, drive: Path) -> None:
    answer = capture_json(read_sensors(write(tmp_path / "x.csv", -TOOTH), Request(edge="rising", drive=drive)))
    assert {"crank", "turns", "rpm", "cams", "shift", "why"} <= set(answer)
    assert set(answer["crank"]) >= {"channel", "wheel", "edge", "anchor"}
    assert answer["shift"]["teeth"] == -1


def test_meaningless_wishes_are_refused(tmp_path: Path) -> None:
    path = write(tmp_path / "x.csv", 0.0)
    for request in (Request(edge="up"), Request(deg_per_tooth=0.0)):
        with pytest.raises(DomainError):
            read_sensors(path, request)
