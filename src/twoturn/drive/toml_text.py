"""Bytes of a file a person wrote, to a TOML document; what is wrong is said in plain words with its line."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path
from typing import Any

from twoturn.drive.toml_bare import Holds, bare_faults
from twoturn.errors import Fault, FileFaults

MOST_BYTES = 1_000_000
LONGEST_KEY = 5_000
"""Longest key, or line without one, of a file that is read [characters]."""

_PLACE = re.compile(r"\(at line (\d+), column \d+\)|\(at end of document\)")
_DECIMAL_COMMA = re.compile(r"=\s*[\[{]?\s*[+-]?\d+,\d+")
_PLAIN_WORDS = (
    ("Cannot overwrite a value", "this key once only: it stands here for the second time"),
    ("Cannot declare", "this table once only, or [[double brackets]] where there are several"),
    ("Duplicate inline table key", "this key once only in its braces"),
    ("Cannot mutate immutable namespace", "all keys of a table in one place: it was closed further up"),
    ("Cannot redefine namespace", "this table once only"),
    ("Expected '=' after a key", "a line such as key = value, or [table]"),
    ("Invalid statement", "a line such as key = value, or [table]"),
    ("Invalid initial character for a key part", "a key of letters, digits, _ and -, before the = sign"),
    (
        "Expected newline or end of document after a statement",
        "one key = value a line, with nothing but a # remark after it",
    ),
    ("Unclosed array", "a closing ] for the list that was opened with ["),
    ("Unclosed inline table", "a closing } for the braces that were opened with {"),
    ("Unterminated string", "a closing quotation mark for the text"),
    ("Expected ']", "a closing ] after the name of the table"),
    ("Invalid value", 'a number such as 12.5, a text in "quotation marks", true or false, or a list in [ ]'),
    ("Unescaped '\\'", "\\\\ for a backslash, or 'single quotation marks' around the text"),
    ("Illegal character", 'a text in "quotation marks" that ends on its own line'),
    ("Found invalid character", "plain characters (a control character stands here)"),
    ("Invalid hex value", "a whole code of a character after the backslash"),
    ("Escaped character is not a Unicode scalar value", "a code of a character that exists"),
    ("Invalid date or datetime", "a date that exists, such as 2026-04-30"),
)


def read_text(path: str | Path) -> str:
    """Text of a file a person wrote.

    Parameters
    ----------
    path
        The file.

    Returns
    -------
    str
        Its whole text.

    Raises
    ------
    FileFaults
        No such file, a folder, not readable, longer than 1 MB, or not UTF-8.
    """
    name = str(path)
    try:
        with Path(path).open("rb") as file:
            raw = file.read(MOST_BYTES + 1)
    except FileNotFoundError:
        raise _whole_file(name, "no such file", "the path of a file that is there") from None
    except IsADirectoryError:
        raise _whole_file(name, "a folder", "the path of one file in it") from None
    except (OSError, ValueError) as error:
        found = f"a file that cannot be opened ({_reason(error)})"
        raise _whole_file(name, found, "a file that this user may read") from None
    if len(raw) > MOST_BYTES:
        raise _whole_file(name, f"more than {MOST_BYTES // 1000} kB", "a text file of a few kB")
    return decode(raw, name)


def decode(raw: bytes, file_name: str) -> str:
    """Text of ``raw`` bytes in UTF-8, with or without byte order mark.

    Parameters
    ----------
    raw
        Content of a file.
    file_name
        Its name, for the fault.

    Raises
    ------
    FileFaults
        The bytes are not UTF-8; the line is named.
    """
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        found = f"the byte 0x{raw[error.start]:02X}, which is not UTF-8"
        expected = "a text file saved as UTF-8 (not a word processor's file, not UTF-16)"
        raise FileFaults([Fault(file_name, line, "text", found, expected)]) from None


def read_toml(text: str, file_name: str, *, what: str = "drive file", holds: Holds | None = None) -> dict[str, Any]:
    """The TOML document in ``text``.

    Parameters
    ----------
    text
        The whole text.
    file_name
        Name of the file as it was given, for the faults.
    what
        What kind of file it is, for the sentence about an empty one.
    holds
        What a key holds, for the sentences about values that are still dots.

    Raises
    ------
    FileFaults
        The text is empty, too long or nested too deeply, or no TOML; every bare value is told at once.
    """
    if len(text) > MOST_BYTES:
        raise _whole_file(file_name, f"more than {MOST_BYTES // 1000} kB", "a text file of a few kB")
    _check_lines(text, file_name)
    try:
        document = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        fault = _syntax_fault(str(error), text, file_name)
        bare = bare_faults(text, file_name, holds)
        own = [] if fault.line in {one.line for one in bare} else [fault]
        raise FileFaults(sorted([*bare, *own], key=lambda one: one.line or 0)) from None
    except RecursionError:
        raise _whole_file(file_name, "lists or tables nested hundreds deep", f"a {what} as docs show it") from None
    except ValueError:
        raise _whole_file(
            file_name, "a number of thousands of digits", "numbers of a size that means something"
        ) from None
    if not document:
        raise _whole_file(file_name, "an empty file", f"a {what}; begin with a copy of an example from the docs")
    return document


def _check_lines(text: str, name: str) -> None:
    """Refuse a key that nobody wrote: one of thousands of parts would take minutes to be understood."""
    for number, line in enumerate(text.splitlines(), 1):
        long = len(line.partition("=")[0])
        if long > LONGEST_KEY:
            found = f"a key of {long} characters"
            raise FileFaults([Fault(name, number, "text", found, "a line such as key = value")])


def _whole_file(name: str, found: str, expected: str) -> FileFaults:
    return FileFaults([Fault(name, None, "file", found, expected)])


def _reason(error: Exception) -> str:
    return getattr(error, "strerror", None) or "its name cannot be a file's name"


def _syntax_fault(message: str, text: str, file_name: str) -> Fault:
    lines = text.replace("\r\n", "\n").split("\n")
    place = _PLACE.search(message)
    number = int(place.group(1)) if place and place.group(1) else max(1, len(text.rstrip().split("\n")))
    line = lines[number - 1].strip() if number <= len(lines) else ""
    if _DECIMAL_COMMA.search(line) and "[" not in line:
        expected = "a decimal point, such as 12.5 (a comma separates the elements of a list)"
    else:
        plain = (words for start, words in _PLAIN_WORDS if message.startswith(start))
        expected = next(plain, "a line that follows the rules of TOML")
    found = repr_line(line) if line else "the end of the file"
    return Fault(file_name, number, _key_of(line), found, expected)


def repr_line(line: str, longest: int = 60) -> str:
    """``line`` as it is quoted in a fault: at most ``longest`` characters [-], control characters shown as dots."""
    shown = "".join(sign if sign.isprintable() else "·" for sign in line)
    return f"`{shown}`" if len(shown) <= longest else f"`{shown[: longest - 1]}…`"


def _key_of(line: str) -> str:
    found = re.match(r"\s*([A-Za-z0-9_.-]{1,60})\s*=", line) or re.match(r"\s*(\[{1,2}[^\]\n]{1,60}\]{0,2})", line)
    return found.group(1) if found else "text"
