"""README and pages of ``docs/`` are tests: one item a page, so that its examples stay together and in order."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent


class PageItem(pytest.Item):
    """All examples of one page."""

    def runtest(self) -> None:
        """Run them in a folder of their own."""
        from tests.docs.examples import run_page

        run_page(self.path)

    def reportinfo(self) -> tuple[Path, None, str]:
        """Where it stands in reports."""
        return self.path, None, f"examples of {self.path.name}"


class PageFile(pytest.File):
    """A page."""

    def collect(self) -> Iterator[PageItem]:
        """Its one item."""
        yield PageItem.from_parent(self, name="examples")


def pytest_collect_file(file_path: Path, parent: pytest.Collector) -> PageFile | None:
    """README and the pages of ``docs/``."""
    if file_path.suffix == ".md" and (file_path.name == "README.md" or file_path.parent == ROOT / "docs"):
        return PageFile.from_parent(parent, path=file_path)
    return None
