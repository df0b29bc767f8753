"""Units as the Digital System of Units writes them: ``\\newton\\metre``, ``\\kilo\\newton\\metre``, ``\\percent``."""

from __future__ import annotations

import re
from typing import Final

Dimension = tuple[int, int, int]
"""Powers of kilogram, metre and second [-]."""

PREFIXES: Final = {"deca": 1e1, "hecto": 1e2, "kilo": 1e3, "mega": 1e6, "giga": 1e9,
                   "deci": 1e-1, "centi": 1e-2, "milli": 1e-3, "micro": 1e-6, "nano": 1e-9}  # fmt: skip
UNITS: Final[dict[str, tuple[float, Dimension]]] = {
    "newton": (1.0, (1, 1, -2)),
    "metre": (1.0, (0, 1, 0)),
    "meter": (1.0, (0, 1, 0)),
    "kilogram": (1.0, (1, 0, 0)),
    "gram": (1e-3, (1, 0, 0)),
    "second": (1.0, (0, 0, 1)),
    "one": (1.0, (0, 0, 0)),
    "percent": (0.01, (0, 0, 0)),
}
TORQUE: Final[Dimension] = (1, 2, -2)
PLAIN: Final[Dimension] = (0, 0, 0)
_TOKEN = re.compile(r"\\([a-z]+)(?:\{(-?\d{1,2})\})?|(?P<bad>\S)")


def size_of(unit: str) -> tuple[float, Dimension] | None:
    """How large a unit is in kilogram, metre and second, and its powers; None for a unit that no torque needs.

    Parameters
    ----------
    unit
        As the Digital System of Units writes it.

    Returns
    -------
    tuple of float and Dimension, or None
        Size [kg·m·s to those powers], and the powers [-].

    References
    ----------
    Digital System of Units (D-SI), SmartCom project: names after BIPM's SI brochure, prefixes before, ``\\tothe``
    and ``\\per``.
    """
    size, powers, prefix, sign, last = 1.0, [0, 0, 0], 1.0, 1, None
    for token in _TOKEN.finditer(unit.strip()):
        word, number = token.group(1), token.group(2)
        if token.group("bad"):
            return None
        if word in PREFIXES:
            prefix *= PREFIXES[word]
        elif word == "per":
            sign = -1
        elif word == "tothe" and number is not None and last is not None:
            factor, dimension, way = last
            more = int(number) - 1
            size *= factor ** (way * more)
            powers = [power + way * more * one for power, one in zip(powers, dimension, strict=True)]
        elif word in UNITS:
            factor, dimension = UNITS[word][0] * prefix, UNITS[word][1]
            size *= factor**sign
            powers = [power + sign * one for power, one in zip(powers, dimension, strict=True)]
            last, prefix, sign = (factor, dimension, sign), 1.0, 1
        else:
            return None
    return (size, (powers[0], powers[1], powers[2])) if last is not None else None


def torque_nm(value: float, unit: str) -> float | None:
    """A value [unit] as a torque [N·m]; None where the unit is none of a torque."""
    found = size_of(unit)
    return value * found[0] if found is not None and found[1] == TORQUE else None


def share(value: float, unit: str) -> float | None:
    """A value [unit] as a share [-]; None where the unit is no plain number or per cent."""
    found = size_of(unit)
    return value * found[0] if found is not None and found[1] == PLAIN else None
