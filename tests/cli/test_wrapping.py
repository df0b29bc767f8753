"""Lines on a terminal are wrapped at words to its width; into a file they stay whole, so that they can be searched."""

from __future__ import annotations

import os
import sys

import pytest
from hypothesis import given
from hypothesis import strategies as st

from twoturn.cli import output
from twoturn.cli.output import print_line, wrapped

LONG = (
    "Camshaft: it may also be that the crank sensor or its wheel has moved; look at a mark before the belt comes off."
)
ROW = "  Teeth between marks   crankshaft to camshaft: 43.13 (not near a whole number: check the drive file)"


@given(st.text("abc d", max_size=300).filter(lambda text: text == text.strip()), st.integers(40, 120))
def test_no_word_is_lost_and_no_row_is_too_long(text: str, width: int) -> None:
    rows = wrapped(text, width)
    assert " ".join(rows).split() == text.split()
    assert all(len(row) <= width or " " not in row.strip() for row in rows)


def test_what_hangs_over_stands_under_its_text() -> None:
    rows = wrapped(ROW, 60)
    assert rows[0].startswith("  Teeth between marks   crankshaft")
    assert all(row.startswith(" " * 24) and row[24] != " " for row in rows[1:])
    assert all(row.startswith("  ") for row in wrapped(LONG, 50)[1:])


@pytest.mark.parametrize("terminal", [True, False])
def test_only_a_terminal_wraps(
    terminal: bool, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(sys.stdout, "isatty", lambda: terminal)
    monkeypatch.setattr(output.shutil, "get_terminal_size", lambda: os.terminal_size((60, 24)))
    print_line(LONG)
    printed = capsys.readouterr().out.splitlines()
    assert (max(map(len, printed)) <= 60) is terminal
    assert (printed == [LONG]) is not terminal
