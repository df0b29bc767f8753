"""One field of a question: what stands in it, made into the value that the entry holds."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from typing import Any

from pydantic_core import PydanticCustomError

from twoturn.drive.faults import shown
from twoturn.drive.model.work import Stage
from twoturn.errors import QuantityError
from twoturn.job.asked.model import Field, Units
from twoturn.job.asked.typed_numbers import LONGEST, number_of
from twoturn.job.entries.numbers import stage
from twoturn.plan.wording import stage_words
from twoturn.quantity.units import find_unit
from twoturn.words.numbers import list_words

LONGEST_TEXT = 2000
"""Characters of a text [-]."""
MOST_PICKED = 200
"""Values picked in one field [-]."""
FILES = frozenset({"photo", "sound", "capture"})
_BETWEEN_STAGES = re.compile(r"\s*(?:,?\s*\bthen\b|;|\+|\n|,\s)\s*")
_LOOSEN = re.compile(r"^(?:loosen(?:ed)?|back)(?:\s+by)?\s+", re.IGNORECASE)
_DAY_FIRST = re.compile(r"(\d{1,2})\.\s?(\d{1,2})\.\s?(\d{4})")
_STAGES = "stages such as 25 N·m; 90° or 80 N·m; loosen 180°; 60 N·m"


@dataclass(frozen=True)
class Taken:
    """A field as understood.

    Attributes
    ----------
    value
        What the entry holds.
    words
        The same in words.
    """

    value: Any
    words: str


class Unclear(Exception):  # noqa: N818 - it is no error of the program, and is caught where it is raised
    """A field that holds what it cannot: what was found, and what would be right."""

    def __init__(self, found: str, expected: str) -> None:
        self.found = found
        self.expected = expected
        super().__init__(f"{found}; {expected}")


def texts_of(given: Any) -> tuple[str, ...]:
    """What stands in a field as texts, blanks left out; numbers and truth values as a person would write them.

    Raises
    ------
    Unclear
        Something that is no text and no list of texts, or a list beyond measure.
    """
    items = list(given) if isinstance(given, list | tuple) else [given]
    if len(items) > MOST_PICKED:
        raise Unclear(f"a list of {len(items)}", f"at most {MOST_PICKED} values")
    said = []
    for item in items:
        if isinstance(item, bool):
            said.append("yes" if item else "no")
        elif isinstance(item, int | float):
            said.append(f"{item:.15g}")
        elif isinstance(item, str):
            said.append(item.strip())
        elif item is not None:
            raise Unclear(shown(item), "a text")
    return tuple(text for text in said if text)


def taken(field: Field, texts: tuple[str, ...], units: Units) -> Taken:
    """What the texts in a field, at least one, are to the entry.

    Parameters
    ----------
    field, texts
        The field, and what stands in it.
    units
        The units a person uses.

    Raises
    ------
    Unclear
        What was found, and what would be right.
    """
    if len(texts) > 1 and field.shape not in ("many", "torque row"):
        raise Unclear(f"{len(texts)} values", "one value")
    return _READERS[field.shape](field, texts, units)


def _number(field: Field, texts: tuple[str, ...], units: Units) -> Taken:
    try:
        found = number_of(texts[0], field, units)
    except QuantityError as error:
        raise Unclear(shown(texts[0]), _expected_number(field, units, error)) from None
    return Taken(found.entered, found.words)


def _expected_number(field: Field, units: Units, error: QuantityError) -> str:
    unit = units.of(field.unit)
    own = "a number" if unit in ("", "-") else f"a number in {unit}"
    return f"{own} ({error.sentence.rstrip('.')})"


def _choice(field: Field, texts: tuple[str, ...], units: Units) -> Taken:
    picked = next((choice for choice in field.choices if choice.value == texts[0]), None)
    numeric = bool(field.unit) or field.low is not None
    if picked is not None and not (numeric and picked.value.replace(".", "").isdigit()):
        return Taken(picked.value, picked.label)
    if not field.or_typed:
        raise Unclear(shown(texts[0]), _one_of(field))
    if not numeric:
        return _text(field, texts, units)
    found = _number(field, texts, units)
    return found if picked is None else Taken(found.value, picked.label)


def _one_of(field: Field) -> str:
    names = [f'"{choice.value}"' for choice in field.choices[:12]]
    more = " …" if len(field.choices) > 12 else ""
    return f"{list_words(names, 'or')}{more}" if names else "nothing"


def _many(field: Field, texts: tuple[str, ...], _units: Units) -> Taken:
    known = {choice.value: choice.label for choice in field.choices}
    picked = list(dict.fromkeys(texts))
    for text in picked:
        if text not in known and not field.or_typed:
            raise Unclear(shown(text), _one_of(field))
        if len(text) > LONGEST_TEXT:
            raise Unclear(shown(text), f"at most {LONGEST_TEXT} characters")
    words = list_words([known.get(text, text) for text in picked])
    return Taken(picked[0] if len(picked) == 1 else picked, words)


def _yes_no(field: Field, texts: tuple[str, ...], _units: Units) -> Taken:
    picked = next((choice for choice in field.choices if choice.value == texts[0].lower()), None)
    if picked is None:
        raise Unclear(shown(texts[0]), _one_of(field))
    return Taken(picked.value == "yes", picked.label)


def _tick(field: Field, texts: tuple[str, ...], _units: Units) -> Taken:
    if texts[0].lower() not in ("yes", "on", "no"):
        raise Unclear(shown(texts[0]), '"yes", or nothing')
    ticked = texts[0].lower() != "no"
    return Taken(True if ticked else None, field.label if ticked else "")


def _text(field: Field, texts: tuple[str, ...], _units: Units) -> Taken:
    text = texts[0] if texts[0].startswith(field.lead) else f"{field.lead}{texts[0]}"
    if len(text) > LONGEST_TEXT:
        raise Unclear(f"a text of {len(text)} characters", f"at most {LONGEST_TEXT} characters")
    return Taken(text, text)


def _day(_field: Field, texts: tuple[str, ...], _units: Units) -> Taken:
    found = _DAY_FIRST.fullmatch(texts[0])
    try:
        day = date(int(found[3]), int(found[2]), int(found[1])) if found else date.fromisoformat(texts[0][:LONGEST])
    except ValueError:
        raise Unclear(shown(texts[0]), "a date such as 2026-03-02 or 2.3.2026") from None
    return Taken(day.isoformat(), day.isoformat())


def _stages(field: Field, texts: tuple[str, ...], units: Units) -> Taken:
    """Stages of tightening, one behind the other: what has no unit is a torque in the person's unit."""
    entered, said = [], []
    for part in _BETWEEN_STAGES.split(texts[0][: 4 * LONGEST].strip(" ;+")):
        value, one = _stage(part, field, units)
        entered.append(value)
        said.append(one)
    return Taken(entered[0] if len(entered) == 1 else entered, stage_words(said))


def _stage(part: str, field: Field, units: Units) -> tuple[str, Stage]:
    loosen = _LOOSEN.match(part)
    number = part[loosen.end() :] if loosen else part
    text = number if _has_unit(number) else f"{number} {'°' if loosen else units.of(field.unit)}"
    try:
        one = stage(f"loosen {text}" if loosen else text)
    except PydanticCustomError:
        raise Unclear(shown(part), _STAGES) from None
    return (f"loosen {text}" if loosen else text), one


def _has_unit(text: str) -> bool:
    unit = re.sub(r"^[\d.,\s'’+-]+", "", text).strip()
    try:
        return bool(unit) and find_unit(unit) is not None
    except QuantityError:
        return False


_READERS: dict[str, Callable[[Field, tuple[str, ...], Units], Taken]] = {
    "number": _number,
    "whole": _number,
    "choice": _choice,
    "many": _many,
    "torque row": _many,
    "tick": _tick,
    "yes/no": _yes_no,
    "text": _text,
    "date": _day,
    "photo": _text,
    "sound": _text,
    "capture": _text,
    "mark picture": _choice,
    "pointer picture": _choice,
    "stages": _stages,
}
