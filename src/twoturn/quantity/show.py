"""Readings and limits as people read them: "101.2 ± 1.8 Hz (19 of 20 times)"."""

from __future__ import annotations

import math

from twoturn.quantity.reading import Reading

NO_GAP = ("°", "%")
CONFIDENCE = "(19 of 20 times)"

_LOPSIDED = 0.1  # of the interval's width: beyond it the two ends are printed instead of ±
_MOST_DECIMALS = 9
_FEW = 3  # a first digit below this is coarse by itself and takes a second one


def show(reading: Reading, *, confidence: bool = False) -> str:
    """A reading with the half width U of its 95 % interval, in the reading's unit.

    Parameters
    ----------
    reading
        The reading; a counted or exact one (U = 0) is shown alone.
    confidence
        Whether to add how often the interval holds: "(19 of 20 times)".

    Returns
    -------
    str
        ``101.2 ± 1.8 Hz``: U with the digits that :func:`decimal_place` gives it, the value to the same place; an
        interval that is clearly not symmetric about the value as ``150 Hz, from 0 to 370 Hz``.

    References
    ----------
    JCGM 100:2008, 7.2.6 (digits).
    """
    half = reading.expanded
    if half == 0:
        return plus_minus(reading.value, half, reading.unit)
    lopsided = abs(reading.high + reading.low - 2 * reading.value) > _LOPSIDED * 2 * half
    if lopsided:
        place = decimal_place(half)
        ends = f"from {_rounded(reading.low, place)} to {_united(_rounded(reading.high, place), reading.unit)}"
        text = f"{_united(_rounded(reading.value, place), reading.unit)}, {ends}"
    else:
        text = plus_minus(reading.value, half, reading.unit)
    return f"{text} {CONFIDENCE}" if confidence else text


def plus_minus(value: float, half: float, unit: str) -> str:
    """A value with the half width U of its 95 % interval, both [unit]: ``101.2 ± 1.8 Hz``; alone where U is 0."""
    if not half > 0:
        return _united(_trimmed(value), unit)
    place = decimal_place(half)
    return _united(f"{_rounded(value, place)} ± {_rounded(half, place)}", unit)


def half_width(half: float, unit: str) -> str:
    """A half width or an uncertainty alone [unit], with the digits it is printed with behind ±: ``1.8 Hz``, ``6 N``."""
    return _united(_rounded(half, decimal_place(half)), unit) if half > 0 else _united("0", unit)


def decimal_place(half: float) -> int:
    """Decimals [-] to which a value and its ``half`` [any unit, above 0] are printed; negative for tens and hundreds.

    Two significant digits of ``half`` where its first is 1 or 2 and the second is no 0 (0.12, 2.6), else one (0.1, 0.4,
    8): more than the uncertainty supports is not printed. At most two digits: JCGM 100:2008, 7.2.6.
    """
    place = -math.floor(math.log10(half))
    if half * 10.0**place < _FEW:
        place += 1
    if round(half * 10.0**place) % 10 == 0:  # 0.101 and 0.096 both end as 0.1
        place -= 1
    return min(place, _MOST_DECIMALS)


def _rounded(value: float, place: int) -> str:
    text = f"{round(value, place):.{max(place, 0)}f}"
    return _signed(text)


def _trimmed(value: float) -> str:
    text = f"{value:.6f}" if abs(value) >= 1 else f"{value:.9f}"
    return _signed(text.rstrip("0").rstrip("."))


def _signed(text: str) -> str:
    return text.lstrip("-") if not text.strip("-0.") else text.replace("-", "−")


def _united(text: str, unit: str) -> str:
    if unit in ("", "-"):
        return text
    return text + unit if unit.startswith("° ") or unit in NO_GAP else f"{text} {unit}"
