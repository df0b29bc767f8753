"""What was ticked and typed of the paper plan's boxes, as a form or the queue sends it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any

from twoturn.web.forms.numbers import seconds_of

if TYPE_CHECKING:
    from twoturn.acts.shop.box_entries import Filled
    from twoturn.job.asked.model import Units

TICK, TYPED = "tick", "typed"
"""What the names of inputs begin with: ``tick|box`` and ``typed|box|square``."""


def filled_of_form(pairs: Iterable[tuple[str, str]], units: Units) -> Filled:
    """What the inputs of the page's form hold."""
    from twoturn.acts.shop.box_entries import Filled

    ticked: set[str] = set()
    typed: dict[str, dict[str, str]] = {}
    for name, value in pairs:
        sort, _, rest = name.partition("|")
        box, _, square = rest.partition("|")
        if sort == TICK and value:
            ticked.add(box)
        elif sort == TYPED and value.strip():
            typed.setdefault(box, {})[square] = value.strip()
    return Filled(frozenset(ticked), typed, units)


def filled_of_json(sent: Mapping[str, Any], units: Units) -> Filled:
    """As :func:`filled_of_form`, of an object with ``ticked``, ``typed`` and ``waited_s``; texts alone count."""
    from twoturn.acts.shop.box_entries import Filled

    ticked, typed = sent.get("ticked"), sent.get("typed")
    return Filled(
        frozenset(one for one in ticked if isinstance(one, str)) if isinstance(ticked, list) else frozenset(),
        {str(box): _texts(squares) for box, squares in typed.items()} if isinstance(typed, dict) else {},
        units,
        seconds_of(sent.get("waited_s")),
    )


def _texts(squares: Any) -> dict[str, str]:
    if not isinstance(squares, dict):
        return {}
    return {str(key): text for key, text in squares.items() if isinstance(text, str)}
