"""The invented drives and jobs that come with the project, for measuring."""

from __future__ import annotations

from pathlib import Path

import twoturn.demo

DRIVES = sorted((Path(twoturn.demo.__file__).parent / "drives").glob("*.toml"))


def short(path: Path) -> str:
    """The first word of a drive file's name."""
    return path.stem.split("-")[0]
