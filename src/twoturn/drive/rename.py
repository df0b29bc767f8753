"""A drive file's text under another name: only the name's line is changed, remarks and order stay."""

from __future__ import annotations

import re

from twoturn.errors import DomainError

LONGEST_NAME = 80
_TABLE = re.compile(r"^\s*\[")
_NAME = re.compile(r"^(\s*(?:name|\"name\"|'name')\s*=\s*)(\"(?:[^\"\\]|\\.)*\"|'[^']*')")


def renamed(text: str, name: str) -> str:
    """The text of a drive file with another name in its ``[drive]`` table.

    Parameters
    ----------
    text
        The whole text of a drive file that can be read.
    name
        The new name.

    Raises
    ------
    DomainError
        The name is none, or the text writes its own in a way that is not one line ``name = "..."``.
    """
    plain = " ".join(name.split())
    if not plain or len(plain) > LONGEST_NAME or not plain.isprintable():
        raise DomainError(
            "this cannot be a drive's name" if plain else "no name was given", allowed=f"1 to {LONGEST_NAME} letters"
        )
    lines = text.splitlines(keepends=True)
    inside = False
    for at, line in enumerate(lines):
        if _TABLE.match(line):
            inside = re.match(r"^\s*\[\s*drive\s*\]", line) is not None
            continue
        found = _NAME.match(line) if inside else None
        if found is not None:
            lines[at] = f"{found[1]}{_quoted(plain)}{line[found.end() :]}"
            return "".join(lines)
    raise DomainError(
        'the line of the drive\'s name was not found below "[drive]"', next_step="change the name in the editor"
    )


def _quoted(name: str) -> str:
    return '"' + name.replace("\\", "\\\\").replace('"', '\\"') + '"'
