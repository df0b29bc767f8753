"""Measurement data files: written by asammdf, and by a small writer after ASAM MDF 4.1 for what it cannot write."""

from __future__ import annotations

import gzip
import importlib
import importlib.util
import sys
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from twoturn.capture.model import Capture, Channel
from twoturn.capture.read import read_capture
from twoturn.capture.signal.edges import edge_train
from twoturn.errors import RecordingError

sys.path.insert(0, str(Path(__file__).parent))
mdf4 = importlib.import_module("mdf4")

pytest.importorskip("asammdf", reason="the addition twoturn[mdf] is not installed")
from asammdf import MDF, Signal  # noqa: E402

TIMES = np.arange(2000) / 10_000
CRANK = 2 * np.sin(2 * np.pi * 60 * TIMES) + 0.01 * np.sin(1000 * TIMES)
CAM_TIMES = np.array([0.0, 0.02, 0.05, 0.09, 0.15])
CAM = np.array([0, 1, 0, 1, 0], dtype=np.uint8)


def written(path: Path, *groups: list[Signal], unit: str = "", name: str = "", **options: Any) -> Path:
    with MDF(version=options.pop("version", "4.10")) as file:
        for number, signals in enumerate(groups):
            file.append(signals, acq_name=f"{name}{number}" if name else None)
            if unit:
                file.groups[number].channels[0].unit = unit
        made: Path = file.save(path, overwrite=True, **options)
    return made


def channel(capture: Capture, name: str) -> Channel:
    return next(one for one in capture.channels if one.name == name)


def two_groups() -> tuple[list[Signal], list[Signal]]:
    return [Signal(CRANK, TIMES, name="crank", unit="V")], [Signal(CAM, CAM_TIMES, name="cam")]


@pytest.mark.parametrize(
    "options", [{}, {"compression": 1}, {"compression": 2}, {"version": "4.11"}, {"version": "3.30"}]
)
def test_groups_with_their_own_time_bases(tmp_path: Path, options: dict[str, Any]) -> None:
    capture = read_capture(written(tmp_path / "x.mf4", *two_groups(), **options))
    assert (capture.format, capture.time_known, capture.unit_stated) == ("mdf", True, True)
    crank, cam = channel(capture, "crank"), channel(capture, "cam")
    assert (crank.kind, cam.kind) == ("analogue", "logic")
    assert crank.rate_hz == pytest.approx(10_000)
    assert np.allclose(crank.values, CRANK)
    assert np.allclose(cam.times_s, CAM_TIMES)
    assert np.allclose(edge_train(cam).times_s, CAM_TIMES[1:])
    assert capture.rate_hz is None


def test_packed_and_other_name(tmp_path: Path) -> None:
    plain = written(tmp_path / "x.mf4", *two_groups())
    packed = tmp_path / "x.csv"
    packed.write_bytes(gzip.compress(plain.read_bytes()))
    assert len(read_capture(packed).channels) == 2


def test_conversions_are_applied(tmp_path: Path) -> None:
    counts = np.round(CRANK * 500).astype(np.int16)
    linear = Signal(counts, TIMES, name="crank", conversion={"a": 0.002, "b": 1.0})
    words = {"val_0": 0, "text_0": b"low", "val_1": 1, "text_1": b"high", "default": b"none"}
    level = Signal(CAM, CAM_TIMES, name="cam", conversion=words)
    capture = read_capture(written(tmp_path / "x.mf4", [linear], [level]))
    assert np.allclose(channel(capture, "crank").values, counts * 0.002 + 1.0)
    assert channel(capture, "cam").values.tolist() == CAM.tolist()


def test_the_unit_of_time_is_heeded(tmp_path: Path) -> None:
    stretched = [Signal(CAM, CAM_TIMES * 1000, name="cam")]
    capture = read_capture(written(tmp_path / "x.mf4", stretched, unit="ms"))
    assert np.allclose(channel(capture, "cam").times_s, CAM_TIMES)


def test_same_names_in_two_groups(tmp_path: Path) -> None:
    groups = [[Signal(CAM, CAM_TIMES, name="cam")], [Signal(1 - CAM, CAM_TIMES, name="cam")]]
    capture = read_capture(written(tmp_path / "x.mf4", *groups, name="bank"))
    assert [one.name for one in capture.channels] == ["bank0.cam", "bank1.cam"]


def test_words_and_what_never_changes_are_left_out(tmp_path: Path) -> None:
    group = [
        Signal(CAM, CAM_TIMES, name="cam"),
        Signal(np.full(5, 3.0), CAM_TIMES, name="flat"),
        Signal(np.array([b"a", b"b", b"c", b"d", b"e"]), CAM_TIMES, name="remark", encoding="latin-1"),
    ]
    capture = read_capture(written(tmp_path / "x.mf4", group))
    assert [one.name for one in capture.channels] == ["cam"]
    assert "flat never changes" in " ".join(capture.notes)


def test_samples_marked_as_invalid_or_without_number_are_left_out(tmp_path: Path) -> None:
    values = CRANK.copy()
    values[[5, 700]] = [np.nan, np.inf]
    capture = read_capture(written(tmp_path / "x.mf4", [Signal(values, TIMES, name="crank")]))
    assert np.isfinite(channel(capture, "crank").values).all()


def own_groups() -> list[Any]:
    swing = np.round(1000 * CRANK).astype(int).tolist()
    return [
        mdf4.Group(TIMES.tolist(), {"crank": swing, "twice": [2 * value for value in swing]}, name="fast"),
        mdf4.Group(CAM_TIMES.tolist(), {"cam": CAM.tolist()}, name="slow"),
    ]


def test_unsorted_records(tmp_path: Path) -> None:
    (tmp_path / "x.mf4").write_bytes(mdf4.written(own_groups()))
    capture = read_capture(tmp_path / "x.mf4")
    assert [one.name for one in capture.channels] == ["crank", "twice", "cam"]
    assert np.allclose(channel(capture, "crank").values, np.round(1000 * CRANK))
    assert np.allclose(channel(capture, "cam").times_s, CAM_TIMES)


def test_a_recording_that_was_never_closed(tmp_path: Path) -> None:
    groups = own_groups()
    for group in groups:
        group.counted = 0
    data = mdf4.written(groups, finished=False)
    for cut in (0, 3000):
        (tmp_path / "x.mf4").write_bytes(data[: len(data) - cut])
        capture = read_capture(tmp_path / "x.mf4")
        crank = channel(capture, "crank")
        assert 1500 < crank.values.size <= 2000
        assert np.allclose(crank.values, np.round(1000 * CRANK)[: crank.values.size])


def test_a_file_cut_off_is_read_as_far_as_it_goes_or_refused(tmp_path: Path) -> None:
    data = mdf4.written(own_groups())
    (tmp_path / "x.mf4").write_bytes(data[:-9000])
    capture = read_capture(tmp_path / "x.mf4")
    crank = channel(capture, "crank")
    assert np.allclose(crank.values, np.round(1000 * CRANK)[: crank.values.size])
    assert "cut off" in " ".join(capture.notes)
    whole = written(tmp_path / "y.mf4", *two_groups()).read_bytes()
    for cut in (8, 70, 900, len(whole) // 2):
        (tmp_path / "y.mf4").write_bytes(whole[:cut])
        with pytest.raises(RecordingError, match="damaged or cut off"):
            read_capture(tmp_path / "y.mf4")


def test_what_is_not_recorded_over_time(tmp_path: Path) -> None:
    by_angle = mdf4.Group(np.arange(300).astype(float).tolist(), {"crank": [n % 7 for n in range(300)]}, "deg", sync=2)
    (tmp_path / "x.mf4").write_bytes(mdf4.written([by_angle, own_groups()[1]]))
    capture = read_capture(tmp_path / "x.mf4")
    assert [one.name for one in capture.channels] == ["cam"]
    assert "goes by angle" in " ".join(capture.notes)


def test_without_the_addition_one_sentence_says_what_to_install(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = written(tmp_path / "x.mf4", *two_groups())
    find = importlib.util.find_spec
    monkeypatch.setattr(importlib.util, "find_spec", lambda name: None if name == "asammdf" else find(name))
    with pytest.raises(RecordingError, match=r"twoturn\[mdf\]"):
        read_capture(path)
