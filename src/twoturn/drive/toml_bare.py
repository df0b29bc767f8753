"""Values that TOML cannot read because something is missing around them: told all at once, in plain words."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

from twoturn.drive.faults import key_of
from twoturn.drive.toml_lines import LineMap, Path
from twoturn.errors import Fault

Holds = Callable[[dict[str, Any], Path], str]
"""What the key at a path of a document holds, in words; empty where it is not known."""

PLACEHOLDER = re.compile(r"[\s.…?_]*")
"""What stands where a person has not written yet: dots, question marks, a line, or nothing."""

_LINE = re.compile(r"""(\s*([A-Za-z0-9_-]{1,60})\s*=\s*)([^\s"'\[{#][^"'\[{#]{0,200}?)\s*(#.*)?""")
_DOTS = re.compile(r"(\.{2,}|[…?_])[.…?_]*")
_TRUTH = re.compile(r"(?i)yes|no|y|n|true|false|ja|nein")
_YEAR_FIRST = re.compile(r"(\d{4})[-./](\d{1,2})[-./](\d{1,2})(T.*)?")
_YEAR_LAST = re.compile(r"(\d{1,2})[-./](\d{1,2})[-./](\d{4})")
_SPACED = re.compile(r"[+-]?\d{1,3}( \d{3})+([.,]\d+)?")
_WITH_UNIT = re.compile(r"[+-]?\d[\d., ]*\s*[^\d\s.,].*")
_WORDS = re.compile(r"[^\W\d].*")


@dataclass(frozen=True)
class _Bare:
    """A value that is bare: its line counted from 0, what stands before it, its key, and what is right instead."""

    line: int
    lead: str
    key: str
    value: str
    right: str


def bare_faults(text: str, file_name: str, holds: Holds | None = None) -> list[Fault]:
    """Every line ``key = value`` whose value is dots, or lacks its quotation marks, or is a date written otherwise.

    Parameters
    ----------
    text
        A text that is no TOML.
    file_name
        Its name, for the faults.
    holds
        What a key holds, for the fault of a value that is still dots.

    Returns
    -------
    list of Fault
        In file order; empty where no line is of that kind.
    """
    lines = text.replace("\r\n", "\n").split("\n")
    found = list(_bare(lines))
    for one in found:
        lines[one.line] = f'{one.lead}"…"'
    mended = "\n".join(lines)
    try:
        document = tomllib.loads(mended) if found else {}
    except (ValueError, RecursionError):
        document = {}
    paths = LineMap(mended).paths() if found else {}
    faults = []
    for one in found:
        path = paths.get(one.line + 1, (one.key,))
        right = one.right or (holds(document, path) if holds else "")
        right = right if one.right else f"{right}, written instead of the dots" if right else "a value, not dots"
        faults.append(Fault(file_name, one.line + 1, key_of(path), one.value, right))
    return faults


def _bare(lines: list[str]) -> Iterator[_Bare]:
    inside = ""
    for number, line in enumerate(lines):
        found = None if inside else _LINE.fullmatch(line)
        if found is not None:
            lead, key, value = found.group(1), found.group(2), found.group(3)
            right = None if _readable(value) else _right(value)
            if right is not None:
                yield _Bare(number, lead, key, value, right)
        for marks in ('"""', "'''"):
            if inside in ("", marks) and line.count(marks) % 2:
                inside = "" if inside else marks


def _readable(value: str) -> bool:
    try:
        tomllib.loads(f"key = {value}")
    except ValueError:
        return False
    return True


def _right(value: str) -> str | None:
    """What would be right instead of a bare value; empty for dots, None where TOML's own words say more."""
    if _DOTS.fullmatch(value):
        return ""
    if _TRUTH.fullmatch(value):
        return "true or false, in small letters and without quotation marks"
    first, last = _YEAR_FIRST.fullmatch(value), _YEAR_LAST.fullmatch(value)
    if first or last:
        return _date(first, last)
    if _SPACED.fullmatch(value):
        return f'the number without the space ({value.replace(" ", "")}), or in quotation marks: "{value}"'
    if _WITH_UNIT.fullmatch(value) or _WORDS.fullmatch(value):
        shown = value if len(value) <= 40 else value[:39] + "…"
        return f'quotation marks around it: "{shown}"'
    return None


def _date(first: re.Match[str] | None, last: re.Match[str] | None) -> str:
    year, month, day = first.group(1, 2, 3) if first else last.group(3, 2, 1) if last else ("", "", "")
    written = f"{year}-{int(month):02d}-{int(day):02d}"
    if _readable(written) and (last is None or int(day) > 12 or "." in last.group()):
        return f"the date as {written}, year first"
    return "a date that exists, written year first: 2026-06-01"
