"""The units of the trade: how people write them, what they measure, and how they convert."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from twoturn.errors import QuantityError

_NEWTON_PER_KGF = 9.80665
_NEWTON_PER_LBF = 4.4482216152605
_MM_PER_INCH = 25.4


@dataclass(frozen=True)
class Unit:
    """One unit.

    Attributes
    ----------
    symbol
        As printed.
    measures
        What it measures: only units that measure the same convert into each other.
    factor
        Size in the first unit of its kind [first unit per this unit].
    offset
        Where its zero lies, in the first unit of its kind.
    """

    symbol: str
    measures: str
    factor: float
    offset: float = 0.0


_LBF_IN = _NEWTON_PER_LBF * _MM_PER_INCH / 1000
_TABLE: dict[str, list[tuple[str, float, str]]] = {
    # kind: (symbol, size in the first unit, other spellings once blanks, dots, hyphens and stars are taken out)
    "torque": [
        ("N·m", 1, "Nm newtonmetre newtonmetres newtonmeter newtonmeters"),
        ("N·cm", 0.01, "Ncm"),
        ("daN·m", 10, "daNm mdaN"),
        ("kgf·m", _NEWTON_PER_KGF, "kgfm kgm mkg mkgf mkp kpm"),
        ("kgf·cm", _NEWTON_PER_KGF / 100, "kgfcm kgcm"),
        ("lbf·ft", 12 * _LBF_IN, "lbfft ftlbf ftlb ftlbs lbft lbsft footpound footpounds poundfoot poundfeet"),
        ("lbf·in", _LBF_IN, "lbfin inlbf inlb inlbs lbin lbsin inchpound inchpounds"),
    ],
    "length": [
        ("mm", 1, "millimetre millimetres millimeter millimeters"),
        ("µm", 1e-3, "um micron microns"),
        ("cm", 10, "centimetre centimetres"),
        ("m", 1000, "metre metres meter meters"),
        ("km", 1e6, "kms kilometre kilometres kilometer kilometers"),
        ("in", _MM_PER_INCH, "inch inches \" ″ '' zoll"),
        ("ft", 12 * _MM_PER_INCH, "foot feet"),
        ("mi", 1609344, "mile miles"),
    ],
    "rotational speed": [("rpm", 1, "r/min rev/min U/min 1/min min1 min⁻¹ /min")],
    "frequency": [("Hz", 1, "hertz 1/s s1 s⁻¹"), ("kHz", 1000, "kilohertz")],
    "force": [
        ("N", 1, "newton newtons"),
        ("kN", 1000, "kilonewton kilonewtons"),
        ("daN", 10, "dekanewton"),
        ("kgf", _NEWTON_PER_KGF, "kp"),
        ("lbf", _NEWTON_PER_LBF, ""),
    ],
    "angle": [
        ("°", 1, "deg degs degree degrees º"),
        ("rad", 180 / math.pi, "radian radians"),
        ("turn", 360, "turns rev revs"),
    ],
    "pressure": [
        ("bar", 1, "bars"),
        ("mbar", 1e-3, ""),
        ("Pa", 1e-5, "pascal"),
        ("kPa", 1e-2, ""),
        ("MPa", 10, "N/mm² N/mm2"),
        ("psi", _NEWTON_PER_LBF / _MM_PER_INCH**2 * 10, "lbf/in² lbf/in2"),
    ],
    "mass": [
        ("g", 1, "gram grams gramme grammes"),
        ("kg", 1000, "kilo kilos kilogram kilograms"),
        ("oz", 28.349523125, "ounce ounces"),
        ("lb", 453.59237, "lbs pound pounds"),
    ],
    "mass per length": [("kg/m", 1, ""), ("g/m", 1e-3, ""), ("lb/ft", 0.45359237 / 0.3048, "lbs/ft")],
    "time": [
        ("min", 1, "mins minute minutes"),
        ("s", 1 / 60, "sec secs second seconds"),
        ("ms", 1 / 60000, ""),
        ("h", 60, "hr hrs hour hours"),
    ],
    "volume": [("l", 1, "litre litres liter liters"), ("ml", 1e-3, "")],
    "voltage": [("V", 1, "volt volts"), ("mV", 1e-3, "")],
    "share": [("%", 1, "percent")],
    "plain number": [("-", 1, "")],
}
_TEMPERATURES = (
    Unit("°C", "temperature", 1.0),
    Unit("°F", "temperature", 5 / 9, -160 / 9),
    Unit("K", "temperature", 1.0, -273.15),
)
_TEMPERATURE_SPELLINGS = {
    "°C": "C degC degreesC celsius ºC ℃",
    "°F": "F degF degreesF fahrenheit ºF ℉",
    "K": "kelvin",
}


def _keyed(text: str) -> str:
    return re.sub(r"[\s.·⋅∙•*×_-]", "", text).replace("μ", "µ")


def _build() -> tuple[dict[str, Unit], dict[str, Unit], dict[str, Unit]]:
    symbols = {unit.symbol: unit for unit in _TEMPERATURES}
    exact: dict[str, Unit] = {}
    for measures, rows in _TABLE.items():
        for symbol, factor, spellings in rows:
            symbols[symbol] = Unit(symbol, measures, factor)
            exact |= dict.fromkeys([_keyed(symbol), *spellings.split()], symbols[symbol])
    for symbol, spellings in _TEMPERATURE_SPELLINGS.items():
        exact |= dict.fromkeys([symbol, *spellings.split()], symbols[symbol])
    exact.pop("", None)
    loose: dict[str, Unit] = {}
    for spelling, unit in exact.items():
        loose.setdefault(spelling.casefold(), unit)
    return symbols, exact, loose


_SYMBOLS, _EXACT, _LOOSE = _build()


def find_unit(text: str) -> Unit:
    """The unit a person means.

    Parameters
    ----------
    text
        As typed: ``Nm``, ``N·m``, ``ft-lb``, ``deg``, ``°C``; capitals matter only where two units differ by them.

    Returns
    -------
    Unit
        The unit.

    Raises
    ------
    QuantityError
        Not a unit of the trade.
    """
    key = _keyed(text)
    found = _SYMBOLS.get(text.strip()) or _EXACT.get(key) or _LOOSE.get(key.casefold())
    if found is None:
        raise QuantityError(
            f"{text.strip()[:40]!r} is not a unit known here",
            allowed=", ".join(symbol for symbol in _SYMBOLS if symbol != "-"),
        )
    return found


def known_units(measures: str) -> list[str]:
    """Symbols of all units that measure the same thing, such as ``torque``."""
    return [unit.symbol for unit in _SYMBOLS.values() if unit.measures == measures]


def convert(value: float, source: str, target: str) -> float:
    """A value in another unit of the same kind.

    Parameters
    ----------
    value
        The value [``source``].
    source, target
        Units as people write them.

    Returns
    -------
    float
        The value [``target``].

    Raises
    ------
    QuantityError
        An unknown unit, or two that measure different things.

    References
    ----------
    ISO 80000-4 and the exact definitions of pound, inch and standard gravity (9.80665 m/s²).
    """
    old, new = find_unit(source), find_unit(target)
    if old.measures != new.measures:
        raise QuantityError(
            f"{old.symbol} measures {old.measures}, but {new.measures} is wanted",
            allowed=", ".join(known_units(new.measures)),
        )
    if old == new:
        return value
    return (value * old.factor + old.offset - new.offset) / new.factor
