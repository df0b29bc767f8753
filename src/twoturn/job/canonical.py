"""Canonical JSON: one text for one value, so that its hash means something.

References
----------
RFC 8785, JSON Canonicalization Scheme (JCS); its numbers are written as ECMAScript's Number::toString does.
"""

from __future__ import annotations

import math
from datetime import date, datetime, time
from typing import Any

from twoturn.errors import TwoTurnError

_SHORT = {"\b": "\\b", "\t": "\\t", "\n": "\\n", "\f": "\\f", "\r": "\\r", '"': '\\"', "\\": "\\\\"}


class CanonicalError(TwoTurnError):
    """A value that canonical JSON cannot hold."""


def canonical_json(value: Any) -> str:
    """Canonical JSON text of ``value``.

    Parameters
    ----------
    value
        None, bool, int, float, str, list, tuple or dict with text keys, nested as wanted. Dates and times become
        their ISO 8601 text.

    Returns
    -------
    str
        The text; encode it as UTF-8 before hashing.

    Raises
    ------
    CanonicalError
        A number that is not finite, a whole number a double cannot hold, a lone surrogate, or a type JSON lacks.

    References
    ----------
    RFC 8785, section 3.2.
    """
    if value is None or isinstance(value, bool):
        return {None: "null", True: "true", False: "false"}[value]
    if isinstance(value, str):
        return _text(value)
    if isinstance(value, int):
        return number_text(_exact(value))
    if isinstance(value, float):
        return number_text(value)
    if isinstance(value, datetime | date | time):
        return _text(value.isoformat())
    if isinstance(value, list | tuple):
        return "[" + ",".join(canonical_json(item) for item in value) + "]"
    if isinstance(value, dict):
        return _object(value)
    raise CanonicalError(f"a {type(value).__name__} has no JSON form")


def _exact(value: int) -> float:
    try:
        number = float(value)
    except OverflowError:
        number = math.inf
    if number != value:
        raise CanonicalError(f"the whole number {value} cannot be kept exactly", allowed="up to ±2^53")
    return number


def _object(value: dict[Any, Any]) -> str:
    for key in value:
        if not isinstance(key, str):
            raise CanonicalError(f"the key {key!r} is no text")
    keys = sorted(value, key=lambda key: key.encode("utf-16-be", "surrogatepass"))
    return "{" + ",".join(f"{_text(key)}:{canonical_json(value[key])}" for key in keys) + "}"


def _text(text: str) -> str:
    out = []
    for char in text:
        if char in _SHORT:
            out.append(_SHORT[char])
        elif char < " ":
            out.append(f"\\u{ord(char):04x}")
        elif "\ud800" <= char <= "\udfff":
            raise CanonicalError(f"the text {text!r} holds half a character (a lone surrogate)")
        else:
            out.append(char)
    return '"' + "".join(out) + '"'


def number_text(number: float) -> str:
    """The shortest text that reads back as the same number, laid out as ECMAScript does.

    Parameters
    ----------
    number
        Any finite number [-].

    Returns
    -------
    str
        Such as ``"0.000001"``, ``"1e-7"``, ``"1e+21"``.

    Raises
    ------
    CanonicalError
        The number is not finite.

    References
    ----------
    ECMA-262, Number::toString; RFC 8785, section 3.2.2.3 and appendix B.
    """
    if not math.isfinite(number):
        raise CanonicalError(f"{number} is no number JSON can hold")
    if number == 0:
        return "0"
    sign = "-" if number < 0 else ""
    mantissa, _, exponent = f"{abs(number)!r}".partition("e")
    whole, _, fraction = mantissa.partition(".")
    fraction = "" if fraction == "0" else fraction
    digits = (whole + fraction).lstrip("0")
    point = len(whole) + int(exponent or 0) - (len(whole + fraction) - len(digits))
    digits = digits.rstrip("0")
    return sign + _laid_out(digits, point)


def _laid_out(digits: str, point: int) -> str:
    count = len(digits)
    if count <= point <= 21:
        return digits + "0" * (point - count)
    if 0 < point <= 21:
        return f"{digits[:point]}.{digits[point:]}"
    if -6 < point <= 0:
        return "0." + "0" * -point + digits
    tail = f".{digits[1:]}" if count > 1 else ""
    return f"{digits[0]}{tail}e{point - 1:+d}"
