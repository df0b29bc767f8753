"""Numbers as a person types them into a field: comma and point, his own units, nothing guessed by a factor."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from dataclasses import dataclass

from twoturn.drive.model.work import Stage
from twoturn.errors import QuantityError
from twoturn.job.asked.model import Field, Units
from twoturn.quantity.parse import Typed, parse, parse_number
from twoturn.quantity.units import convert
from twoturn.words.numbers import list_words

NO_MEASURE = frozenset({"", "-", "teeth", "pins", "turns", "months", "° crank"})
"""Units of a field that nothing is converted to or from."""
LONGEST = 100
"""Characters of a typed number [-]; no number of the trade is longer."""
_TWO_MEANINGS = re.compile(r"can mean (\S+) or (\S+)$")


@dataclass(frozen=True)
class Number:
    """A number as understood.

    Attributes
    ----------
    value
        The number, in the unit of the field.
    entered
        What the entry holds: the number in the field's own unit, or number and unit as a person typed them.
    words
        What was understood, to show before it counts.
    """

    value: float
    entered: float | str
    words: str


def number_of(text: str, field: Field, units: Units) -> Number:
    """The number that a text in a field is.

    Parameters
    ----------
    text
        As typed, with or without its unit.
    field
        The field: its unit, and where the number must lie.
    units
        The units a person uses: a number without a unit is in them.

    Raises
    ------
    QuantityError
        No number, one that can be read in two ways, another unit, or one beyond what is possible.
    """
    if len(text) > LONGEST:
        raise QuantityError(f"a text of {len(text)} characters is no number", allowed="a number like 12.5 or 12,5")
    if field.unit in NO_MEASURE:
        return _plain(text, field)
    typed = _typed(text, field, units)
    value = convert(typed.typed_value, typed.typed_unit, field.unit)
    own = typed.typed_unit == field.unit
    entered = round(value, 9) if own else f"{clear_number(typed.typed_value)} {typed.typed_unit}"
    return Number(value, entered, _with_own_unit(typed, value, field.unit))


def _typed(text: str, field: Field, units: Units) -> Typed:
    """The number in the person's unit of the field, or in the one typed."""
    mine = units.of(field.unit)
    try:
        return parse(text, mine, _bounds((field.low, field.high), field.unit, mine))
    except QuantityError as error:
        likely = _bounds(field.likely, field.unit, mine)
        if likely is not None and _TWO_MEANINGS.search(error.message):
            try:
                return parse(text, mine, likely)
            except QuantityError:
                pass
        raise _said(error, mine) from None


def _bounds(ends: tuple[float | None, float | None], unit: str, mine: str) -> tuple[float, float] | None:
    if ends == (None, None):
        return None
    low, high = ends
    return (
        -math.inf if low is None else convert(low, unit, mine),
        math.inf if high is None else convert(high, unit, mine),
    )


def _said(error: QuantityError, unit: str) -> QuantityError:
    """The same in words a person reads: two meanings with their unit, a limit that has only one end."""
    space = "" if unit in ("", "-", "°") else " "
    shown = "" if unit in ("", "-") else unit
    message = _TWO_MEANINGS.sub(rf"can mean \1{space}{shown} or \2{space}{shown}", error.message)
    allowed = re.sub(r"^(\S+) to inf(?=\D|$)", r"at least \1", error.allowed)
    allowed = re.sub(r"^-inf to ", "at most ", allowed)
    return QuantityError(message, allowed=allowed, next_step=error.next_step)


def clear_number(value: float) -> str:
    """A number [any unit] as a text that is read in one way only, by whatever reads it later."""
    text = f"{value:.10g}"
    return f"{text}0" if re.fullmatch(r"-?[1-9]\d{0,2}\.\d{3}", text) else text


def stages_text(stages: Iterable[Stage]) -> str:
    """Stages of tightening as they may be typed: ``50 N·m; 180°``."""
    said = []
    for stage in stages:
        if stage.torque_nm is not None:
            said.append(f"{clear_number(stage.torque_nm)} N·m")
        elif stage.angle_deg is not None:
            said.append(f"{clear_number(stage.angle_deg)}°")
        else:
            said.append(f"loosen {clear_number(stage.loosen_deg or 0.0)}°")
    return "; ".join(said)


def _with_own_unit(typed: Typed, value: float, unit: str) -> str:
    echo = _unit_behind(typed.typed_value, typed.typed_unit)
    return echo if typed.typed_unit == unit else f"{echo} = {_unit_behind(float(f'{value:.4g}'), unit)}"


def _unit_behind(value: float, unit: str) -> str:
    text = f"{value:.10g}".replace("-", "−")
    return text + unit if unit in ("°", "%") else f"{text} {unit}"


def _plain(text: str, field: Field) -> Number:
    """A number without a unit of measurement; the word of its field behind it is understood."""
    words = [field.unit, field.unit.removesuffix("s"), "tooth"] if field.unit not in ("", "-") else []
    cleaned = text.strip()
    for word in words:
        if word and cleaned.lower().endswith(word):
            cleaned = cleaned[: -len(word)].strip()
            break
    low = -math.inf if field.low is None else field.low
    high = math.inf if field.high is None else field.high
    try:
        value = parse_number(cleaned, (low, high))
    except QuantityError as error:
        raise _said(error, field.unit) from None
    if not low <= value <= high:
        ends = [f"at least {low:g}"] if math.isfinite(low) else []
        ends += [f"at most {high:g}"] if math.isfinite(high) else []
        raise QuantityError(f"{cleaned} cannot be right", allowed=list_words(ends))
    unit = "" if field.unit in ("", "-") else f" {field.unit}"
    if field.shape == "whole" and value != int(value):
        raise QuantityError(f"{cleaned} is no whole number", allowed=f"a whole number{unit and f' of{unit}'}")
    return Number(value, int(value) if field.shape == "whole" else value, f"{value:.10g}{unit}")
