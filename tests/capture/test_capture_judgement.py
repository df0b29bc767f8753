"""What else explains a shift: unlike regimes, a phaser, a moved crank wheel, another wheel; said before teeth."""

from __future__ import annotations

import importlib
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parent))
engines = importlib.import_module("engines")

from twoturn.acts.capture import CaptureAnswer, Request, capture_json, read_sensors  # noqa: E402
from twoturn.capture.shift.match import both_flanks  # noqa: E402
from twoturn.capture.shift.named import Phaser, Seen, rivals_of, whole_places  # noqa: E402
from twoturn.capture.turning.regime import Regime, unlike  # noqa: E402
from twoturn.capture.wheel.written import same_wheel  # noqa: E402
from twoturn.errors import DomainError, FileFaults  # noqa: E402

EDGES = [("rising", 101.3), ("falling", 161.0), ("rising", 300.0), ("falling", 430.0)]
TOOTH = 18.0
DRIVE = """
[drive]
name = "invented engine of the tests"
crank_turns = "clockwise"
source = "invented for this test"
[[belt]]
teeth = 120
[[shaft]]
id = "camshaft"
role = "camshaft"
phaser = { range_deg = 40, locked_at = "late" }
[[pulley]]
id = "crankshaft"
role = "crankshaft"
teeth = 20
[[pulley]]
id = "cam sprocket"
shaft = "camshaft"
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
crank_wheel = "60-2"
"""


def recorded(path: Path, late: float = 0.0, turned_places: int = 0, **more: object) -> Path:
    """A recording; the crank wheel turned on the crankshaft by whole places, so that everything else stays."""
    made = engines.Bench(
        cams={"camshaft": [(kind, angle + late) for kind, angle in EDGES]}, rate_hz=1e5, turns=12.0, start_deg=20.0
    )
    made = replace(made, **more)
    made = replace(made, teeth=tuple((tooth + turned_places) % made.places for tooth in made.teeth))
    path.write_text(engines.as_csv(*engines.change_list(made)), encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def reference(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return recorded(tmp_path_factory.mktemp("reference") / "reference.csv")


@pytest.fixture(scope="module")
def drive(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("drive") / "drive.toml"
    path.write_text(DRIVE, encoding="utf-8")
    return path


def said(answer: CaptureAnswer, words: str) -> bool:
    return any(words in sentence for sentence in answer.why)


def test_like_regimes_add_little_and_unlike_ones_are_told() -> None:
    cold = Regime(220.0, 20.0)
    alike = unlike(cold, Regime(240.0, 30.0))
    assert alike.alike
    assert alike.why == ()
    assert alike.u == pytest.approx(0.17)  # 0.017° a kelvin (design of the comparison), 10 K
    hot = unlike(cold, Regime(220.0, 90.0))
    assert not hot.alike
    assert hot.u > 0.017 * 70
    assert "70 K apart" in " ".join(hot.why)
    fast = unlike(cold, Regime(900.0, 20.0))
    assert fast.u == pytest.approx(np.hypot(0.5, 30e-6 * 680 * 6))
    assert "one while cranking and one with the engine running" in " ".join(fast.why)
    assert "not given" in " ".join(unlike(cold, Regime(220.0)).why)


def test_temperatures_that_differ_widen_the_shift(tmp_path: Path, reference: Path) -> None:
    now = recorded(tmp_path / "now.csv", 1.0)
    like, other = (
        read_sensors(now, Request(against=reference, temperature_c=20.0, against_temperature_c=then)).shifts[0]
        for then in (22.0, 85.0)
    )
    assert like["deg"] == pytest.approx(other["deg"])
    assert like["u"] < 0.1
    assert other["u"] > 1.0
    with pytest.raises(DomainError, match="temperature of an engine"):
        read_sensors(now, Request(against=reference, temperature_c=900.0))


def test_a_running_engine_with_a_phaser_gives_no_teeth(tmp_path: Path, drive: Path) -> None:
    idle = {"rpm": 850.0, "swing": 0.02}
    then, now = recorded(tmp_path / "then.csv", **idle), recorded(tmp_path / "now.csv", -TOOTH, **idle)
    open_answer = read_sensors(now, Request(against=then, drive=drive))
    assert open_answer.shifts[0]["teeth"] is None
    assert said(open_answer, "anywhere in its range of 40°")
    locked = read_sensors(now, Request(against=then, drive=drive, phaser_locked=True)).shifts[0]
    assert locked["teeth"] == -1
    assert "phaser" not in {rival["kind"] for rival in locked["rivals"]}


def test_a_cranked_engine_names_the_phaser_that_may_stand_early(tmp_path: Path, drive: Path, reference: Path) -> None:
    early, late = (
        read_sensors(
            recorded(tmp_path / f"{teeth}.csv", teeth * TOOTH), Request(against=reference, drive=drive)
        ).shifts[0]
        for teeth in (-1, 1)
    )
    assert (early["teeth"], late["teeth"]) == (-1, 1)
    assert "phaser" in {rival["kind"] for rival in early["rivals"]}
    assert early["second_witness"] == "needed"
    assert "phaser" not in {rival["kind"] for rival in late["rivals"]}  # locked at late, it cannot be later


def test_the_compression_wave_tells_a_moved_wheel_from_a_tooth(tmp_path: Path, reference: Path) -> None:
    asked = Request(against=reference, deg_per_tooth=TOOTH, temperature_c=20.0, against_temperature_c=20.0)
    tooth = read_sensors(recorded(tmp_path / "tooth.csv", TOOTH), asked)
    assert (tooth.shifts[0]["teeth"], tooth.shifts[0]["second_witness"]) == (1, "compression wave")
    assert said(tooth, "has not moved on the crank wheel")
    wheel = read_sensors(recorded(tmp_path / "wheel.csv", turned_places=-3), asked)
    assert wheel.shifts[0]["deg"] == pytest.approx(TOOTH, abs=0.2)
    assert wheel.shifts[0]["teeth"] is None
    assert said(wheel, "the crank sensor or its wheel has moved rather than the belt")
    assert capture_json(wheel)["wave"]["says"] == "moved alike"


def test_a_wheel_that_repeats_too_soon_tells_no_teeth(tmp_path: Path) -> None:
    even = {"places": 36, "teeth": tuple(range(36)), "turns": 24.0}
    then, now = recorded(tmp_path / "then.csv", **even), recorded(tmp_path / "now.csv", 20.0, **even)
    answer = read_sensors(now, Request(against=then, deg_per_tooth=20.0))
    assert all(shift["teeth"] is None for shift in answer.shifts)
    assert said(answer, "look at marks or pins")
    # stated, the number of teeth is sure, but 10° are less than a belt tooth of 20°
    stated = tmp_path / "stated.toml"
    stated.write_text(DRIVE.replace('"60-2"', '"36"'), encoding="utf-8")
    answer = read_sensors(now, Request(against=then, drive=stated))
    assert all(shift["teeth"] is None for shift in answer.shifts)
    assert said(answer, "could look like none")


def test_another_crank_wheel_than_the_drives_is_told(tmp_path: Path, drive: Path, reference: Path) -> None:
    places, teeth = engines.WHEELS["36-1"]
    answer = read_sensors(
        recorded(tmp_path / "x.csv", places=places, teeth=teeth), Request(against=reference, drive=drive)
    )
    assert answer.shifts == ()
    assert said(answer, "states a 60-2 crank wheel, crank shows 36-1")
    wrong = tmp_path / "wrong.toml"
    wrong.write_text(DRIVE.replace('"60-2"', '"sixty less two"'), encoding="utf-8")
    with pytest.raises(FileFaults, match="sensor wheel such as"):
        read_sensors(tmp_path / "x.csv", Request(drive=wrong))


def test_the_makers_angles_are_counted_from_a_crank_edge(tmp_path: Path) -> None:
    """The tooth is half of 6° wide, so that falling edges stand 3° behind rising ones (360/60/2)."""
    path = recorded(tmp_path / "x.csv")
    edges = ",".join(
        f'{{ shaft = "camshaft", edge = "{kind}", angle_deg = {angle - 84:.1f}, tolerance_deg = 2.0 }}'
        for kind, angle in EDGES
    )
    told = {}
    for edge in ("rising", "falling", ""):
        drive = tmp_path / f"{edge or 'none'}.toml"
        stated = f'crank_edge = "{edge}"' if edge else ""
        drive.write_text(f"{DRIVE}gap_to_tdc_deg = 84.0\n{stated}\ncam_edges = [{edges}]\n", encoding="utf-8")
        told[edge] = read_sensors(path, Request(drive=drive)).shifts[0]["deg"]
    assert told["rising"] == pytest.approx(0.0, abs=0.1)
    assert told["falling"] == told[""] == pytest.approx(-3.0, abs=0.1)


def test_an_edge_elsewhere_is_another_wheel(tmp_path: Path, reference: Path) -> None:
    edges = [(kind, angle + (9.0 if angle == 300.0 else 0.0)) for kind, angle in EDGES]
    answer = read_sensors(recorded(tmp_path / "x.csv", cams={"camshaft": edges}), Request(against=reference))
    assert answer.shifts == ()
    assert said(answer, "do not show the pattern")


def test_a_recording_upside_down_is_turned_and_said(tmp_path: Path, reference: Path) -> None:
    path = recorded(tmp_path / "now.csv", TOOTH)
    head, *rows = path.read_text(encoding="utf-8").splitlines()
    turned = [",".join([row.split(",")[0], *(f"{1 - float(cell):g}" for cell in row.split(",")[1:])]) for row in rows]
    path.write_text("\n".join([head, *turned]) + "\n", encoding="utf-8")
    answer = read_sensors(path, Request(against=reference, deg_per_tooth=TOOTH))
    assert answer.shifts[0]["teeth"] == 1
    assert answer.shifts[0]["deg"] == pytest.approx(TOOTH, abs=0.2)
    assert said(answer, "upside down")


@pytest.mark.parametrize(
    ("stated", "seen", "same"),
    [
        ("60-2", "60-2", True),
        ("36-1-2", "36-2-1", True),
        ("60-2", "36-1", False),
        ("58", "58 places, no gap", True),
        ("12+1", "12+1", True),
        ("60-2", "60 places, 40 teeth at uneven steps", False),
        ("58", "even teeth, no gap, number unknown", None),
    ],
)
def test_wheels_in_words(stated: str, seen: str, same: bool | None) -> None:
    assert same_wheel(stated, seen) is same


def test_rivals_by_what_can_be_seen() -> None:
    seen = Seen(18.2, 0.1, [18.2, 18.0], one_polarity=False, wheel="60-2", place_deg=6.0)
    assert [rival.kind for rival in rivals_of(seen)] == ["crank wheel", "cam sensor"]
    assert "3 whole places of the 60-2" in rivals_of(seen)[0].words
    assert [rival.kind for rival in rivals_of(replace(seen, all_deg=[18.2, 0.3]))] == ["cam sensor"]
    assert [rival.kind for rival in rivals_of(replace(seen, witness="stayed"))] == ["cam sensor"]
    assert rivals_of(replace(seen, deg=0.5, all_deg=[0.5])) == ()
    assert "sensor gap" in {rival.kind for rival in rivals_of(replace(seen, deg=2.0, all_deg=[2.0], one_polarity=True))}
    assert whole_places(18.2, 0.1, 6.0) == 3
    assert whole_places(16.0, 0.1, 6.0) == 0
    assert Phaser(40, "late").explains(-18, 0.1)
    assert not Phaser(10, "late").explains(-18, 0.1)


def test_the_sharper_flank_counts_more_and_a_changed_gap_cancels() -> None:
    sharp, u = both_flanks((1.0, 0.02), (1.4, 1.0))
    assert abs(sharp - 1.0) < 0.1
    assert u < 0.35
    assert both_flanks((1.0, 0.02), (-1.0, 0.02))[0] == pytest.approx(0.0)  # moved oppositely: the gap
    assert both_flanks((1.0, 0.02), (1.2, 0.02))[0] == pytest.approx(1.1)
