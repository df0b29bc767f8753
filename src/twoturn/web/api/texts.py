"""From what is sent as JSON to the texts of a form, which the acts of pages read."""

from __future__ import annotations

from collections.abc import Mapping

from pydantic import BaseModel


def texts_of(body: BaseModel, names: Mapping[str, str] | None = None) -> dict[str, str]:
    """The texts that a form would have: numbers in metric units, ``yes`` and ``no``; what is null is left out.

    Parameters
    ----------
    body
        What was sent.
    names
        The form's name of a field where it is another.
    """
    renamed = names or {}
    given = {renamed.get(name, name): value for name, value in body.model_dump().items() if value is not None}
    return {name: _text(value) for name, value in given.items()}


def _text(value: object) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return str(value)
