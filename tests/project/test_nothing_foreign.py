"""The project names no package registry, no path of a machine, and ships nothing that fetches from outside."""

from __future__ import annotations

import re
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
SUFFIXES = {".py", ".md", ".toml", ".txt", ".typ", ".json", ".svg", ".in", ""}
FOLDERS = ("src", "docs", "requirements", "tools", "bench", "tests", ".ci")
TEXTS = [
    path
    for path in [*ROOT.iterdir(), *(path for folder in FOLDERS for path in (ROOT / folder).rglob("*"))]
    if path.is_file() and path.suffix in SUFFIXES and path != Path(__file__).resolve()
]
ALLOWED_ADDRESSES = (
    "http://www.w3.org/",
    "https://json-schema.org/draft/",
    "https://ptb.de/",
    "http://127.0.0.1:",
    "http://{LOOPBACK}:",
    "https://{host}:",
    "https://`",
)
"""Names of XML languages and of a schema language, which nobody fetches, and addresses of this computer itself."""


def test_requirements_hold_no_address() -> None:
    for path in (ROOT / "requirements").glob("*.txt"):
        text = path.read_text(encoding="utf-8")
        assert not re.search(r"://|file:|--index-url|--find-links", text), path.name
        assert "--hash=sha256:" in text


def test_no_path_of_a_machine() -> None:
    for path in TEXTS:
        assert not re.search(r"/(work|home|root)/", path.read_text(encoding="utf-8")), path


def test_no_word_of_how_the_text_was_made() -> None:
    """The project speaks of itself alone: of no workplace, no registry, no numbers of anybody's list of work."""
    words = r"\bissue #?\d|\b(this|that|my) session\b|sub-?agent|language model|/tmp/|pypi|pythonhosted|\bshared/"
    for path in TEXTS:
        found = re.search(words, path.read_text(encoding="utf-8"), re.IGNORECASE)
        assert not found, (path, found)


def test_no_address_that_is_fetched() -> None:
    """Nothing of the program or its pages leads out of them; sources are named by title, not by address."""
    for path in TEXTS:
        if path.suffix == ".txt" or "tests" in path.parts:
            continue
        found = [
            link
            for link in re.findall(r"https?://[^\s\"'<>)]+", path.read_text(encoding="utf-8"))
            if not link.startswith(ALLOWED_ADDRESSES)
        ]
        assert found == [], path
