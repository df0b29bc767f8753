"""Runs the examples of a page in a folder of its own, in order: what is printed there is what a reader gets.

Blocks that are run: ``console`` (lines that begin with ``$``, and what they print), ``python``, and ``toml``, which is
written to the file that its first line names (``# my-job/job.toml``), so that the commands after it find it.
"""

from __future__ import annotations

import atexit
import io
import re
import shlex
import shutil
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from contextlib import chdir, redirect_stderr, redirect_stdout
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory, mkdtemp
from unittest.mock import patch

from sybil import Example, Sybil
from sybil.parsers.markdown import CodeBlockParser, PythonCodeBlockParser

NOT_RUN = ("git", "cd", "export", "make test", "make bench")
FINE = (0, 3, 4)
LAST_DIGITS = 1
"""By how many units of its last digit a number with a decimal point may differ from the page [-]: rounding, no more."""

_SIGN = re.compile(r"(\.\.\.|(?<![\d.])\d+\.\d+(?![\d.]))")
_FILE = re.compile(r"# (\S+\.toml)\n")


@dataclass(frozen=True)
class Command:
    """A command of a console block and the lines that the page prints below it."""

    line: str
    printed: str


def commands(block: str) -> Iterator[Command]:
    """The commands of a console block, each with what the page says it prints."""
    parts = re.split(r"^\$ ", block, flags=re.MULTILINE)
    if parts[0].strip():
        raise ValueError(f"a console block begins with a line that is no command: {parts[0]!r}")
    for part in parts[1:]:
        line, _, printed = part.partition("\n")
        yield Command(line.split("  #")[0].strip(), printed.rstrip("\n"))


def twoturn(arguments: list[str]) -> tuple[int, str]:
    """Exit status of a call of the command line, and what it prints on both streams."""
    from twoturn.cli.main import run

    said = io.StringIO()
    with patch.object(sys, "argv", ["twoturn", *arguments]), redirect_stdout(said), redirect_stderr(said):
        try:
            run()
            status = 0
        except SystemExit as ended:
            status = int(ended.code or 0)
    return status, said.getvalue()


def is_as_printed(printed: str, said: str) -> bool:
    """Whether ``said`` is what a page prints: ``...`` stands for anything, a last digit may be rounded otherwise.

    A number has as many decimals as on the page, so ``0.4`` is not ``0.41``; machines round the last one differently.
    """
    pieces = _SIGN.split(_tidy(printed))
    decimals = [len(piece.split(".")[1]) if number % 2 and piece != "..." else 0 for number, piece in enumerate(pieces)]
    pattern = "".join(
        ".*?" if piece == "..." else rf"(\d+\.\d{{{count}}})(?!\d)" if count else re.escape(piece)
        for piece, count in zip(pieces, decimals, strict=True)
    )
    found = re.fullmatch(pattern, _tidy(said), re.DOTALL)
    wanted = [(float(piece), count) for piece, count in zip(pieces, decimals, strict=True) if count]
    return found is not None and all(
        abs(float(text) - value) < (LAST_DIGITS + 0.01) * 10.0**-count
        for text, (value, count) in zip(found.groups(), wanted, strict=True)
    )


def _tidy(text: str) -> str:
    return "\n".join(line.rstrip() for line in text.strip("\n").split("\n"))


def _console(example: Example) -> str | None:
    status = 0
    for command in commands(example.parsed):
        if command.line.startswith(NOT_RUN):
            continue
        if command.line == "echo $?":
            said, status = str(status), 0
        elif status not in FINE:
            return f"exit status {status} before: {command.line}"
        else:
            status, said = _run(command.line)
        if command.printed and not is_as_printed(command.printed, said):
            return f"$ {command.line}\nprinted on the page:\n{command.printed}\n\nsaid:\n{said}"
    return None if status in FINE else f"exit status {status} of: {command.line}\n{said}"


@cache
def _demo() -> tuple[Path, int, str]:
    """What ``make demo`` writes and prints: made once, copied for every page that asks for it."""
    folder = Path(mkdtemp())
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    with chdir(folder):
        return folder, *twoturn(["demo"])


def _run(line: str) -> tuple[int, str]:
    words = shlex.split(line)
    if line == "make demo":
        folder, status, said = _demo()
        shutil.copytree(folder, ".", dirs_exist_ok=True)
        return status, said
    if words[0] == "cp":
        for name in words[1:-1]:
            shutil.copy(name, words[-1])
        return 0, ""
    if words[0] == "sed":
        return subprocess.run(words, check=False).returncode, ""
    if words[0] != "twoturn":
        raise ValueError(f"the page asks for a command that is not run here: {line}")
    return twoturn(words[1:])


def _toml(example: Example) -> str | None:
    tomllib.loads(example.parsed)
    named = _FILE.match(example.parsed)
    if named:
        path = Path(named[1])
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(example.parsed, encoding="utf-8")
    return None


SYBIL = Sybil(
    parsers=[
        CodeBlockParser(language="console", evaluator=_console),
        CodeBlockParser(language="toml", evaluator=_toml),
        PythonCodeBlockParser(),
    ]
)


def run_page(path: Path) -> int:
    """Run the examples of a page, in order, in an empty folder; the number of them.

    Raises
    ------
    sybil.evaluators.SybilFailure, AssertionError
        An example does not do what the page says.
    """
    count = 0
    with TemporaryDirectory() as folder, chdir(folder):
        for example in SYBIL.parse(path).examples():
            example.evaluate()
            count += 1
    return count
