"""On which line of a TOML text each table, key and list element stands.

The scanner expects text that :mod:`tomllib` accepts; it never fails on other text, it then only knows fewer lines.
"""

from __future__ import annotations

import contextlib
import re
import tomllib
from bisect import bisect_right

Path = tuple[str | int, ...]

MOST_PARTS = 40

_BARE_KEY = re.compile(r"[A-Za-z0-9_-]+")
_BLANK = re.compile(r"(?:[ \t\r\n]+|#[^\n]*)*")
_SPACE = re.compile(r"[ \t]*")
_BARE_VALUE = re.compile(r"[^,\]}\n#]*")
_TO_LINE_END = re.compile(r"[^\n]*")
_STRINGS = (
    re.compile(r'"""(?:\\.|[^\\])*?"{3,5}(?!")', re.DOTALL),
    re.compile(r"'''.*?'{3,5}(?!')", re.DOTALL),
    re.compile(r'"(?:\\.|[^"\\\n])*"'),
    re.compile(r"'[^'\n]*'"),
)


class LineMap:
    """Lines of a TOML text by path, such as ``("pulley", 1, "teeth")`` (list elements counted from 0).

    Parameters
    ----------
    text
        The whole text.
    """

    def __init__(self, text: str) -> None:
        self._scanner = _Scanner(text)
        with contextlib.suppress(RecursionError, ValueError):  # no TOML: the lines found so far are all there are
            self._scanner.scan()

    def as_written(self, path: Path) -> Path:
        """``path`` without the 0 of a single element where the text holds one table instead of a list of tables."""
        if len(path) > 1 and path[1] == 0 and path[:1] in self._scanner.lines and path[:2] not in self._scanner.lines:
            return path[:1] + path[2:]
        return path

    def line(self, path: Path) -> int | None:
        """Line of ``path``, counted from 1; that of the nearest table around it when it stands nowhere, else None."""
        for length in range(len(path), 0, -1):
            if path[:length] in self._scanner.lines:
                return self._scanner.lines[path[:length]]
        return None

    def paths(self) -> dict[int, Path]:
        """The longest path that stands on each line, by number of the line."""
        found: dict[int, Path] = {}
        for path, line in self._scanner.lines.items():
            if len(path) >= len(found.get(line, ())):
                found[line] = path
        return found


class _Scanner:
    """Walks once over the text; every method moves ``at`` forward."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.lines: dict[Path, int] = {}
        self._table_counts: dict[Path, int] = {}
        self._starts = [0, *(found.end() for found in re.finditer("\n", text))]

    def scan(self) -> None:
        """Fill ``lines``; ValueError where the text is no TOML."""
        table: Path = ()
        while True:
            self._skip(_BLANK)
            if self.at >= len(self.text):
                return
            if self.text[self.at] == "[":
                table = self._header()
            else:
                self._key_value(table)
            self._skip(_TO_LINE_END)

    def _skip(self, pattern: re.Pattern[str]) -> str:
        found = pattern.match(self.text, self.at)
        if found is None:
            raise ValueError("no TOML here")
        self.at = found.end()
        return found.group()

    def _take(self, sign: str) -> bool:
        if self.text.startswith(sign, self.at):
            self.at += len(sign)
            return True
        return False

    def _note(self, path: Path, at: int) -> None:
        self.lines.setdefault(path, bisect_right(self._starts, at))

    def _header(self) -> Path:
        start = self.at
        self.at += 1
        is_list = self._take("[")
        parts = self._key()
        path: Path = ()
        for part in parts[:-1]:
            path = self._element((*path, part))
            self._note(path, start)
        path = (*path, parts[-1])
        self._note(path, start)
        if is_list:
            self._table_counts[path] = self._table_counts.get(path, 0) + 1
        path = self._element(path)
        self._note(path, start)
        return path

    def _element(self, path: Path) -> Path:
        """The element of a list of tables that a header means: the last one so far."""
        count = self._table_counts.get(path)
        return path if count is None else (*path, count - 1)

    def _key(self) -> list[str]:
        parts = []
        while True:
            self._skip(_SPACE)
            if self.text[self.at : self.at + 1] in ('"', "'"):
                parts.append(tomllib.loads(f"key = {self._string()}")["key"])
            else:
                parts.append(self._skip(_BARE_KEY))
            self._skip(_SPACE)
            if not self._take("."):
                return parts
            if len(parts) > MOST_PARTS:
                raise ValueError("a key of too many parts")

    def _string(self) -> str:
        for pattern in _STRINGS:
            found = pattern.match(self.text, self.at)
            if found is not None:
                self.at = found.end()
                return found.group()
        raise ValueError("a string that does not end")

    def _key_value(self, table: Path) -> None:
        start = self.at
        path = table
        for part in self._key():
            path = (*path, part)
            self._note(path, start)
        if not self._take("="):
            raise ValueError("no TOML here")
        self._skip(_SPACE)
        self._value(path)

    def _value(self, path: Path) -> None:
        sign = self.text[self.at : self.at + 1]
        if sign in ('"', "'"):
            self._string()
        elif sign == "[":
            self._list(path)
        elif sign == "{":
            self._inline_table(path)
        else:
            self._skip(_BARE_VALUE)

    def _list(self, path: Path) -> None:
        self.at += 1
        for index in range(len(self.text)):
            self._skip(_BLANK)
            if self._take("]"):
                return
            self._note((*path, index), self.at)
            self._value((*path, index))
            self._skip(_BLANK)
            if not self._take(",") and not self.text.startswith("]", self.at):
                raise ValueError("no TOML here")

    def _inline_table(self, path: Path) -> None:
        self.at += 1
        while True:
            self._skip(_BLANK)
            if self._take("}"):
                return
            self._key_value(path)
            self._skip(_BLANK)
            if not self._take(",") and not self.text.startswith("}", self.at):
                raise ValueError("no TOML here")
