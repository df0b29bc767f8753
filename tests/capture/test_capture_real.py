"""Real recordings, where they are at hand: TWOTURN_RECORDINGS names a folder that holds ``captures/``.

The cam angles were found by an independent decoder on the same files (the folder's own read-me): 0 is the first edge
after the longest gap. They agree within the scatter it states, at least 0.1°.
"""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from twoturn.capture.decode import Decoded, decode
from twoturn.capture.read import read_capture

FOLDER = Path(os.environ.get("TWOTURN_RECORDINGS", "")) / "captures"
pytestmark = pytest.mark.skipif(
    "TWOTURN_RECORDINGS" not in os.environ or not FOLDER.is_dir(),
    reason="real captures are not at hand: set TWOTURN_RECORDINGS to the folder that holds captures/",
)


def decoded(name: str) -> Decoded:
    return decode(read_capture(FOLDER / f"{name}.csv"))


@pytest.mark.parametrize(
    ("name", "wheel", "expected", "scatter"),
    [
        ("a", "36-1-2", [236.64, 603.97], 0.04),
        ("b", "2 places, no gap", [135.83, 314.16, 496.28, 570.96], 0.24),
        (
            "c",
            "36-2-2-2",
            [96.02, 118.37, 139.42, 158.54, 181.66, 238.37, 258.72, 278.14, 300.84, 478.50, 696.28, 717.90],
            0.27,
        ),
    ],
)
def test_cam_angles_agree_with_an_independent_decoder(
    name: str, wheel: str, expected: list[float], scatter: float
) -> None:
    answer = decoded(name)
    assert answer.crank is not None
    assert answer.crank.wheel.text == wheel
    edges = answer.cams[0].edges
    assert [edge.angle_deg for edge in edges] == pytest.approx(expected, abs=max(0.1, scatter))
    assert max(edge.scatter_deg for edge in edges) < scatter + 0.06


def test_polarity_of_the_first() -> None:
    kinds = [(edge.edge, round(edge.angle_deg)) for edge in decoded("a").cams[0].edges]
    assert kinds == [("falling", 237), ("rising", 604)]


@pytest.mark.parametrize(("name", "wheel", "rpm"), [("d", "60-2", 160), ("e", "36-2", 200)])
def test_crank_only(name: str, wheel: str, rpm: float) -> None:
    answer = decoded(name)
    assert answer.crank is not None
    assert answer.crank.wheel.text == wheel
    assert answer.cams == ()
    assert answer.why
    assert answer.rpm is not None
    assert answer.rpm[1] == pytest.approx(rpm, rel=0.05)


def test_an_unusual_wheel_is_described() -> None:
    answer = decoded("f")
    assert answer.crank is not None
    assert answer.crank.wheel.text == "12+1"
    assert answer.crank.wheel.teeth == 13
