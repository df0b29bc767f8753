"""Plots: a pluck's spectrum, cam edges on a fixed strip over two crank turns."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from twoturn.picture import svg
from twoturn.quantity.show import decimal_place
from twoturn.words.numbers import plain

Array = NDArray[np.float64]
LEFT, RIGHT = 34.0, 12.0
SHORT = {"compression": "comp."}
STROKES = ("power", "exhaust", "inlet", "compression")


@dataclass(frozen=True)
class Partial:
    """A line of a spectrum.

    Attributes
    ----------
    frequency_hz
        Its frequency [Hz].
    words
        What is written at it.
    """

    frequency_hz: float
    words: str


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
        Where the reference has it [°]; None without one.
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
    """

    name: str
    edges: tuple[CamEdge, ...]


def nice_step(span: float, most: int) -> float:
    """Least step of 1, 2 or 5 times a power of ten that divides ``span`` into at most ``most`` parts [its unit]."""
    power = 10.0 ** np.floor(np.log10(span / most))
    return float(next(power * factor for factor in (1, 2, 5, 10) if span / (power * factor) <= most + 1e-9))


def _ticks(low: float, high: float, most: int) -> list[float]:
    step = nice_step(high - low, most)
    return [step * count for count in range(int(np.ceil(low / step - 1e-9)), int(np.floor(high / step + 1e-9)) + 1)]


def spectrum_svg(
    frequency_hz: Array,
    level_db: Array,
    partials: Sequence[Partial],
    title: str = "Spectrum of the pluck",
    width: float = 360.0,
    family: str = svg.FAMILY,
) -> str:
    """Spectrum of a pluck with its partials named.

    Parameters
    ----------
    frequency_hz, level_db
        Frequencies, rising [Hz], and levels [dB]; shape (n,) each. Thinned to the strongest a page unit.
    partials
        The partials to be named.
    title
        What it shows.
    width
        Width of the picture [page units].
    family
        Font family.

    Returns
    -------
    str
        An SVG document.
    """
    height, top, floor = 216.0, 66.0, 178.0
    low, high = float(frequency_hz[0]), float(frequency_hz[-1])
    peak = float(np.max(level_db))
    bottom = max(float(np.min(level_db)), peak - 70.0)

    def place(hertz: float, level: float) -> complex:
        across = LEFT + (hertz - low) / (high - low) * (width - LEFT - RIGHT)
        return complex(across, floor - (max(level, bottom) - bottom) / (peak - bottom + 3) * (floor - top))

    parts = [svg.text(complex(LEFT, 14), title, 11.5, font_weight="bold")]
    for tick in _ticks(low, high, 6):
        parts.append(svg.line(place(tick, bottom), place(tick, bottom) + 4j, 0.8))
        parts.append(svg.text(place(tick, bottom) + 16j, plain(tick, 3), 10, anchor="middle"))
    for tick in _ticks(bottom - peak, 0.0, 4):
        at = place(low, peak + tick)
        parts += [svg.line(at, at + (width - LEFT - RIGHT), 0.4, stroke="#bdbdbd")]
        parts.append(svg.text(at - 5 + 3.4j, plain(tick, 0), 9.5, anchor="end"))
    parts.append(
        svg.text(
            complex((LEFT + width - RIGHT) / 2, floor + 31),
            "Hz (levels in dB below the strongest)",
            10,
            anchor="middle",
        )
    )
    columns = _strongest(frequency_hz, level_db, int(width - LEFT - RIGHT))
    parts.append(
        svg.path(
            svg.polyline([place(hertz, level) for hertz, level in columns]), stroke_width=1.2, stroke_linejoin="round"
        )
    )
    parts.append(svg.line(place(low, bottom), place(high, bottom), 1.0))
    parts += _named(partials, (low, high), place, (frequency_hz, level_db))
    listed = ", ".join(f"{item.words} at {plain(item.frequency_hz, 1)} Hz" for item in partials)
    desc = f"Levels from {plain(low, 0)} to {plain(high, 0)} Hz. Partials: {listed or 'none found'}."
    return svg.Picture(width, height, title, desc, parts, family).svg()


def _named(partials: Sequence[Partial], limits: tuple[float, float], place, data: tuple[Array, Array]) -> list[str]:  # type: ignore[no-untyped-def]
    """Names of the partials above the curve, dodging each other, each with a foot on the curve."""
    parts = []
    right_of_last = [-1e9, -1e9, -1e9]
    edge = place(limits[1], 0.0).real + RIGHT - 2
    for item in sorted(partials, key=lambda one: one.frequency_hz):
        if not limits[0] <= item.frequency_hz <= limits[1]:
            continue
        tip = place(item.frequency_hz, float(np.interp(item.frequency_hz, *data)))
        half = svg.text_width(item.words, 10) / 2
        row = next((at for at, right in enumerate(right_of_last) if tip.real - half > right + 4), None)
        if row is None:
            continue
        right_of_last[row] = tip.real + half
        head = complex(min(max(tip.real, half + 2), edge - half), 31 + 13 * row)
        parts.append(svg.line(complex(tip.real, head.imag + 3), tip - 2j, 0.8, stroke_dasharray="2 2"))
        back = svg.rect(head - half - 1 - 9j, 2 * half + 2, 12, stroke="none")
        parts += [back, svg.text(head, item.words, 10, anchor="middle"), svg.circle(tip, 2.4, fill=svg.INK)]
    return parts


def _strongest(frequency_hz: Array, level_db: Array, columns: int) -> list[tuple[float, float]]:
    """The strongest level of each column, so that no line is lost."""
    bins = np.array_split(np.arange(len(level_db)), min(columns, len(level_db)))
    picks = [int(part[np.argmax(level_db[part])]) for part in bins if part.size]
    return [(float(frequency_hz[at]), float(level_db[at])) for at in picks]


def cam_edges_svg(
    tracks: Sequence[CamTrack],
    firing_tdc_deg: float | None,
    title: str = "Cam edges over two crank turns",
    width: float = 360.0,
    family: str = svg.FAMILY,
) -> str:
    """Cam edges on a fixed strip over two crank turns, with the strokes of cylinder 1.

    Parameters
    ----------
    tracks
        Cam sensors with their edges, angles on 0 to 720 [°].
    firing_tdc_deg
        Where firing TDC of cylinder 1 lies on that scale [°]; None when it is not known: no strokes then, and said so.
    title
        What it shows.
    width
        Width of the picture [page units].
    family
        Font family.

    Returns
    -------
    str
        An SVG document; levels are drawn as the sensor gives them, a reference dashed.
    """

    def across(angle: float) -> float:
        return LEFT + angle / 720 * (width - LEFT - RIGHT)

    parts = [svg.text(complex(10, 14), title, 11.5, font_weight="bold")]
    top = 24.0
    parts += _strokes(across, firing_tdc_deg, top)
    top += 26.0
    for track in tracks:
        parts += _track(track, across, top)
        top += 62.0
    for angle in range(0, 721, 90):
        parts.append(
            svg.line(complex(across(angle), top), complex(across(angle), top + (5 if angle % 180 == 0 else 3)), 0.8)
        )
        if angle % 180 == 0:
            parts.append(svg.text(complex(across(angle), top + 16), str(angle), 10, anchor="middle"))
    parts.append(svg.line(complex(across(0), top), complex(across(720), top), 1.0))
    parts.append(svg.text(complex(across(360), top + 30), "crank degrees", 10, anchor="middle"))
    said = [f"{track.name}: " + ", ".join(_edge_words(edge) for edge in _ordered(track)) + "." for track in tracks]
    return svg.Picture(width, top + 38, title, " ".join(said), parts, family).svg()


def _ordered(track: CamTrack) -> list[CamEdge]:
    return sorted(track.edges, key=lambda edge: edge.angle_deg % 720)


def _edge_words(edge: CamEdge) -> str:
    return f"{'rising' if edge.rising else 'falling'} edge at {plain(edge.angle_deg % 720, 2)}°"


def _strokes(across, firing_tdc_deg: float | None, top: float) -> list[str]:  # type: ignore[no-untyped-def]
    """The strokes of cylinder 1 as a row of named boxes; a stroke cut by the end of the strip is drawn in two parts."""
    if firing_tdc_deg is None:
        words = "Strokes of cylinder 1 not drawn: gap_to_tdc_deg is not known."
        return [svg.text(complex(across(0), top + 12), words, 10)]
    parts = []
    for number, name in enumerate(STROKES):
        start = (firing_tdc_deg + 180.0 * number) % 720
        pieces = [(start, min(start + 180, 720.0))] + ([(0.0, start - 540)] if start > 540 else [])
        widest = max(pieces, key=lambda piece: piece[1] - piece[0])
        for low, high in pieces:
            fill = svg.PALE if number % 2 == 0 else svg.WHITE
            parts.append(
                svg.rect(complex(across(low), top), across(high) - across(low), 17, fill=fill, stroke_width=0.7)
            )
        middle = complex((across(widest[0]) + across(widest[1])) / 2, top + 12)
        room = across(widest[1]) - across(widest[0])
        words = next((some for some in (name, SHORT.get(name, name)) if svg.text_width(some, 10) <= room), "")
        parts += [svg.text(middle, words, 10, anchor="middle")] if words else []
    parts.append(svg.text(complex(across(0) - 4, top + 12), "cyl. 1", 9.5, anchor="end"))
    return parts


def _track(track: CamTrack, across, top: float) -> list[str]:  # type: ignore[no-untyped-def]
    """One sensor: its level over the strip, a number at each edge, the reference dashed."""
    high, low = top + 26, top + 46
    edges = _ordered(track)
    parts = [svg.text(complex(across(0), top + 9), track.name, 10.5, font_weight="bold")]
    if edges:
        level = low if edges[0].rising else high
        points = [complex(across(0), level)]
        for edge in edges:
            x = across(edge.angle_deg % 720)
            after = high if edge.rising else low
            points += [complex(x, level), complex(x, after)]
            level = after
        parts.append(svg.path(svg.polyline([*points, complex(across(720), level)]), stroke_width=1.6))
    last = -1e9
    for edge in edges:
        x = across(edge.angle_deg % 720)
        if edge.expected_deg is not None:
            mark = across(edge.expected_deg % 720)
            parts.append(svg.line(complex(mark, top + 24), complex(mark, low + 6), 1.0, stroke_dasharray="3 2"))
        words = plain(edge.angle_deg % 720, max(1, min(2, decimal_place(edge.u_deg))) if edge.u_deg else 1) + "°"
        half = svg.text_width(words, 9.5) / 2
        if x - half > last + 2:
            parts.append(svg.text(complex(x, top + 21), words, 9.5, anchor="middle"))
            last = x + half
    if any(edge.expected_deg is not None for edge in edges):
        parts.append(svg.text(complex(across(720), top + 9), "dashed: reference", 9.5, anchor="end"))
    return parts
