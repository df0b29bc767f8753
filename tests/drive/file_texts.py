"""Drive files as text for the tests of loading; every one is invented."""

from __future__ import annotations

import re
from pathlib import Path
from typing import NamedTuple

import pytest

from twoturn.drive.load import read_drive
from twoturn.errors import Fault, FileFaults

PAGE = Path(__file__).resolve().parents[2] / "docs" / "drive-file.md"
EXAMPLES = re.findall(r"```toml\n(.*?)```", PAGE.read_text(encoding="utf-8"), re.DOTALL)

WHOLE = next(text for text in EXAMPLES if "double eccentric" in text and "bolt_mm" in text)
LIST = EXAMPLES[0]
MEASURED = next(text for text in EXAMPLES if "[[distance]]" in text)
TWO_BELTS = next(text for text in EXAMPLES if 'id = "balance"' in text)


def line_of(text: str, part: str) -> int:
    """Number of the line that holds ``part``, which stands there once."""
    lines = [number for number, line in enumerate(text.split("\n"), 1) if part in line]
    assert len(lines) == 1, f"{part!r} stands in lines {lines}"
    return lines[0]


def changed(text: str, old: str, new: str) -> str:
    """``text`` with ``old``, which stands there once, replaced."""
    assert text.count(old) == 1, f"{old!r} stands there {text.count(old)} times"
    return text.replace(old, new)


class Bad(NamedTuple):
    """A text with one part replaced; the fault stands in the line where ``at`` begins in the new text."""

    text: str
    old: str
    new: str
    key: str
    at: str
    says: str


def faults_of(text: str) -> list[Fault]:
    """Faults of a text that must have some."""
    with pytest.raises(FileFaults) as caught:
        read_drive(text, "bad.toml")
    return caught.value.faults


def check_one_fault(bad: Bad) -> None:
    """The fault is told with its key, its line and the words, in one plain sentence."""
    text = bad.text.replace(bad.old, bad.new, 1)
    assert text != bad.text
    fault = next(fault for fault in faults_of(text) if fault.key == bad.key)
    assert bad.says in fault.expected
    wanted = text.index(bad.at)
    assert fault.line == text.count("\n", 0, wanted) + 1
    assert "pydantic" not in fault.sentence
    assert "http" not in fault.sentence
    assert "\n" not in fault.sentence
