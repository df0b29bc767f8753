"""Numbers as people type them: "12,5 mm" and "12.5 mm" are the same, and nothing is guessed by a factor of ten."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from twoturn.errors import QuantityError
from twoturn.quantity.units import Unit, convert, find_unit, known_units

_BLANKS = re.compile(r"[\u00a0\u2007\u2009\u202f\t\r\n]")
_HEAD = re.compile(
    r"""\s*(?P<number>[+\-−–]?\s*(?:
        (?:\d+\s+)?\d+\s*/\s*\d+(?!\s*/) |
        [.,]?\d(?:[\d.,'’]|\ (?=\d{3}(?!\d)))*(?:[eE][+\-−]?\d+)?
    ))(?P<unit>.*)""",
    re.VERBOSE | re.DOTALL | re.ASCII,
)


@dataclass(frozen=True)
class Typed:
    """A number as understood.

    Attributes
    ----------
    value
        The number, in ``unit``.
    unit
        Unit as printed.
    typed_value
        The number as typed, in ``typed_unit``.
    typed_unit
        Unit as typed, or ``unit`` when none was typed.
    assumed
        True when no unit was typed and the wanted one was taken.
    """

    value: float
    unit: str
    typed_value: float
    typed_unit: str
    assumed: bool = False

    @property
    def echo(self) -> str:
        """What was understood, to show before anything is judged: ``12.5 mm``, ``18 lbf·ft = 24.4 N·m``."""
        typed = _with_unit(f"{self.typed_value:.10g}", self.typed_unit)
        if self.typed_unit != self.unit:
            return f"{typed} = {_with_unit(f'{self.value:.6g}', self.unit)}"
        return f"{typed} (taken as {self.unit})" if self.assumed and self.unit != "-" else typed


def parse_number(text: str, within: tuple[float, float] | None = None) -> float:
    """A plain number with decimal comma or point.

    Parameters
    ----------
    text
        As typed. Groups of three may be set apart by blanks, apostrophes, or the mark that is not the decimal one.
    within
        Least and greatest sensible value [-]; decides what ``1.234`` means when only one meaning lies inside.

    Returns
    -------
    float
        The number [-].

    Raises
    ------
    QuantityError
        Not a number, or one that can be read in two ways: ``1.234`` and ``1,234`` may be a thousand or one.
    """
    cleaned = text.strip().replace("−", "-").replace("–", "-")
    sign = -1.0 if cleaned.startswith("-") else 1.0
    body = cleaned.lstrip("+-").strip()
    if len(cleaned) - len(cleaned.lstrip("+-")) > 1 or not body:
        raise _not_a_number(text)
    if "/" in body:
        return sign * _fraction(text, body)
    mantissa, _, exponent = body.lower().partition("e")
    if exponent:  # written by a machine: its mark is the decimal one
        return sign * _scientific(text, mantissa.replace(",", "."), exponent)
    return sign * _mantissa(text, mantissa, within, sign)


def parse(text: str, unit: str | None = None, within: tuple[float, float] | None = None) -> Typed:
    """A number with its unit, as people type it.

    Parameters
    ----------
    text
        As typed: ``12,5 mm``, ``12.5mm``, ``18 ft-lb``, ``1/2 in``.
    unit
        The unit wanted; a number without unit is taken in it, one in another unit of the same kind is converted.
        Without it a unit must be typed, and the number stays in it (``-`` for a plain number).
    within
        Least and greatest sensible value [``unit``, or the typed unit]; beyond it is refused.

    Returns
    -------
    Typed
        The number as understood, with ``echo`` to show it.

    Raises
    ------
    QuantityError
        No number, a number that can be read in two ways, an unknown or missing unit, one that measures something else,
        or a value beyond ``within``.
    """
    head = _HEAD.fullmatch(_plain_blanks(text))
    if head is None:
        raise _not_a_number(text)
    written = head["unit"].strip()
    typed_unit = _typed_unit(text, written, unit)
    wanted = find_unit(unit) if unit is not None else typed_unit
    number = head["number"]
    if "/" in number and typed_unit.measures != "length":
        raise QuantityError(f"{_short(text)!r} is a fraction", allowed="fractions of an inch only")
    bounds = None if within is None else _bounds(within, wanted, typed_unit)
    typed = parse_number(number, bounds)
    value = convert(typed, typed_unit.symbol, wanted.symbol)
    if within is not None and not within[0] <= value <= within[1]:
        raise QuantityError(
            f"{_with_unit(f'{value:.6g}', wanted.symbol)} (typed as {_short(text)!r}) cannot be right",
            allowed=f"{within[0]:g} to {_with_unit(f'{within[1]:g}', wanted.symbol)}",
        )
    return Typed(value, wanted.symbol, typed, typed_unit.symbol, assumed=not written)


def _typed_unit(text: str, written: str, wanted: str | None) -> Unit:
    if not written:
        if wanted is None:
            raise QuantityError(f"{_short(text)!r} has no unit", next_step="write the unit behind the number")
        return find_unit(wanted)
    try:
        found = find_unit(written)
    except QuantityError:
        kind = find_unit(wanted).measures if wanted else ""
        allowed = "a number alone" if kind == "plain number" else ", ".join(known_units(kind)) if kind else ""
        where = "" if len(text) > 40 else f" in {_short(text)!r}"
        message = f"{_short(written)!r}{where} is not a unit known here"
        raise QuantityError(message, allowed=allowed, next_step="write one number and its unit") from None
    if wanted is not None and found.measures != find_unit(wanted).measures:
        kind = find_unit(wanted).measures
        allowed = "a number alone" if kind == "plain number" else ", ".join(known_units(kind))
        raise QuantityError(f"{_short(text)!r} is a {found.measures}, but a {kind} is wanted", allowed=allowed)
    return found


def _bounds(within: tuple[float, float], wanted: Unit, typed: Unit) -> tuple[float, float]:
    low, high = (convert(end, wanted.symbol, typed.symbol) for end in within)
    return low, high


def _scientific(text: str, mantissa: str, exponent: str) -> float:
    if not re.fullmatch(r"\d*\.?\d*", mantissa, re.ASCII) or not re.fullmatch(r"[+-]?\d{1,3}", exponent, re.ASCII):
        raise _not_a_number(text)
    value = float(f"{mantissa}e{exponent}")
    if not math.isfinite(value):
        raise _not_a_number(text)
    return value


def _mantissa(text: str, body: str, within: tuple[float, float] | None, sign: float) -> float:
    """Digits with at most one decimal mark and groups of three."""
    marks = [char for char in body if char in ".,"]
    if not re.fullmatch(r"[\d.,'’ ]*\d[\d.,'’ ]*", body, re.ASCII):
        raise _not_a_number(text)
    if len(set(marks)) == 2:  # the last one is the decimal mark, the other sets thousands apart
        decimal, group = marks[-1], marks[0]
        whole, _, rest = body.rpartition(decimal)
        if decimal in whole or group in rest:
            raise _not_a_number(text)
        return float(_whole(text, whole, group) + "." + _decimals(text, rest))
    if len(marks) > 1:
        return float(_whole(text, body, marks[0]))
    if not marks:
        return float(_whole(text, body, ""))
    whole, _, rest = body.partition(marks[0])
    if re.fullmatch(r"[1-9]\d{0,2}", whole, re.ASCII) and re.fullmatch(r"\d{3}", rest, re.ASCII):
        return _one_of_two(text, f"{whole}.{rest}", whole + rest, within, sign)
    return float((_whole(text, whole, "") if whole else "0") + "." + _decimals(text, rest))


def _one_of_two(text: str, small: str, large: str, within: tuple[float, float] | None, sign: float) -> float:
    """``1.234``: one or a thousand? Only the sensible range can say."""
    both = (float(small), float(large))
    fitting = [value for value in both if within is not None and within[0] <= sign * value <= within[1]]
    if len(fitting) == 1:
        return fitting[0]
    raise QuantityError(
        f"{_short(text)!r} can mean {both[0]:g} or {large}",
        next_step=f"write {small}0 for the small one or {large} for the large one",
    )


def _whole(text: str, digits: str, mark: str) -> str:
    """Digits before the decimal mark, with groups of three taken together."""
    marks = {char for char in digits if not char.isdigit()}
    if not marks:
        return digits or "0"
    mark = mark or next(iter(marks))
    if marks != {mark} or not re.fullmatch(rf"\d{{1,3}}(?:{re.escape(mark)}\d{{3}})+", digits, re.ASCII):
        raise _not_a_number(text)
    return digits.replace(mark, "")


def _decimals(text: str, digits: str) -> str:
    if digits and not re.fullmatch(r"\d+", digits, re.ASCII):
        raise _not_a_number(text)
    return digits or "0"


def _fraction(text: str, body: str) -> float:
    parts = re.fullmatch(r"(?:(\d+)\s+)?(\d+)\s*/\s*(\d+)", body, re.ASCII)
    if parts is None or int(parts[3]) == 0:
        raise _not_a_number(text)
    return int(parts[1] or 0) + int(parts[2]) / int(parts[3])


def _plain_blanks(text: str) -> str:
    return _BLANKS.sub(" ", text)


def _with_unit(number: str, unit: str) -> str:
    number = number.replace("-", "−")
    if unit == "-":
        return number
    return number + unit if unit in ("°", "%") else f"{number} {unit}"


def _short(text: str) -> str:
    shown = text.strip()
    return shown if len(shown) <= 40 else shown[:37] + "…"


def _not_a_number(text: str) -> QuantityError:
    return QuantityError(f"{_short(text)!r} is not one number", allowed="a number like 12.5 or 12,5, then its unit")
