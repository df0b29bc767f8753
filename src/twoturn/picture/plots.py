"""Plots: a pluck's spectrum with its partials named."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from twoturn.picture import svg
from twoturn.words.numbers import plain, range_words

Array = NDArray[np.float64]
LEFT, RIGHT = 34.0, 12.0
BAND_TOP = 62.0


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
    *,
    allowed: tuple[float | None, float | None] | None = None,
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
    allowed
        From where to where the first partial may lie [Hz], shaded; None where nothing is required.

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
    if allowed is not None:
        parts += _shaded(allowed, (low, high), place, bottom)
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
    band = "" if allowed is None else f" Allowed for partial 1: {range_words(*allowed, 'Hz')} (shaded)."
    desc = f"Levels from {plain(low, 0)} to {plain(high, 0)} Hz. Partials: {listed or 'none found'}.{band}"
    return svg.Picture(width, height, title, desc, parts, family).svg()


def _shaded(  # type: ignore[no-untyped-def]
    allowed: tuple[float | None, float | None], limits: tuple[float, float], place, bottom: float
) -> list[str]:
    """The band in which the first partial may lie, as far as it is in the picture."""
    start = max(limits[0], allowed[0] if allowed[0] is not None else limits[0])
    end = min(limits[1], allowed[1] if allowed[1] is not None else limits[1])
    if end <= start:
        return []
    left, right = place(start, bottom), place(end, bottom)
    top = complex(left.real, BAND_TOP)
    parts = [svg.rect(top, right.real - left.real, left.imag - BAND_TOP, fill="#dedede", stroke="none")]
    return [*parts, svg.text(complex(left.real + 2, left.imag - 4), "allowed", 8.5)]


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
