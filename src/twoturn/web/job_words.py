"""How a question's fields write their numbers: in the person's units."""

from __future__ import annotations

from markupsafe import Markup

from twoturn.job.asked.model import Field, Units
from twoturn.quantity.units import convert


def bounds_in(field: Field, units: Units) -> Markup:
    """The least and greatest sensible number as attributes of the input, in the person's unit."""
    said = ""
    for name, bound in (("low", field.low), ("high", field.high)):
        if bound is not None:
            mine = units.of(field.unit)
            number = bound if mine == field.unit else convert(bound, field.unit, mine)
            said += f' data-{name}="{number:.6g}"'
    return Markup(said)  # noqa: S704 - numbers alone


def capitalize_first(text: str) -> str:
    """A sentence's first letter large; nothing else is touched."""
    return text[:1].upper() + text[1:]
