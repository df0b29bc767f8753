"""A sensor recording on one fixed strip over two crank turns: strokes of cylinder 1, cam levels, speed by cylinder."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from twoturn.picture import svg
from twoturn.words.numbers import plain

Array = NDArray[np.float64]
Across = Callable[[float], float]

CYCLE_DEG = 720.0
LEFT, RIGHT = 46.0, 12.0
STROKES = ("power", "exhaust", "inlet", "compression")
SHORT = {"compression": "comp.", "exhaust": "exh."}
CAM_HEIGHT, SPEED_HEIGHT = 74.0, 78.0
SHOWN_APART_DEG = 1.0
"""A place nearer to its edge than this is drawn as one line with it [crank degrees]."""


@dataclass(frozen=True)
class CamEdge:
    """One edge of a cam sensor.

    Attributes
    ----------
    angle_deg
        Crank angle within two turns [°].
    rising
        True for a rising edge.
    u_deg
        Its standard uncertainty [°].
    expected_deg
        Where the maker or the reference has it [°]; None without one.
    """

    angle_deg: float
    rising: bool
    u_deg: float = 0.0
    expected_deg: float | None = None


@dataclass(frozen=True)
class CamTrack:
    """The edges of one cam sensor.

    Attributes
    ----------
    name
        Name of the sensor or shaft.
    edges
        Its edges in any order.
    said
        What stands at the right of its name, such as ``"18.2° late against the maker's edges"``.
    """

    name: str
    edges: tuple[CamEdge, ...]
    said: str = ""


@dataclass(frozen=True, eq=False)
class SpeedCurve:
    """Mean speed over the cycle, with the cylinders.

    Attributes
    ----------
    angles_deg, rpm
        Angles, growing [°], and speeds [1/min], shape (n,) each.
    cylinders
        What is written at each firing TDC or slowest place, and where [°].
    """

    angles_deg: Array
    rpm: Array
    cylinders: tuple[tuple[str, float], ...] = field(default=())


def capture_svg(
    tracks: Sequence[CamTrack],
    firing_tdc_deg: float | None,
    speed: SpeedCurve | None = None,
    title: str = "Cam edges over two crank turns",
    width: float = 520.0,
) -> str:
    """A sensor recording on a fixed strip over two crank turns.

    Parameters
    ----------
    tracks
        Cam sensors with their edges, angles on 0 to 720 [°].
    firing_tdc_deg
        Where firing TDC of cylinder 1 lies on that scale [°]; None when it is not known: no strokes then, and said so.
    speed
        Speed over the cycle; None where it is not known.
    title
        What it shows; empty for none.
    width
        Width of the picture [page units].

    Returns
    -------
    str
        An SVG document; levels as the sensor gives them, the places where edges should be dashed.
    """

    def across(angle: float) -> float:
        return LEFT + angle / CYCLE_DEG * (width - LEFT - RIGHT)

    parts = [svg.text(complex(10, 14), title, 11.5, font_weight="bold")] if title else []
    top = 24.0 if title else 6.0
    parts += _strokes(across, firing_tdc_deg, top)
    top += 24.0
    for track in tracks:
        parts += _track(track, across, top)
        top += CAM_HEIGHT
    if speed is not None and speed.angles_deg.size:
        parts += _speed(speed, across, top)
        top += SPEED_HEIGHT
    parts += _axis(across, top)
    return svg.Picture(width, top + 34, title or "Cam edges", _told(tracks, speed), parts).svg()


def _told(tracks: Sequence[CamTrack], speed: SpeedCurve | None) -> str:
    """The picture in words."""
    said = []
    for track in tracks:
        words = ", ".join(
            f"{'rising' if edge.rising else 'falling'} edge at {plain(edge.angle_deg % CYCLE_DEG, 2)}°"
            + (f" (expected {plain(edge.expected_deg % CYCLE_DEG, 2)}°)" if edge.expected_deg is not None else "")
            for edge in _ordered(track)
        )
        said.append(f"{track.name}: {words}{f'; {track.said}' if track.said else ''}.")
    if speed is not None and speed.angles_deg.size:
        said.append(f"Speed from {plain(float(speed.rpm.min()), 0)} to {plain(float(speed.rpm.max()), 0)} rpm.")
    return " ".join(said)


def _ordered(track: CamTrack) -> list[CamEdge]:
    return sorted(track.edges, key=lambda edge: edge.angle_deg % CYCLE_DEG)


def _axis(across: Across, top: float) -> list[str]:
    """The scale of crank degrees below everything."""
    parts = [svg.line(complex(across(0), top), complex(across(CYCLE_DEG), top), 1.0)]
    for angle in range(0, 721, 90):
        x = across(angle)
        parts.append(svg.line(complex(x, top), complex(x, top + (5 if angle % 180 == 0 else 3)), 0.8))
        parts.append(svg.text(complex(x, top + 15), str(angle), 9.5, anchor="middle"))
    words = "crank degrees, two turns; 0 is the first edge after the gap"
    return [*parts, svg.text(complex(across(360), top + 28), words, 9.5, anchor="middle")]


def _strokes(across: Across, firing_tdc_deg: float | None, top: float) -> list[str]:
    """The strokes of cylinder 1 as a row of boxes; one cut by the end of the strip is named in both parts."""
    if firing_tdc_deg is None:
        words = "Strokes of cylinder 1 not drawn: TDC is not known (gap_to_tdc_deg)."
        return [svg.text(complex(across(0), top + 12), words, 9.5)]
    parts = []
    for number, name in enumerate(STROKES):
        start = (firing_tdc_deg + 180.0 * number) % CYCLE_DEG
        for low, high in [(start, min(start + 180, CYCLE_DEG)), (0.0, start - 540)]:
            if high - low <= 1e-6:
                continue
            fill = svg.PALE if number % 2 == 0 else svg.WHITE
            room = across(high) - across(low)
            parts.append(svg.rect(complex(across(low), top), room, 17, fill=fill, stroke_width=0.7))
            fits = (some for some in (name, SHORT.get(name, name)) if svg.text_width(some, 9.5) <= room - 2)
            middle = complex((across(low) + across(high)) / 2, top + 12)
            parts += [svg.text(middle, words, 9.5, anchor="middle") for words in [next(fits, "")] if words]
    return [*parts, svg.text(complex(across(0) - 4, top + 12), "cyl. 1", 9.5, anchor="end")]


def _track(track: CamTrack, across: Across, top: float) -> list[str]:
    """One sensor: its level over the strip, a number at each edge, dashed where the edge should be."""
    high, low = top + 40, top + 60
    edges = _ordered(track)
    parts = [svg.text(complex(across(0), top + 11), track.name, 10.5, font_weight="bold")]
    expected = [edge for edge in edges if edge.expected_deg is not None]
    said = track.said or ("dashed: where the edges should be" if expected else "")
    parts.append(svg.text(complex(across(CYCLE_DEG), top + 11), said, 9.5, anchor="end"))
    if edges:
        level = low if edges[0].rising else high
        points = [complex(across(0), level)]
        for edge in edges:
            after = high if edge.rising else low
            x = across(edge.angle_deg % CYCLE_DEG)
            points += [complex(x, level), complex(x, after)]
            level = after
        parts.append(svg.path(svg.polyline([*points, complex(across(CYCLE_DEG), level)]), stroke_width=1.6))
    for edge in expected:
        parts += _expected(edge, across, (high, low))
    return [*parts, *_numbers(edges, across, high - 5)]


def _expected(edge: CamEdge, across: Across, levels: tuple[float, float]) -> list[str]:
    """A dashed line where an edge should be, and an arrow from there to where it is."""
    high, low = levels
    x, there = across((edge.expected_deg or 0.0) % CYCLE_DEG), across(edge.angle_deg % CYCLE_DEG)
    parts = [svg.line(complex(x, high - 3), complex(x, low + 8), 1.0, stroke_dasharray="3 2")]
    apart = there - x
    if 5.0 < abs(apart) < (across(CYCLE_DEG) - across(0)) / 2:
        start, tip = complex(x, low + 6), complex(there, low + 6)
        parts += [svg.line(start, tip, 0.9), svg.arrow_head(tip, tip - start, 5.0)]
    return parts


def _numbers(edges: Sequence[CamEdge], across: Across, base: float) -> list[str]:
    """The angle at each edge, in two rows where they stand close."""
    parts, right = [], [-1e9, -1e9]
    for edge in edges:
        words = f"{plain(edge.angle_deg % CYCLE_DEG, 1)}°"
        half = svg.text_width(words, 9) / 2
        x = min(max(across(edge.angle_deg % CYCLE_DEG), across(0) + half), across(CYCLE_DEG) - half)
        row = next((number for number, last in enumerate(right) if x - half > last + 2), None)
        if row is None:
            continue
        right[row] = x + half
        parts.append(svg.text(complex(x, base - 9 * row), words, 9, anchor="middle"))
    return parts


def _speed(speed: SpeedCurve, across: Across, top: float) -> list[str]:
    """The speed over the cycle, with a line and a number at each cylinder's TDC."""
    high, low = top + 22, top + SPEED_HEIGHT - 12
    least, most = float(speed.rpm.min()), float(speed.rpm.max())
    room = max(most - least, 0.02 * most, 1.0)
    floor = (least + most) / 2 - 0.55 * room

    def place(rpm: float) -> float:
        return low - (rpm - floor) / (1.1 * room) * (low - high)

    parts = [svg.text(complex(across(0), top + 9), "speed", 10.5, font_weight="bold")]
    for rpm in (least, most):
        at = complex(across(0), place(rpm))
        parts.append(svg.line(at, complex(across(CYCLE_DEG), at.imag), 0.4, stroke="#bdbdbd"))
        parts.append(svg.text(at - 4 + 3.2j, plain(rpm, 0), 9.5, anchor="end"))
    parts.append(svg.text(complex(across(0) - 4, top + 9), "rpm", 9.5, anchor="end"))
    for words, angle in speed.cylinders:
        x = across(angle % CYCLE_DEG)
        parts.append(svg.line(complex(x, high - 6), complex(x, low + 4), 0.8, stroke_dasharray="1 2"))
        half = svg.text_width(words, 9.5) / 2
        middle = min(max(x, across(0) + half + 34), across(CYCLE_DEG) - half)
        parts.append(svg.text(complex(middle, high - 9), words, 9.5, anchor="middle"))
    runs = np.split(np.arange(speed.rpm.size), np.flatnonzero(np.diff(speed.angles_deg) > 40) + 1)
    for run in runs:
        points = [complex(across(float(speed.angles_deg[at])), place(float(speed.rpm[at]))) for at in run]
        parts += [svg.path(svg.polyline(points), stroke_width=1.3, stroke_linejoin="round")] if len(points) > 1 else []
    return parts
