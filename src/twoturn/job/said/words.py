"""Words that several kinds of entry share: names in a row, spans, what is added behind a sentence."""

from __future__ import annotations

from collections.abc import Sequence

from twoturn.plan.wording import capital
from twoturn.words.numbers import list_words, with_unit


def named(names: Sequence[str], every: str) -> str:
    """Names in a row; ``every`` where they are "all"."""
    return every if tuple(names) == ("all",) else list_words(list(names))


def place(name: str | None, before: str = "") -> str:
    """A place in words behind ``before``, a span as ``span roller to camshaft``; nothing where there is none."""
    if name is None:
        return ""
    start, colon, end = name.partition(":")
    return before + (f"span {start.strip()} to {end.strip()}" if colon else name)


def joined(first: str, *others: str | None) -> str:
    """What is said first, and what else there is behind commas."""
    return ", ".join([first, *(other for other in others if other)])


def headed(head: str, *rest: str | None) -> str:
    """A heading with what there is behind a colon; the heading alone where there is nothing."""
    said = ", ".join(one for one in rest if one)
    return capital(f"{head}: {said}" if said else head)


def amount(value: float | None, unit: str, before: str = "", after: str = "") -> str:
    """A number with its unit and the words around it; nothing where there is no number."""
    return "" if value is None else f"{before}{with_unit(value, unit, 3)}{after}"
