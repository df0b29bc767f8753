"""A value with its uncertainty against its requirement: a sentence over a small horizontal band."""

from __future__ import annotations

import numpy as np

from twoturn.picture import svg
from twoturn.quantity.show import decimal_place, half_width, plus_minus
from twoturn.words.numbers import plain, pointer_words, range_words, window_words

Limits = tuple[float | None, float | None]
POINTERS = ("pointer",)


def band_svg(
    value: tuple[float, float],
    limits: Limits,
    unit: str,
    verdict: str = "",
    *,
    quantity: str = "",
    width: float = 360.0,
    family: str = svg.FAMILY,
) -> str:
    """A value with its uncertainty against its requirement.

    Parameters
    ----------
    value
        Value and half width U of its 95 % interval [unit].
    limits
        Low and high limit [unit]; None where there is none.
    unit
        Unit as printed.
    verdict
        Verdict word, printed at the end; none when empty.
    quantity
        "pointer" says past and short of the notch instead of signs.
    width
        Width of the picture [page units].
    family
        Font family.

    Returns
    -------
    str
        An SVG document.
    """
    said = band_words(value, limits, unit, quantity) + (f": {verdict}" if verdict else "")
    rows = svg.wrapped(said, 11, width - 20)
    top = 14.0 * (len(rows) - 1)
    start, stop = _reach(value, limits)
    parts = [svg.text(complex(10, 13 + 14 * row), words, 11) for row, words in enumerate(rows)]

    def across(amount: float) -> float:
        return 10 + (amount - start) / (stop - start) * (width - 20)

    left, right = (across(start if limits[0] is None else limits[0]), across(stop if limits[1] is None else limits[1]))
    middle = top + 36
    parts.append(svg.line(complex(10, middle), complex(width - 10, middle), 0.8))
    parts.append(svg.rect(complex(left, middle - 9), right - left, 18, fill="#dcdcdc", stroke="none"))
    for limit in limits:
        if limit is not None:
            x = across(limit)
            parts.append(svg.line(complex(x, middle - 12), complex(x, middle + 12), 1.6))
            parts.append(svg.text(complex(x, middle + 23), _limit_words(limit, unit, quantity), 10, anchor="middle"))
    one, number, other = (across(value[0] + part * value[1]) for part in (-1, 0, 1))
    parts.append(svg.line(complex(one, middle), complex(other, middle), 2.0))
    parts += [svg.line(complex(x, middle - 5), complex(x, middle + 5), 1.6) for x in (one, other) if value[1] > 0]
    parts.append(svg.circle(complex(number, middle), 3.6, fill=svg.INK))
    return svg.Picture(width, middle + 29, "Value against its requirement", said + ".", parts, family).svg()


def band_words(value: tuple[float, float], limits: Limits, unit: str, quantity: str = "") -> str:
    """The sentence over the band.

    Parameters
    ----------
    value
        Value and half width U of its 95 % interval [unit].
    limits
        Low and high limit [unit]; None where there is none.
    unit, quantity
        As for :func:`band_svg`.
    """
    number, expanded = value
    low, high = limits
    if quantity in POINTERS:
        places = max(0, decimal_place(expanded)) if expanded > 0 else 1
        shown = f"{pointer_words(number, unit, places)} ± {half_width(expanded, unit)}"
    else:
        shown = plus_minus(number, expanded, unit)
    if low is None or high is None:
        return f"{shown}, required {range_words(low, high, unit)}" if (low, high) != (None, None) else shown
    where = _where(number, expanded, limits)
    if quantity in POINTERS:
        return f"{shown}, {where} the allowed range, {window_words(low, high, unit)}"
    return f"{shown}, {where} {range_words(low, high, unit)}"


def _limit_words(limit: float, unit: str, quantity: str) -> str:
    if quantity not in POINTERS:
        return plain(limit, 3)
    return pointer_words(limit, unit).removesuffix(" the notch").removesuffix(" of") if limit else "notch"


def _reach(value: tuple[float, float], limits: Limits) -> tuple[float, float]:
    """What the band spans, with a quarter to spare either side."""
    ends = [value[0] - value[1], value[0] + value[1], *(limit for limit in limits if limit is not None)]
    room = max(ends) - min(ends) or abs(value[0]) or 1.0
    return min(ends) - 0.25 * room, max(ends) + 0.25 * room


def _where(number: float, expanded: float, limits: Limits) -> str:
    """Inside, outside or across the edge of two limits, by the whole interval."""
    low = -np.inf if limits[0] is None else limits[0]
    high = np.inf if limits[1] is None else limits[1]
    if low <= number - expanded and number + expanded <= high:
        return "inside"
    if number + expanded < low or number - expanded > high:
        return "outside"
    return "across the edge of"
