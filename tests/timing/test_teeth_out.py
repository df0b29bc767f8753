"""Teeth out: against the sum written out plainly over every slip, simulated series, mirror images, and by hand."""

from __future__ import annotations

import itertools
import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.drive.turning_drives import HEAD, drive_of, mirrored
from tests.timing.many_teeth import explain_many

import twoturn.demo
from twoturn.drive.load import load_drive
from twoturn.drive.parts import Drive
from twoturn.drive.turning import shaft_deg_per_tooth
from twoturn.errors import DomainError
from twoturn.timing.evidence import Evidence, mark_evidence, pin_evidence
from twoturn.timing.priors import LOOKS_ALIKE, OTHER_CAUSE, OVERLAP_TAKEN, SPROCKET_OUT
from twoturn.timing.teeth_out import explain

DRIVES = Path(twoturn.demo.__path__[0]) / "drives"

SMALL = (
    HEAD.format(turns="clockwise")
    + """
[[belt]]
id = "b"
teeth = 60
[[shaft]]
id = "crank"
role = "crankshaft"
hub = "{crank_hub}"
[[shaft]]
id = "left"
role = "camshaft"
hub = "keyed"
[[shaft]]
id = "right"
role = "camshaft"
hub = "slotted"
[[pulley]]
id = "crank"
role = "crankshaft"
teeth = 9
[[pulley]]
id = "left"
role = "camshaft"
teeth = 18
[[pulley]]
id = "right"
role = "camshaft"
teeth = 18
"""
)


def line_evidence(drive: Drive, shaft: str, teeth: float) -> Evidence:
    """A painted line against its sprocket's mark, before the turns: so many belt teeth the sprocket lags it [-]."""
    moves = float(shaft_deg_per_tooth(drive, drive.shaft(shaft)) or 0)
    return Evidence(shaft, teeth * moves, 0.125 * moves, "line")


def shipped(name: str) -> Drive:
    return load_drive(next(DRIVES.glob(f"{name}*.toml")))


def plain_sum(evidence: list[Evidence], crank_sigma: float) -> tuple[dict[tuple, float], float]:
    """Every slip of crank and two cams, with one of them on its tooth, weighed one by one (no code of the package)."""
    index = {"left": 0, "right": 1}
    sigma = (1.5, 6.0)
    size = len(evidence)
    cov = np.full((size, size), crank_sigma**2)
    for a, b in itertools.product(range(size), repeat=2):
        same = evidence[a].shaft == evidence[b].shaft
        cov[a, b] += sigma[index[evidence[a].shaft]] ** 2 if same else 0
        cov[a, b] += evidence[a].u ** 2 if a == b else 0
    inverse, det = np.linalg.inv(cov), np.linalg.det(cov)

    def density(off: np.ndarray) -> float:
        off = off - 720 * np.round(off / 720)
        return math.exp(-0.5 * off @ inverse @ off) / math.sqrt((2 * math.pi) ** size * det)

    def prior(n: int) -> float:
        n = -((-n + 9) % 18 - 9)
        return 1 - SPROCKET_OUT if n == 0 else SPROCKET_OUT / 2 / (math.pi**2 / 6) / n**2

    seen = np.array([item.deg for item in evidence])
    captured = np.array([item.kind == "capture" for item in evidence])
    weights: dict[tuple, float] = {}
    shafts = {item.shaft for item in evidence}
    each = [range(-8, 10) if name in shafts else (0,) for name in index]
    for overlap, left, right in itertools.product((False, True), *each):
        d = (left, right)
        shown = np.array([40.0 * d[index[item.shaft]] for item in evidence]) + 360 * overlap * captured
        p = density(seen - shown)
        p *= OVERLAP_TAKEN * LOOKS_ALIKE ** np.sum(~captured) if overlap else 1 - OVERLAP_TAKEN
        for crank in {0, *(-d[index[name]] for name in shafts)}:
            slips = (crank, *(d[at] + crank if name in shafts else 0 for name, at in index.items()))
            cams = math.prod(prior(slips[1 + index[name]]) for name in shafts)
            weights[(overlap, *slips)] = p * cams * _crank_prior(crank)
    patterns = {tuple([1.0] * size), tuple(captured.astype(float))} if captured.any() else {tuple([1.0] * size)}
    patterns |= {tuple(float(item.shaft == name) for item in evidence) for name in {item.shaft for item in evidence}}
    other = OTHER_CAUSE * 0.1 / 720**size
    for pattern in patterns:
        grid = np.linspace(-720, 720, 40_001)
        values = [_unwrapped(seen - x * np.array(pattern), inverse, det) for x in grid]
        other += OTHER_CAUSE * 0.9 / len(patterns) * np.trapezoid(values, grid) / 720
    return weights, other


def _crank_prior(n: int) -> float:
    return 1 - SPROCKET_OUT if n == 0 else SPROCKET_OUT / 2 / (math.pi**2 / 6) / n**2


def _unwrapped(off: np.ndarray, inverse: np.ndarray, det: float) -> float:
    return math.exp(-0.5 * off @ inverse @ off) / math.sqrt((2 * math.pi) ** len(off) * det)


CASES = [
    [Evidence("left", 41.0, 0.3, "capture"), Evidence("right", 2.0, 0.3, "capture")],
    [Evidence("left", 38.5, 0.5, "capture"), Evidence("right", 45.0, 0.5, "capture")],
    [Evidence("left", 20.0, 2.0, "mark"), Evidence("right", 18.0, 4.0, "mark")],
    [Evidence("left", 0.5, 5.0, "mark"), Evidence("right", 0.0, 1.0, "pin"), Evidence("left", 1.0, 0.2, "capture")],
    [Evidence("right", -79.0, 0.4, "capture")],
    [Evidence("left", 359.0, 1.0, "capture"), Evidence("right", -2.0, 5.0, "mark")],
]


@pytest.mark.parametrize("evidence", CASES, ids=range(len(CASES)))
@pytest.mark.parametrize("crank_hub", ["keyed", "friction"])
def test_equals_brute_force_over_every_slip(evidence: list[Evidence], crank_hub: str) -> None:
    weights, other = plain_sum(evidence, 0.0 if crank_hub == "keyed" else 6.0)
    total = sum(weights.values()) + other
    answer = explain(drive_of(SMALL.format(crank_hub=crank_hub)), evidence)
    assert answer.other == pytest.approx(other / total, rel=1e-3, abs=1e-9)
    found = {
        (item.overlap, *(item.slips.get(name, 0) for name in ("crank", "left", "right"))): item.probability
        for item in answer.explanations
    }
    for key, weight in weights.items():
        if weight / total > 2e-3:
            assert found[key] == pytest.approx(weight / total, abs=1e-6)
    assert sum(found.values()) + answer.other == pytest.approx(1, abs=0.02)


@pytest.mark.parametrize("name", ["alder", "elder", "fir"])
@pytest.mark.parametrize("u", [0.03, 0.15, 0.5])
def test_a_tooth_is_never_missed_and_never_invented(name: str, u: float) -> None:
    """Simulated series on keyed hubs, every cam its own slip: at the stated u the whole teeth are always right."""
    drive = shipped(name)
    cams = [shaft.id for shaft in drive.shafts if shaft.role == "camshaft"]
    per_tooth = np.array([float(shaft_deg_per_tooth(drive, drive.shaft(cam))) for cam in cams])
    rng = np.random.default_rng(11)
    true = rng.choice([-2, -1, 0, 0, 0, 1, 2], size=(3000, len(cams)))
    rest = np.clip(rng.normal(0, 1.5, true.shape), -4.5, 4.5)
    deg = true * per_tooth + rest + rng.normal(0, u, true.shape)
    answer = explain_many(drive, [Evidence(cam, 0.0, u, "capture") for cam in cams], deg)
    columns = [answer.shafts.index(cam) for cam in cams]
    assert np.all(answer.teeth[:, columns] == true)
    assert not answer.overlap.any()
    assert np.median(answer.probability) > 0.99


def test_many_at_once_equals_one_at_a_time() -> None:
    drive = shipped("birch")
    rng = np.random.default_rng(4)
    deg = rng.normal(0, 15, (25, 2))
    kinds = [Evidence("inlet camshaft", 0, 0.4, "capture"), Evidence("exhaust camshaft", 0, 0.6, "capture")]
    many = explain_many(drive, kinds, deg)
    for row, pair in enumerate(deg):
        single = explain(
            drive, [Evidence(item.shaft, value, item.u, item.kind) for item, value in zip(kinds, pair, strict=True)]
        )
        assert many.other[row] == pytest.approx(single.other, rel=1e-9)
        best = dict(zip(many.shafts, many.teeth[row], strict=True))
        same = [
            item.probability
            for item in single.explanations
            if not item.overlap
            and all(item.slips.get(shaft, 0) - item.slips.get("crankshaft", 0) == n for shaft, n in best.items())
        ]
        assert sum(same) == pytest.approx(many.probability[row], abs=3e-3)


def test_one_cam_a_tooth_late_cannot_be_told_from_the_crank_a_tooth_early() -> None:
    answer = explain(shipped("alder"), [Evidence("camshaft", 18.2, 0.3, "capture")])
    assert [item.slips for item in answer.explanations] == [{"camshaft": 1}, {"crankshaft": -1}]
    assert answer.teeth["camshaft"][0] == 1
    assert answer.teeth["camshaft"][1] > 0.999
    assert answer.best.rest["camshaft"] == pytest.approx(0.2, abs=0.03)
    said = " ".join(answer.cannot_separate)
    assert "camshaft one tooth late or crankshaft one tooth early" in said
    assert "sensor" in said


def test_two_cams_late_alike_point_to_the_crank() -> None:
    answer = explain(shipped("fir"), [Evidence(f"{side} camshaft", 15.1, 0.3, "capture") for side in ("left", "right")])
    assert answer.best.slips == {"crankshaft": -1}
    assert answer.best.probability > 0.8
    assert {"left camshaft": 1, "right camshaft": 1} in [item.slips for item in answer.explanations]


def test_painted_lines_tell_crank_from_cam() -> None:
    drive = shipped("alder")
    capture = Evidence("camshaft", 18.0, 0.3, "capture")
    late = explain(drive, [capture, line_evidence(drive, "crankshaft", 0), line_evidence(drive, "camshaft", 1)])
    assert late.best.slips == {"camshaft": 1}
    assert late.best.probability > 0.999
    assert not any("painted" in sentence for sentence in late.cannot_separate)
    early = explain(drive, [capture, line_evidence(drive, "crankshaft", -1), line_evidence(drive, "camshaft", 0)])
    assert early.best.slips == {"crankshaft": -1}


def test_lines_alone_tell_both() -> None:
    drive = shipped("alder")
    answer = explain(drive, [line_evidence(drive, "crankshaft", -1), line_evidence(drive, "camshaft", 2)])
    assert answer.best.slips == {"crankshaft": -1, "camshaft": 2}
    assert answer.teeth["camshaft"][0] == 3


def test_overlap_taken_for_firing_passes_the_marks_but_not_the_recording() -> None:
    drive = shipped("alder")
    answer = explain(drive, [mark_evidence(drive, "camshaft", 0), Evidence("camshaft", 360.4, 0.3, "capture")])
    assert answer.best.overlap
    assert answer.best.slips == {}
    assert answer.best.probability > 0.9
    assert "overlap" in answer.best.words
    looked = explain(drive, [mark_evidence(drive, "camshaft", 0)])
    assert looked.best.slips == {}
    assert any("firing TDC" in sentence for sentence in looked.cannot_separate)


def test_a_shift_between_whole_teeth_is_another_cause() -> None:
    answer = explain(shipped("alder"), [Evidence("camshaft", 9.0, 0.3, "capture")])
    assert answer.other > 0.99
    assert any("sheared key" in sentence for sentence in answer.cannot_separate)


def test_marks_right_and_recording_a_tooth_out_is_the_sensor_wheel_or_a_misreading() -> None:
    drive = shipped("alder")
    answer = explain(drive, [mark_evidence(drive, "camshaft", 0, 0.05), Evidence("camshaft", 18.0, 0.3, "capture")])
    assert answer.other > 0.9


def test_a_linked_shaft_moves_with_the_one_that_turns_it() -> None:
    drive = shipped("cedar")
    tooth = 360 / 22
    answer = explain(
        drive, [Evidence("camshaft", tooth, 0.3, "capture"), Evidence("exhaust camshaft", tooth, 0.3, "capture")]
    )
    whole = [item for item in answer.explanations if item.slips]
    assert {tuple(item.slips) for item in whole[:2]} == {("camshaft",), ("crankshaft",)}
    assert answer.teeth["exhaust camshaft"] == answer.teeth["camshaft"]
    apart = explain(
        drive, [Evidence("camshaft", 0.0, 0.3, "capture"), Evidence("exhaust camshaft", tooth, 0.3, "capture")]
    )
    assert apart.other > 0.9


def test_a_second_belt_has_its_own_teeth() -> None:
    drive = shipped("elder")
    evidence = [mark_evidence(drive, "camshaft", 0), mark_evidence(drive, "right balance shaft", -1)]
    answer = explain(drive, evidence)
    assert answer.teeth["right balance shaft"][0] == -1
    assert answer.teeth["camshaft"][0] == 0
    slips = [item.slips for item in answer.explanations[:2]]
    assert {"right balance shaft": -1} in slips
    assert {"balance drive wheel": 1} in slips


def test_a_crank_short_of_its_mark_is_taken_off_the_other_marks() -> None:
    drive = shipped("alder")
    crank = Evidence("crankshaft", 5.0, 1.0, "mark")
    answer = explain(drive, [crank, Evidence("camshaft", 5.0, 1.0, "mark")])
    assert answer.best.slips == {}
    assert answer.best.rest["camshaft"] == pytest.approx(0, abs=0.01)


@given(st.lists(st.floats(-100, 100), min_size=2, max_size=2))
@settings(max_examples=30, deadline=None)
def test_a_mirrored_drive_gives_the_same_answer_and_late_mirrors_early(deg: list[float]) -> None:
    text = SMALL.format(crank_hub="keyed")
    pair = [Evidence("left", deg[0], 0.5, "capture"), Evidence("right", deg[1], 0.5, "capture")]
    turned = [Evidence(item.shaft, -item.deg, item.u, item.kind) for item in pair]
    here, there, back = (
        explain(drive_of(text), pair),
        explain(drive_of(mirrored(text)), pair),
        explain(drive_of(text), turned),
    )
    assert here == there
    assert here.other == pytest.approx(back.other, rel=1e-6, abs=1e-12)
    for item in here.explanations[:2]:
        opposite = {name: -teeth for name, teeth in item.slips.items()}
        same = [
            other.probability
            for other in back.explanations
            if other.slips == opposite and other.overlap == item.overlap
        ]
        assert item.probability == pytest.approx(sum(same), abs=1e-6) or any(abs(n) == 9 for n in opposite.values())


@pytest.mark.parametrize(
    ("evidence", "said"),
    [
        ([], "nothing says"),
        ([Evidence("crankshaft", 0.0, 1.0, "mark")], "nothing says"),
        ([Evidence("cam", 0.0, 1.0, "mark")], "no shaft of this drive"),
        ([Evidence("roller", 0.0, 1.0, "mark")], "no toothed wheel"),
        ([Evidence("camshaft", math.nan, 1.0, "mark")], "mean nothing"),
        ([Evidence("camshaft", 0.0, -1.0, "mark")], "mean nothing"),
    ],
)
def test_evidence_that_says_nothing_is_refused(evidence: list[Evidence], said: str) -> None:
    with pytest.raises(DomainError, match=said):
        explain(shipped("alder"), evidence)


def test_a_pin_that_went_in_says_on_its_tooth() -> None:
    answer = explain(shipped("cedar"), [pin_evidence("camshaft")])
    assert answer.best.slips == {}
    assert answer.best.probability > 0.95
