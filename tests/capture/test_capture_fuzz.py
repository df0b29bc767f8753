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

from twoturn.acts.capture import capture_json, read_sensors  # noqa: E402
from twoturn.errors import RecordingError  # noqa: E402

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
    data = bytearray(gzip.compress(GOOD))
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
