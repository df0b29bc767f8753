"""Names and units of columns out of the lines before the numbers."""

from __future__ import annotations

import re
from collections.abc import Callable

from twoturn.capture.formats.csv.cells import NUMBER

_UNIT_WORDS = """
    s sec seconds ms us µs μs ns v mv kv a ma volt volts bool logic digital analog 1 counts ° deg rpm 1/min %
    pa kpa bar mbar hh:mm:ss hh:mm:ss.fff hh:mm:ss.sss mm:ss.fff time level float double int boolean number sequence -
"""
UNITS = frozenset(("", *_UNIT_WORDS.split()))
LINES_ABOVE = 6
_WORDLESS = re.compile(r"^[\W\d_]*$")


def names_and_units(
    before: list[str], separator: str, columns: int, split: Callable[[str, str], list[str]]
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Names and units of the columns.

    Parameters
    ----------
    before
        The lines before the numbers.
    separator
        What parts columns.
    columns
        Their number [-].
    split
        Splits a line into fields.

    Returns
    -------
    tuple
        Names and units, one a column each; empty where there are none.
    """
    rows = [_fields(line, separator, columns, split) for line in before[-LINES_ABOVE:] if line.strip()]
    fitting = [fields for fields in rows if len(fields) in (columns, columns + (columns > 1))]
    if not fitting and rows and columns > 1:  # start and step of the time stand in the heading, behind the columns
        fitting = [fields[:columns] for fields in rows if columns < len(fields) <= columns + 4]
    fitting = [fields for fields in fitting if _is_names(fields)]
    if not fitting and rows and columns > 1 and len(rows[-1]) == columns - 1 and _is_names(rows[-1]):
        fitting = [["", *rows[-1]]]  # a heading for each channel, none for the time
    if not fitting:
        return (), ()
    header, units = fitting[-1], []
    if len(fitting) > 1 and all(_is_unit(one) for one in header):
        units, header = header, fitting[-2]
    return tuple(header[:columns]), tuple(units[:columns])


def _fields(line: str, separator: str, columns: int, split: Callable[[str, str], list[str]]) -> list[str]:
    """The fields of a line of words; comment signs taken off, several blanks taken as one separator where need be."""
    line = line.lstrip("\ufeff#%!' ").removeprefix("//")
    fields = split(line, separator)
    if len(fields) == columns or (separator != " " and len(fields) != 1):
        return fields
    wide = [one.strip().strip('"') for one in re.split(r"\s{2,}|\t|[;,|]\s*", line.strip()) if one]
    if len(wide) == columns:
        return wide
    if separator == " ":
        return _units_joined(line.split())
    return fields


def _units_joined(words: list[str]) -> list[str]:
    """Words of a header line, a unit in brackets joined to the word before it."""
    out: list[str] = []
    for word in words:
        if out and word[:1] in "([":
            out[-1] += " " + word
        else:
            out.append(word)
    return out


def _is_names(fields: list[str]) -> bool:
    """Whether fields are names of columns: words, or numbers of channels behind a word for the first column."""
    numbers = [bool(NUMBER.match(one.replace(",", "."))) for one in fields if one]
    if not numbers or all(_WORDLESS.match(one) for one in fields):
        return False
    if not any(numbers):
        return True
    return not numbers[0] and all(one.isdecimal() and len(one) <= 2 for one in fields[1:] if one) and len(fields) > 2


def _is_unit(text: str) -> bool:
    """Whether a field of the second header line is a unit (or empty)."""
    plain = text.strip().lower()
    if plain[:1] in "([{<" and plain[-1:] in ")]}>":
        return True
    return plain.strip("[](){} ") in UNITS
