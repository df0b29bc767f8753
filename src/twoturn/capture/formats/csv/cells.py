"""What one cell of a text capture means: a number, a level in words, a time of day, an overload, nothing."""

from __future__ import annotations

import math
import re
from typing import Final

WORDS: Final[dict[str, float]] = dict.fromkeys(
    ("true", "high", "hi", "on", "h", "t", "yes", "rising", "rise", "r", "up", "pos", "positive", "set", "↑"), 1.0
) | dict.fromkeys(
    ("false", "low", "lo", "off", "l", "f", "no", "falling", "fall", "down", "neg", "negative", "clear", "↓"), 0.0
)
"""Levels in words, and edges by the level they lead to [-]."""
_ABOVE = ("inf", "infinity", "∞", "1.#inf", "ol", "ovl", "ovld", "over", "overload", "overflow", "overrange", "clipped")
OVER: Final[dict[str, float]] = {
    **dict.fromkeys((*_ABOVE, *(f"+{word}" for word in _ABOVE), "over range", ">"), math.inf),
    **dict.fromkeys((*(f"-{word}" for word in _ABOVE), "−∞", "under", "underflow", "<"), -math.inf),
}
MISSING: Final = frozenset(
    ("nan", "+nan", "-nan", "1.#qnan", "-1.#ind", "1.#ind", "n/a", "#n/a", "na", "null", "none", "nil", "-", "--",
     "---", "?", "*", "**", "***", "****", "*****", "x", "z")
)  # fmt: skip
NUMBER: Final = re.compile(r"^[+-]?(\d+\.?\d*|\.\d+)([eEdD][+-]?\d{1,3})?$")
DATE: Final = re.compile(r"^(\d{4}[-/.]\d{1,2}[-/.]\d{1,2}|\d{1,2}[-/.]\d{1,2}[-/.](\d{4}|\d{2}))$")
CLOCK: Final = re.compile(
    r"^(?:(?:\d{4}[-/.]\d{1,2}[-/.]\d{1,2}|\d{1,2}[-/.]\d{1,2}[-/.]\d{2,4})(?:T|\s+))?"
    r"(?P<a>\d{1,4}):(?P<b>\d{1,2})(?::(?P<c>\d{1,2}))?(?:(?P<mark>[.,:])(?P<part>\d{1,9}))?"
    r"\s*(?P<half>[AaPp]\.?[Mm]\.?)?\s*(?:Z|UTC|[+-]\d{2}:?\d{2})?$"
)
_SUFFIX = re.compile(r"^([+-]?[\d.,]+(?:[eE][+-]?\d{1,3})?)\s*(s|ms|us|µs|μs|ns|V|mV|uV|µV|μV|kV|A|mA|°|deg|%)$")
_SCALES = {"s": 1.0, "ms": 1e-3, "us": 1e-6, "µs": 1e-6, "μs": 1e-6, "ns": 1e-9, "mV": 1e-3, "uV": 1e-6, "µV": 1e-6,
           "μV": 1e-6, "kV": 1e3, "mA": 1e-3}  # fmt: skip
TIME_SUFFIXES: Final = ("s", "ms", "us", "µs", "μs", "ns")
_INNER_BLANK = re.compile(r"(?<=\d)[ \u00a0\u2009\u202f'’](?=\d{3}(?:\D|$))")


def cell_value(cell: str, decimal: str) -> float | None:
    """What a cell says.

    Parameters
    ----------
    cell
        Its text, blanks and quotation marks taken off, not empty.
    decimal
        The decimal sign of the file: ``"."``, ``","``, or ``"*"`` where both are.

    Returns
    -------
    float or None
        A number; seconds of a time of day; NaN for no value, infinite for an overload; None where it says nothing.
    """
    plain = plain_number(cell, decimal)
    if NUMBER.match(plain):
        value = float(plain.replace("D", "e").replace("d", "e"))
        return value if math.isfinite(value) else None
    low = cell.lower()
    for table in (WORDS, OVER):
        if low in table:
            return table[low]
    if low in MISSING:
        return math.nan
    if (seconds := clock_s(cell)) is not None:
        return seconds
    if DATE.match(cell):
        return 0.0
    if match := _SUFFIX.match(cell):
        plain = plain_number(match.group(1), decimal)
        if NUMBER.match(plain):
            return float(plain) * _SCALES.get(match.group(2), 1.0)
    return None


def plain_number(cell: str, decimal: str) -> str:
    """A number with a point and without marks between thousands, if the cell holds one.

    Parameters
    ----------
    cell
        Text of a cell.
    decimal
        The decimal sign of the file.
    """
    if not cell.isascii() or "'" in cell or " " in cell:
        cell = _INNER_BLANK.sub("", cell).replace("−", "-")
    comma = cell.rfind(",")
    if comma < 0:
        if decimal == "," and "." in cell:
            return _without_marks(cell, ".")
        return cell
    point = cell.rfind(".")
    if point >= 0:
        return cell.replace(",", "") if point > comma else cell.replace(".", "").replace(",", ".")
    if decimal == ".":
        return _without_marks(cell, ",")
    return cell.replace(",", ".") if cell.count(",") == 1 else cell.replace(",", "")


def _without_marks(cell: str, mark: str) -> str:
    """A number whose groups of three are parted by a mark; as it is where the mark is a decimal sign."""
    groups = cell.lstrip("+-").split(mark)
    if len(groups[0]) <= 3 and groups[0] not in ("", "0") and all(len(group) == 3 for group in groups[1:]):
        return cell.replace(mark, "")
    return cell.replace(mark, ".")


def clock_s(cell: str) -> float | None:
    """Seconds of a time of day, with or without a date; None where the cell is none [s].

    Parameters
    ----------
    cell
        Such as ``12:34:56.789``, ``34:56,7``, ``12:34:56:789``, ``2020-05-01T12:34:56Z`` or ``1:02:03 PM``.
    """
    if ":" not in cell or (match := CLOCK.match(cell)) is None:
        return None
    part = match["part"] or ""
    fraction = int(part) / 10 ** len(part) if part else 0.0
    if match["c"] is None:
        return int(match["a"]) * 60 + int(match["b"]) + fraction
    hours = int(match["a"])
    if match["half"]:
        hours = hours % 12 + (12 if match["half"][0] in "pP" else 0)
    return hours * 3600 + int(match["b"]) * 60 + int(match["c"]) + fraction


def has_time_suffix(cell: str) -> bool:
    """Whether a cell is a number with a unit of time behind it."""
    match = _SUFFIX.match(cell)
    return bool(match and match.group(2) in TIME_SUFFIXES)


def decimal_sign(cells: list[str]) -> str:
    """The decimal sign of a file by cells of its rows.

    Parameters
    ----------
    cells
        Cells of some hundred rows.

    Returns
    -------
    str
        ``"."``, ``","``, or ``"*"`` where both are used.
    """
    sure: set[str] = set()
    weak: set[str] = set()
    for cell in cells:
        body = cell.lstrip("+-")
        points, commas = body.count("."), body.count(",")
        if (not points and not commas) or ":" in body or DATE.match(body):
            continue
        if points and commas:
            sure.add("." if body.rfind(".") > body.rfind(",") else ",")
        elif points > 1 or commas > 1:
            sure.add("," if points else ".")
        else:
            mark = "." if points else ","
            before, _, after = body.partition(mark)
            unclear = len(after) == 3 and after.isdecimal() and 0 < len(before) <= 3 and before != "0"
            (weak if unclear else sure).add(mark)
    seen = sure or weak
    if len(seen) > 1:
        return "*"
    return seen.pop() if seen else "."
