"""What was typed and picked in the fields of a question, as a form or the queue sends it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from twoturn.job.asked.model import Given

PREFIX = "g."
"""What stands before the key of a field in the name of its input."""


def given_of_form(pairs: Iterable[tuple[str, str]]) -> dict[str, Given]:
    """The texts of a form's fields by key; several where a name came several times, nothing where all are empty."""
    found: dict[str, list[str]] = {}
    for name, value in pairs:
        if name.startswith(PREFIX) and value.strip():
            found.setdefault(name.removeprefix(PREFIX), []).append(value.strip())
    return {key: texts[0] if len(texts) == 1 else tuple(texts) for key, texts in found.items()}


def given_of_json(sent: Mapping[str, object]) -> dict[str, Given]:
    """As :func:`given_of_form`, of an object whose values are texts or lists of texts."""
    pairs = [
        (PREFIX + key, one)
        for key, value in sent.items()
        for one in (value if isinstance(value, list) else [value])
        if isinstance(one, str)
    ]
    return given_of_form(pairs)
