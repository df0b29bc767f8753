"""Rows of the table of measured figures, and how they are written."""

from __future__ import annotations

import os
import platform
import re
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

TABLE = Path(__file__).resolve().parents[1] / "docs" / "measured.md"
RULE = "|---|---|---|---|---|"
WORDS = {True: "yes", False: "**no**", None: "–"}
RECORDINGS = os.environ.get("TWOTURN_RECORDINGS")


@dataclass(frozen=True)
class Row:
    """One measured figure beside its target; ``met`` is None where there is no target or nothing was measured."""

    what: str
    how: str
    figure: str
    target: str
    met: bool | None


def best_of(work: Callable[[], object], runs: int = 5) -> float:
    """Shortest processor time of several runs [s]; the first, cold run is not counted."""
    work()
    times = []
    for _ in range(runs):
        start = time.process_time()
        work()
        times.append(time.process_time() - start)
    return min(times)


def ms(seconds: float) -> str:
    """A time in milliseconds, to two or three figures."""
    return f"{1e3 * seconds:.3g} ms" if seconds < 1 else f"{1e3 * seconds:.0f} ms"


def as_markdown(rows: list[Row], date: str) -> str:
    """The table as a Markdown page."""
    judged = [row for row in rows if row.met is not None]
    lines = [
        "# Measured",
        "",
        f"Written by `make bench` on {date}, Python {platform.python_version()}, {platform.machine()}, one process, "
        "one thread for linear algebra as the command line has it.",
        "Times are processor time, the shortest of several runs unless a row says otherwise: what the wait is on a "
        "machine with nothing else to do.",
        "All drives, engines and sounds are invented and made from fixed seeds that no test uses; rows that say so "
        "use real recordings.",
        "Single parts may have been measured again since (`python -m bench --keep part`).",
        f"Of {len(judged)} rows with a target {sum(1 for row in judged if row.met)} meet it.",
        "",
        "| what | measured how | figure | target | met |",
        RULE,
    ]
    lines += [_line(row) for row in rows]
    return "\n".join(lines) + "\n"


def with_rows(page: str, rows: list[Row]) -> str:
    """The page with rows that were measured again in place of the old ones of the same words, new ones at its end."""
    head, table = page.split(RULE + "\n")
    lines = _by_begin(table.splitlines()) | _by_begin([_line(row) for row in rows])
    met = [line.rpartition("| ")[2] for line in lines.values()]
    judged = [word for word in met if word in ("yes |", "**no** |")]
    counted = f"Of {len(judged)} rows with a target {judged.count('yes |')} meet it."
    head = re.sub(r"Of \d+ rows with a target \d+ meet it\.", counted, head)
    return head + RULE + "\n" + "\n".join(lines.values()) + "\n"


def _line(row: Row) -> str:
    return f"| {row.what} | {row.how} | {row.figure} | {row.target} | {WORDS[row.met]} |"


def _by_begin(lines: list[str]) -> dict[tuple[str, ...], str]:
    """Lines by what is measured and how; of one that says "the same" the line before that does not is part of it."""
    found: dict[tuple[str, ...], str] = {}
    before: tuple[str, ...] = ()
    for line in lines:
        begin = tuple(line.split(" | ")[:2])
        if not begin[1].startswith("the same"):
            before = begin
        found[begin if begin == before else (*before, *begin)] = line
    return found
