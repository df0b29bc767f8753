"""Recordings too short for a wheel, and sounds that are no sensor: no wheel is made up."""

from __future__ import annotations

import importlib
import sys
import wave
from pathlib import Path

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parent))
engines = importlib.import_module("engines")

from twoturn.acts.capture import capture_json, read_sensors  # noqa: E402


@pytest.mark.parametrize("turns", [0.4, 0.8, 1.2, 1.6, 2.2, 3.0])
def test_too_short_is_said(tmp_path: Path, turns: float) -> None:
    path = tmp_path / "x.csv"
    path.write_text(engines.as_csv(*engines.change_list(engines.Bench(turns=turns))), encoding="utf-8")
    answer = capture_json(read_sensors(path))
    assert answer["crank"] is None
    assert answer["rpm"] is None
    assert any("record ten turns" in sentence for sentence in answer["why"])


def rings(seed: int, rate: int = 44_100) -> np.ndarray:
    """Plucks of a string: partials that die away, in noise."""
    rng = np.random.default_rng(seed)
    time = np.arange(int(2.5 * rate)) / rate
    sound = 0.003 * rng.standard_normal(time.size)
    first = rng.uniform(40, 200)
    for start in np.sort(rng.uniform(0, 2.2, int(rng.integers(1, 5)))):
        on = np.maximum(time - start, 0)
        for partial in range(1, 6):
            tone = np.sin(2 * np.pi * first * partial * on + rng.uniform(0, 6))
            sound += (time >= start) * 0.15 / partial * np.exp(-on * partial / rng.uniform(0.03, 0.5)) * tone
    return sound


@pytest.mark.parametrize("seed", range(12))
def test_a_sound_is_no_wheel(tmp_path: Path, seed: int) -> None:
    path = tmp_path / "pluck.wav"
    with wave.open(str(path), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(44_100)
        file.writeframes((np.clip(rings(seed), -1, 1) * 32_000).astype("<i2").tobytes())
    answer = capture_json(read_sensors(path))
    assert answer["crank"] is None
    assert any("no channel shows a wheel that repeats" in sentence for sentence in answer["why"])
