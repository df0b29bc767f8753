"""What every command shares: printing JSON, tables and errors, and the exit statuses."""

from __future__ import annotations

import json
import re
import shutil
import sys
import textwrap
from typing import Any

from twoturn.errors import FileFaults, TwoTurnError

EXIT_FINE = 0
EXIT_BAD_INPUT = 2
EXIT_NOT_SHOWN = 3
EXIT_NOT_MET = 4

NARROWEST, WIDEST = 40, 120
_COLUMN = re.compile(r"\s*\S.{0,28}?\s{2,}(?=\S)")


def print_json(answer: dict[str, Any]) -> None:
    """Print one JSON object and nothing else on stdout; numbers that are not finite are refused."""
    sys.stdout.write(json.dumps(answer, ensure_ascii=False, indent=2, allow_nan=False) + "\n")


def print_line(text: str = "") -> None:
    """Print one line of plain text on stdout; on a terminal it is wrapped at words to its width, else left whole."""
    if sys.stdout.isatty():
        columns = shutil.get_terminal_size().columns
        text = "\n".join(wrapped(text, min(max(columns, NARROWEST), WIDEST)))
    sys.stdout.write(text + "\n")


def print_now(text: str = "") -> None:
    """Print one line as :func:`print_line` does, and let nothing wait on the way."""
    print_line(text)
    sys.stdout.flush()


def wrapped(text: str, width: int) -> list[str]:
    """A line in rows of at most ``width`` characters [-]; what hangs over stands under the text of its column.

    Parameters
    ----------
    text
        The line, perhaps indented, perhaps with a label and two blanks or more before its text.
    width
        Characters in a row [-].
    """
    if len(text) <= width:
        return [text]
    column = _COLUMN.match(text)
    lead = len(text) - len(text.lstrip())
    hang = column.end() if column and column.end() <= width // 2 else lead + 2
    return textwrap.wrap(
        text, width, subsequent_indent=" " * hang, break_on_hyphens=False, break_long_words=False, tabsize=1
    )


def report_error(error: TwoTurnError, *, as_json: bool) -> int:
    """Say what is wrong on stderr (every fault of a file, one line each); with ``as_json`` also as JSON on stdout.

    Returns
    -------
    int
        The exit status of bad input, 2.
    """
    faults = error.faults if isinstance(error, FileFaults) else []
    if as_json:
        rows = [
            {
                "file": fault.file,
                "line": fault.line,
                "key": fault.key,
                "found": fault.found,
                "expected": fault.expected,
            }
            for fault in faults
        ]
        print_json({"error": error.sentence, "errors": rows})
    for sentence in [fault.sentence for fault in faults] or [error.sentence]:
        sys.stderr.write(sentence + "\n")
    return EXIT_BAD_INPUT
