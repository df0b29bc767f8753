"""Damaged and senseless files: an answer or one clear sentence, never a traceback."""

from __future__ import annotations

import contextlib
import gzip
import importlib
import sys
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

sys.path.insert(0, str(Path(__file__).parent))
engines = importlib.import_module("engines")

from tests.damage import WAYS, damaged  # noqa: E402
from tests.whole_files import Whole, captures, sounds  # noqa: E402

from twoturn.acts.capture import capture_json, read_sensors  # noqa: E402
from twoturn.acts.pluck import hear  # noqa: E402
from twoturn.capture.read import read_capture  # noqa: E402
from twoturn.cli.capture_text import capture_lines  # noqa: E402
from twoturn.errors import RecordingError, TwoTurnError  # noqa: E402

QUIET = settings(
    max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow]
)
GOOD = engines.as_csv(*engines.change_list(engines.Bench(turns=5.0, places=12, teeth=engines.even(12, 11)))).encode()


def answered(path: Path) -> None:
    sentences: list[str] = []
    try:
        capture_json(read_sensors(path))
    except RecordingError as error:
        sentences.append(error.sentence)
    assert not any("\n" in sentence for sentence in sentences)


@pytest.fixture(scope="module")
def path(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("fuzz") / "x.csv"


@QUIET
@given(st.binary(max_size=300))
def test_any_bytes(path: Path, data: bytes) -> None:
    path.write_bytes(data)
    answered(path)


@QUIET
@given(st.text(alphabet='0123456789.,;\t |eE+-\n\r"#nats', max_size=400))
def test_any_text_of_numbers(path: Path, text: str) -> None:
    path.write_text(text, encoding="utf-8", newline="")
    answered(path)


@QUIET
@given(st.lists(st.tuples(st.integers(0, len(GOOD) - 1), st.integers(0, 255)), max_size=12), st.integers(0, len(GOOD)))
def test_a_damaged_recording(path: Path, flips: list[tuple[int, int]], cut: int) -> None:
    data = bytearray(GOOD)
    for at, value in flips:
        data[at] = value
    path.write_bytes(bytes(data[: cut or None]))
    answered(path)


@QUIET
@given(st.integers(0, 200), st.integers(0, 255))
def test_a_damaged_packed_recording(path: Path, at: int, value: int) -> None:
    data = bytearray(gzip.compress(GOOD, mtime=0))
    data[min(at, len(data) - 1)] = value
    path.write_bytes(bytes(data))
    answered(path)


@QUIET
@given(st.integers(1, 60), st.integers(1, 3), st.integers(0, 2**32 - 1))
def test_any_few_rows(path: Path, count: int, columns: int, seed: int) -> None:
    rng = np.random.default_rng(seed)
    rows = np.column_stack([np.sort(rng.uniform(0, 1, count)), rng.integers(0, 2, (count, columns))])
    path.write_text(engines.as_csv([f"c{i}" for i in range(columns)], rows), encoding="utf-8")
    with contextlib.suppress(OSError):
        answered(path)


WHOLE = {f"{'sound' if whole.sound else 'sensors'}, {whole.name}": whole for whole in [*captures(), *sounds()]}
SLOW = 3  # files of a format that a process of its own reads


def outcome(whole: Whole, path: Path) -> str:
    """What the command line would print."""
    try:
        if whole.sound:
            return str(hear(path).as_json())
        return "".join(capture_lines(capture_json(read_sensors(path))))
    except TwoTurnError as error:
        return error.sentence.replace("\n", "SEVERAL LINES")


@pytest.mark.parametrize("name", WHOLE)
def test_damaged_files_of_every_format(tmp_path: Path, name: str) -> None:
    whole = WHOLE[name]
    path = tmp_path / f"x.{whole.suffix}"
    quick = not whole.sound and not whole.name.startswith(("MDF", "WAV"))
    for seed in range(2 * len(WAYS) if quick else SLOW):
        path.write_bytes(damaged(whole.data, 77_000 + 100 * list(WHOLE).index(name) + seed)[1])
        said = outcome(whole, path)
        assert said
        assert "SEVERAL LINES" not in said


@pytest.mark.parametrize("name", [name for name, whole in WHOLE.items() if not whole.sound])
def test_the_whole_files_are_read(tmp_path: Path, name: str) -> None:
    path = tmp_path / "renamed.txt"
    path.write_bytes(WHOLE[name].data)
    capture = read_capture(path)
    assert {"crank", "channel 1"} & {channel.name for channel in capture.channels}


def test_packed_files_are_not_unpacked_without_end(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("twoturn.capture.formats.files.MAX_PLAIN_BYTES", 1000)
    for data in (GOOD, b"RIFF\xff\xff\xff\x7fWAVE" + bytes(5000), b"$var wire 1 ! a $end $enddefinitions $end " * 90):
        (tmp_path / "x.gz").write_bytes(gzip.compress(data))
        with pytest.raises(RecordingError, match="unpacks to more than"):
            read_sensors(tmp_path / "x.gz")
