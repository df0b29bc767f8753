"""Plots: what is drawn stands where the numbers say, and in words for a person who cannot see it."""

from __future__ import annotations

from xml.etree import ElementTree as ET

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from twoturn.picture import svg
from twoturn.picture.band import band_svg, band_words
from twoturn.picture.labels import Label, Page, put
from twoturn.picture.plots import Partial, nice_step, spectrum_svg

NS = "{http://www.w3.org/2000/svg}"


def parsed(document: str) -> ET.Element:
    return ET.fromstring(document)  # noqa: S314


def words_of(document: str) -> list[str]:
    return [(element.text or "").replace("\u00a0", " ") for element in parsed(document).iter(f"{NS}text")]


def test_the_band_that_is_allowed_is_shaded_where_it_lies() -> None:
    hertz = np.linspace(20, 1000, 2000)
    document = spectrum_svg(hertz, np.linspace(-60.0, 0.0, hertz.size), [], allowed=(136.0, 153.0))
    band = next(one for one in parsed(document).iter(f"{NS}rect") if one.get("fill") == "#dedede")
    a_hertz = (360 - 46) / 980
    assert float(band.get("x", "")) == pytest.approx(34 + (136 - 20) * a_hertz, abs=0.1)
    assert float(band.get("width", "")) == pytest.approx(17 * a_hertz, abs=0.1)
    assert "136–153 Hz (shaded)" in document
    assert "#dedede" not in spectrum_svg(hertz, np.linspace(-60.0, 0.0, hertz.size), [], allowed=(2000.0, 3000.0))


def test_a_spectrum_keeps_its_lines_when_thinned_and_stays_small() -> None:
    hertz = np.linspace(20, 1000, 200_000)
    level = np.full(hertz.size, -60.0)
    level[np.argmin(abs(hertz - 101))] = 0.0
    document = spectrum_svg(hertz, level, [Partial(101.0, "1st"), Partial(5000.0, "out of range")])
    assert len(document) < 17_000
    assert "1st" in words_of(document)
    assert "out of range" not in words_of(document)
    curve = max((one.get("d") for one in parsed(document).iter(f"{NS}path")), key=len)
    points = np.array([pair.split() for pair in curve[1:].split("L")], dtype=float)
    tip = points[np.argmin(points[:, 1])]
    assert tip[0] == pytest.approx(34 + (101 - 20) / 980 * (360 - 46), abs=1.0)


@pytest.mark.parametrize(
    ("value", "limits", "unit", "quantity", "said"),
    [
        ((101.0, 2.0), (96.0, 108.0), "Hz", "", "101 ± 2 Hz, inside 96–108 Hz"),
        ((97.0, 3.0), (96.0, 108.0), "Hz", "", "97 ± 3 Hz, across the edge of 96–108 Hz"),
        ((120.0, 3.0), (96.0, 108.0), "Hz", "", "120 ± 3 Hz, outside 96–108 Hz"),
        ((0.03, 0.01), (None, 0.05), "mm", "", "0.03 ± 0.01 mm, required at most 0.05 mm"),
        (
            (-3.0, 2.0),
            (-6.0, 6.0),
            "°",
            "pointer",
            "3° short of the notch ± 2°, inside the allowed range, within 6° of the notch, either side",
        ),
        ((25.0, 0.0), (None, None), "N·m", "", "25 N·m"),
    ],
)
def test_the_sentence_over_a_band(value, limits, unit, quantity, said) -> None:
    assert band_words(value, limits, unit, quantity) == said
    assert said in parsed(band_svg(value, limits, unit, quantity=quantity)).find(f"{NS}desc").text


@given(st.floats(-500, 500), st.floats(0, 50), st.floats(-200, 0), st.floats(0.5, 200))
def test_a_band_always_holds_value_and_limits(value: float, expanded: float, low: float, high: float) -> None:
    root = parsed(band_svg((value, expanded), (low, high), "N"))
    dot = float(root.find(f"{NS}circle").get("cx"))
    box = root.findall(f"{NS}rect")[1]
    left, right = float(box.get("x")), float(box.get("x")) + float(box.get("width"))
    assert 9.9 <= left < right <= 350.1
    assert 9.9 <= dot <= 350.1
    if low < value < high:
        assert left - 0.02 <= dot <= right + 0.02


@given(st.floats(1e-6, 1e6))
def test_a_nice_step_is_nice(span: float) -> None:
    step = nice_step(span, 6)
    assert span / step <= 6 + 1e-6
    assert round(step / 10 ** np.floor(np.log10(step) + 1e-9), 6) in (1, 2, 5)


def test_words_dodge_what_is_inked() -> None:
    page = Page(200, 200)
    page.ink_disc(100 + 100j, 40)
    put(page, Label(("here",), 100 + 100j, 42))
    before = page.taken.copy()
    put(page, Label(("there",), 100 + 100j, 42))
    assert (page.taken.sum() - before.sum()) > 30


def test_text_is_escaped_and_wrapped() -> None:
    assert "&lt;b&gt;" in svg.text(0j, "<b>")
    assert svg.wrapped("one two three", 10, 50) == ["one two", "three"]
    assert svg.wrapped("stands out 9 mm", 10, 62)[-1].endswith("9\u00a0mm")
