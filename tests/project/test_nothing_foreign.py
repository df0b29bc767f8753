"""The project names no address of a package registry, no machine's path, and ships no page that fetches from outside."""

from __future__ import annotations

import re
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
TEXTS = [
    path
    for folder in ("src", "docs", "requirements", "tools", "bench", ".ci")
    for path in (ROOT / folder).rglob("*")
    if path.is_file() and path.suffix in {".py", ".md", ".toml", ".txt", ".typ", ".json", ".svg", ""}
]


def test_requirements_hold_no_address() -> None:
    for path in (ROOT / "requirements").glob("*.txt"):
        text = path.read_text(encoding="utf-8")
        assert not re.search(r"://|file:|--index-url|--find-links", text), path.name
        assert "--hash=sha256:" in text


def test_no_path_of_a_machine() -> None:
    for path in TEXTS:
        assert not re.search(r"/(work|home|root)/", path.read_text(encoding="utf-8")), path
