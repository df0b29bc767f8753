"""Collecting what is wrong in a file a person wrote: every fault with its line, in file order."""

from __future__ import annotations

import datetime
import math
from typing import Any

from twoturn.drive.refusals import REFUSALS
from twoturn.drive.toml_lines import LineMap, Path
from twoturn.errors import Fault, FileFaults


class FaultList:
    """Faults of one file; add with :meth:`add` or :meth:`refuse`, end with :meth:`raise_if_any`.

    Parameters
    ----------
    file_name
        Name of the file as it was given.
    text
        Its text, from which the lines are found (only when there is a fault).
    """

    def __init__(self, file_name: str, text: str) -> None:
        self.file_name = file_name
        self._text = text
        self._lines: LineMap | None = None
        self._faults: dict[tuple[str, str], Fault] = {}

    def __len__(self) -> int:
        return len(self._faults)

    def add(self, path: Path, found: str, expected: str) -> None:
        """Note a fault at ``path``, such as ``("pulley", 1, "teeth")``; a second one in the same words is dropped."""
        if self._lines is None:
            self._lines = LineMap(self._text)
        path = self._lines.as_written(path)
        key = key_of(path)
        self._faults.setdefault((key, expected), Fault(self.file_name, self._lines.line(path), key, found, expected))

    def refuse(self, refusal: str, path: Path, found: str, **values: str) -> None:
        """Note a fault of the kinds that ``REFUSALS`` names; ``values`` fill the gaps of its sentence."""
        self.add(path, found, REFUSALS[refusal].expected.format(**values))

    def raise_if_any(self) -> None:
        """Raise :class:`FileFaults` with all faults in file order when there are any."""
        if self._faults:
            raise FileFaults(sorted(self._faults.values(), key=_in_file_order))


def _in_file_order(fault: Fault) -> float:
    return math.inf if fault.line is None else fault.line


def key_of(path: Path) -> str:
    """``path`` as a person reads it: ``pulley[2].teeth`` is the key teeth of the second ``[[pulley]]``."""
    text = ""
    for part in path:
        if isinstance(part, int):
            text += f"[{part + 1}]"
        else:
            text += f".{part}" if text else part
    return text if len(text) <= 120 else text[:119] + "…"


def shown(value: Any) -> str:
    """A value of a TOML document as it stood in the file, cut where it is long."""
    if value is None:
        return "nothing"
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int):
        return str(value) if abs(value) < 10**18 else "a number of more than 18 digits"
    if isinstance(value, float):
        return f"{value:.10g}"
    if isinstance(value, str):
        printable = "".join(sign if sign.isprintable() else "·" for sign in value)
        return f'"{printable}"' if len(printable) <= 60 else f'"{printable[:59]}…"'
    if isinstance(value, list | tuple):
        return _shown_list(value)
    if isinstance(value, datetime.date | datetime.time):
        return f"the date {value.isoformat()}"
    return "a table"


def _shown_list(values: list[Any] | tuple[Any, ...]) -> str:
    if len(values) > 6 or any(isinstance(value, list | tuple | dict) for value in values):
        return f"a list of {len(values)}" if values else "an empty list"
    return "[" + ", ".join(shown(value) for value in values) + "]"
