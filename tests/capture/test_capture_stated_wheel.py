"""A crank wheel that a person states: found where it is, contradicted where it is not. Truth: ``engines.py``."""

from __future__ import annotations

import importlib
import sys
from pathlib import Path

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parent))
cranking = importlib.import_module("cranking")
engines = importlib.import_module("engines")
reading = importlib.import_module("reading")

from twoturn.acts.capture import read_sensors  # noqa: E402
from twoturn.acts.capture_request import Request  # noqa: E402
from twoturn.capture.decode import decode  # noqa: E402
from twoturn.capture.wheel.written import stated_wheel  # noqa: E402
from twoturn.errors import DomainError  # noqa: E402


def recorded(places: int, *missing: int, seed: int = 1, swing: float = 0.15) -> object:
    """A recording of a wheel, and its bench."""
    made = engines.Bench(places=places, teeth=engines.even(places, *missing), turns=24.0, seed=seed)
    motion = cranking.Turned(made, cranking.Engine(swing=swing, seed=seed))
    return made, *engines.change_list(made, motion)


@pytest.mark.parametrize("places", [5, 7, 9, 11, 15, 37])
@pytest.mark.parametrize("seed", [1, 3])
def test_a_wheel_that_is_hardly_made_is_read_where_it_is_stated(places: int, seed: int) -> None:
    made, names, rows = recorded(places, places - 1, seed=seed)
    free = decode(reading.capture_of(names, rows))
    assert places < 12 or not free.cams or free.crank.wheel.text == f"{places}-1", "no other wheel is believed"
    found = decode(reading.capture_of(names, rows), wheel=f"{places}-1")
    assert found.crank is not None
    assert found.crank.wheel.text == f"{places}-1"
    later = 0.0 if found.crank.edge == "rising" else made.width * 360 / places
    off = np.abs(reading.errors_deg(found, made.cams["cam"], later))
    assert off.max() < 3 * max(edge.u for edge in found.cams[0].edges) + 0.01


@pytest.mark.parametrize(("stated", "shown"), [("5-1", "4 places, no gap"), ("36-1", "60-2"), ("60-2", "36-2")])
def test_a_stated_wheel_is_contradicted(stated: str, shown: str, tmp_path: Path) -> None:
    wheels = {"4 places, no gap": (4,), "60-2": (60, 58, 59), "36-2": (36, 34, 35)}
    _, names, rows = recorded(*wheels[shown])
    path = tmp_path / "one.csv"
    path.write_text(engines.as_csv(names, rows), encoding="utf-8")
    answer = read_sensors(path, Request(crank_wheel=stated))
    assert answer.decoded.crank is not None
    assert answer.decoded.crank.wheel.text == shown
    assert any(f"--crank-wheel states a {stated} crank wheel, crank shows {shown}" in words for words in answer.why)


def test_the_teeth_of_an_even_wheel_may_be_stated() -> None:
    _, names, rows = recorded(58)
    alone = reading.capture_of(names[:1], rows[:, :2])
    assert decode(alone).rpm is None
    found = decode(alone, wheel="58")
    assert found.crank is not None
    assert found.crank.wheel.text == "58 places, no gap"
    assert found.rpm is not None
    assert found.rpm[1] == pytest.approx(220, rel=0.1)


@pytest.mark.parametrize("words", ["", "60", "5-1", "36-2-2-2", "12+1", "2"])
def test_what_is_a_wheel(words: str) -> None:
    if words:
        assert stated_wheel(f" {words} ").words == words
        return
    for wrong in ("", "-1", "60-", "60-0", "60-40", "60+4", "9999", "sixty", "60–2", "1", "60-2\n-1"):
        with pytest.raises(DomainError, match="is no crank wheel"):
            stated_wheel(wrong)


def test_command_line_and_drive_must_agree(tmp_path: Path) -> None:
    _, names, rows = recorded(60, 58, 59)
    path = tmp_path / "one.csv"
    path.write_text(engines.as_csv(names, rows), encoding="utf-8")
    drive = Path(__file__).parents[2] / "src" / "twoturn" / "demo" / "drives" / "alder-one-cam.toml"
    with pytest.raises(DomainError, match="--crank-wheel 36-1 is not the 60-2 that the drive file states"):
        read_sensors(path, Request(crank_wheel="36-1", drive=drive))
