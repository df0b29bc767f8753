"""The runner of the examples: what a page prints must be what is said, so a wrong page must fail."""

from __future__ import annotations

from pathlib import Path

import pytest
from sybil.example import SybilFailure
from tests.docs.examples import Command, commands, is_as_printed, run_page


@pytest.mark.parametrize(
    ("printed", "said", "is_same"),
    [
        ("109 teeth", "109 teeth\n", True),
        ("109 teeth", "108 teeth\n", False),
        ("Note: 144.3 Hz", "Note: 144.4 Hz", True),
        ("Note: 144.3 Hz", "Note: 144.5 Hz", False),
        ("0.4° late ± 0.04°", "0.41° late ± 0.04°", False),
        ("16.9° late", "16.95° late", False),
        ("Note: 144.3 Hz", "Note: 104.3 Hz", False),
        ("Note: 144.3 Hz", "Note: 144 Hz", False),
        ("a\n...\nd", "a\nb\nc\nd", True),
        ("a\n...\nd", "a\nb\nc", False),
        ("a", "a\nb", False),
        ("0.0 ± 0.1", "0.2 ± 0.1", False),
        ("1.2.3", "1.2.4", False),
    ],
)
def test_what_is_printed_is_compared(printed: str, said: str, is_same: bool) -> None:
    assert is_as_printed(printed, said) is is_same


def test_a_block_is_cut_into_commands() -> None:
    block = "$ twoturn drive x.toml  # a remark\nfirst\n\nthird\n$ echo $?\n2\n"
    assert list(commands(block)) == [Command("twoturn drive x.toml", "first\n\nthird"), Command("echo $?", "2")]


@pytest.mark.parametrize(
    "block",
    [
        "```console\n$ twoturn bolt M8 --grade 8.8 --torque-nm 25\nM8, class 8.8, 26 N·m\n...\n```\n",
        "```console\n$ twoturn bolt M8 --grade 8.8 --torque-nm nought\n```\n",
        "```console\n$ twoturn bolt M8 --grade 8.8 --torque-nm 25\n...\n$ echo $?\n2\n```\n",
        "```python\nassert 1 == 2\n```\n",
    ],
)
def test_a_wrong_page_fails(block: str, tmp_path: Path) -> None:
    page = tmp_path / "page.md"
    page.write_text(f"# Page\n\n{block}", encoding="utf-8")
    with pytest.raises((SybilFailure, AssertionError)):
        run_page(page)


def test_files_of_a_page_are_there_for_its_commands(tmp_path: Path) -> None:
    page = tmp_path / "page.md"
    page.write_text(
        "```toml\n# deep/numbers.toml\nx = 1\n```\n\n"
        "```console\n$ twoturn drive deep/numbers.toml\n...x...\n$ echo $?\n2\n```\n",
        encoding="utf-8",
    )
    assert run_page(page) == 2
