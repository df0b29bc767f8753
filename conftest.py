"""README and pages of ``docs/`` are tests: one item a page, so that its examples stay together and in order.

Property tests draw the same cases in every run, so that a green tree stays green; ``HYPOTHESIS_PROFILE=search`` draws
new ones.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import settings

ROOT = Path(__file__).resolve().parent

settings.register_profile("repeatable", derandomize=True, deadline=None)
settings.register_profile("search", deadline=None)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "repeatable"))


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
