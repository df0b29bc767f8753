"""A number as a person types it, told back with its unit before it counts."""

from __future__ import annotations

from dataclasses import dataclass

from twoturn.errors import QuantityError


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


def understood(text: str, unit: str, low: float | None = None, high: float | None = None) -> Understood:
    """Tell a typed number back.

    Parameters
    ----------
    text
        As typed.
    unit
        The unit wanted; ``-`` for a plain number.
    low, high
        Least and greatest sensible value [``unit``], None where there is no bound.
    """
    from twoturn.quantity.parse import parse

    within = None
    if low is not None or high is not None:
        within = (float("-inf") if low is None else low, float("inf") if high is None else high)
    try:
        found = parse(text, unit, within)
    except QuantityError as error:
        return Understood(False, error.sentence)
    echo = f"{found.typed_value:.10g} {found.typed_unit}".removesuffix(" -") if found.assumed else found.echo
    return Understood(True, echo)
