"""A number as a person types it, told back with its unit before it counts."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from twoturn.errors import QuantityError, TwoTurnError

_GROUPS = re.compile(r"^\s*(\d{1,3}(?:[.,'’\s]\d{3})+)(?![\d.,])")


@dataclass(frozen=True)
class Understood:
    """What was understood of a typed number.

    Attributes
    ----------
    ok
        Whether it is one number with a unit that fits.
    words
        The number with its unit, or what is the matter.
    """

    ok: bool
    words: str


@dataclass(frozen=True)
class Wanted:
    """What number is wanted.

    Attributes
    ----------
    unit
        Unit of the number; ``-`` for a plain one.
    low, high
        Least and greatest sensible value [``unit``], None where there is no bound.
    whole
        Whether it is a whole number, so that 118.400 can only be 118400.
    stages
        Whether stages of tightening are wanted, of which one without a unit is a torque in ``unit``.
    """

    unit: str
    low: float | None = None
    high: float | None = None
    whole: bool = False
    stages: bool = False


def understood(text: str, wanted: Wanted) -> Understood:
    """Tell a typed number back."""
    from twoturn.quantity.parse import parse

    if wanted.stages:
        return _stages(text, wanted.unit)
    try:
        found = parse(_ungrouped(text) if wanted.whole else text, wanted.unit, _within(wanted))
    except TwoTurnError as error:
        return Understood(False, error.sentence[0].upper() + error.sentence[1:])
    echo = f"{found.typed_value:.10g} {found.typed_unit}".removesuffix(" -") if found.assumed else found.echo
    return Understood(True, echo)


def number_of(text: str, wanted: Wanted, unit: str) -> float:
    """A typed number in ``unit``, where one without a unit is taken in the unit wanted.

    Raises
    ------
    QuantityError
        No number, one that can be read in two ways, or one that cannot be right.
    """
    from twoturn.quantity.parse import parse
    from twoturn.quantity.units import convert

    found = parse(_ungrouped(text) if wanted.whole else text, wanted.unit, _within(wanted))
    value = convert(found.value, found.unit, unit)
    if not math.isfinite(value):
        raise QuantityError(f"{text[:40]!r} is no number")
    return round(value) if wanted.whole else value


def _stages(text: str, unit: str) -> Understood:
    """Tell stages of tightening back."""
    from twoturn.job.asked.model import Field, Units
    from twoturn.job.asked.typed import understood as typed

    found = typed(Field("stages", "Reached", "stages", "N·m"), text, Units(torque=unit))
    return Understood(found.ok, found.words.removeprefix("understood: "))


def _within(wanted: Wanted) -> tuple[float, float] | None:
    if wanted.low is None and wanted.high is None:
        return None
    return (-math.inf if wanted.low is None else wanted.low, math.inf if wanted.high is None else wanted.high)


def _ungrouped(text: str) -> str:
    """The text with groups of three of a whole number put together."""
    found = _GROUPS.match(text)
    if found is None:
        return text
    return re.sub(r"\D", "", found[1]) + text[found.end() :]
