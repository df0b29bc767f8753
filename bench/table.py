"""Rows of the table of measured figures, and how they are written."""

from __future__ import annotations

import platform
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

TABLE = Path(__file__).resolve().parents[1] / "docs" / "measured.md"


@dataclass(frozen=True)
class Row:
    """One measured figure beside its target."""

    what: str
    how: str
    figure: str
    target: str
    met: bool | None


def best_of(work: Callable[[], object], runs: int = 5) -> float:
    """Shortest of several runs [s]; the first, cold run is not counted."""
    work()
    times = []
    for _ in range(runs):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return min(times)


def as_markdown(rows: list[Row], date: str) -> str:
    """The table as a Markdown page."""
    word = {True: "yes", False: "**no**", None: "–"}
    lines = [
        "# Measured",
        "",
        f"Written by `make bench` on {date}, Python {platform.python_version()}, "
        f"{platform.machine()}, one process. Times are the shortest of several runs.",
        "",
        "| what | measured how | figure | target | met |",
        "|---|---|---|---|---|",
    ]
    lines += [f"| {row.what} | {row.how} | {row.figure} | {row.target} | {word[row.met]} |" for row in rows]
    return "\n".join(lines) + "\n"
