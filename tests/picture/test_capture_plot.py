"""The picture of a sensor recording: what is drawn stands where the numbers say, every stroke is named."""

from __future__ import annotations

from xml.etree import ElementTree as ET

import numpy as np
import pytest

from twoturn.picture.capture_plot import CamEdge, CamTrack, SpeedCurve, capture_svg

NS = "{http://www.w3.org/2000/svg}"
SCALE = (520 - 46 - 12) / 720


def parsed(document: str) -> ET.Element:
    return ET.fromstring(document)  # noqa: S314


def words_of(document: str) -> list[str]:
    return [(element.text or "").replace("\u00a0", " ") for element in parsed(document).iter(f"{NS}text")]


def test_cam_edges_stand_where_they_are_and_where_they_should() -> None:
    track = CamTrack("inlet", (CamEdge(90.0, True, 0.05, 75.0), CamEdge(270.0, False, 0.05)), "15° late")
    document = capture_svg([track], 0.0)
    assert {"power", "exhaust", "inlet", "compression", "0", "720", "15° late"} <= set(words_of(document))
    level = next(one.get("d") for one in parsed(document).iter(f"{NS}path"))
    xs = [float(pair.split()[0]) for pair in level[1:].split("L")]
    wanted = [46, 46 + 90 * SCALE, 46 + 90 * SCALE, 46 + 270 * SCALE, 46 + 270 * SCALE, 508]
    assert xs == pytest.approx(wanted, abs=0.01)
    dashed = [one for one in parsed(document).iter(f"{NS}line") if one.get("stroke-dasharray")]
    assert float(dashed[0].get("x1")) == pytest.approx(46 + 75 * SCALE, abs=0.01)
    assert "rising edge at 90" in parsed(document).find(f"{NS}desc").text
    assert "expected 75" in parsed(document).find(f"{NS}desc").text


@pytest.mark.parametrize("tdc", [0.0, 84.0, 114.0, 270.0, 600.0, 719.0])
def test_every_stroke_is_named_wherever_the_strip_begins(tdc: float) -> None:
    words = words_of(capture_svg([CamTrack("cam", (CamEdge(10.0, True),))], tdc))
    assert {"power", "exhaust", "inlet"} <= set(words)
    assert {"compression", "comp."} & set(words)


def test_strokes_are_not_guessed() -> None:
    words = words_of(capture_svg([CamTrack("cam", (CamEdge(10.0, True),))], None))
    assert "power" not in words
    assert any("gap_to_tdc_deg" in line for line in words)


def test_speed_is_drawn_with_its_cylinders() -> None:
    angles = np.arange(2.5, 720, 5.0)
    rpm = 220 - 30 * np.cos(np.deg2rad(2 * (angles - 84)))
    curve = SpeedCurve(angles, rpm, tuple((f"cyl. {n}", 84.0 + 180 * i) for i, n in enumerate((1, 3, 4, 2))))
    document = capture_svg([CamTrack("cam", (CamEdge(10.0, True),))], 84.0, curve)
    assert {"cyl. 1", "cyl. 3", "cyl. 4", "cyl. 2", "190", "250"} <= set(words_of(document))
    assert "Speed from 190 to 250 rpm" in parsed(document).find(f"{NS}desc").text
    path = max((one.get("d") for one in parsed(document).iter(f"{NS}path")), key=len)
    points = np.array([pair.split() for pair in path[1:].split("L")], dtype=float)
    slowest = points[np.argmax(points[:, 1])]
    assert min(abs(slowest[0] - (46 + (84 + 180 * n) * SCALE)) for n in range(4)) < 5 * SCALE


def test_close_edges_keep_their_numbers_apart() -> None:
    edges = tuple(CamEdge(100.0 + 12 * number, number % 2 == 0) for number in range(4))
    words = words_of(capture_svg([CamTrack("cam", edges)], None))
    assert {"100°", "112°"} <= set(words)
