"""A bench killed again and again (SIGKILL) while three clients write: what became of what was acknowledged.

``TWOTURN_KILLS`` says how often in all; the target's ten thousand when it is not set. A quarter falls to each row.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Any

from tests.store.databases import KINDS, new_record
from tests.store.made import new_job

from bench.table import Row
from twoturn.store.verify import verify

ROOT = Path(__file__).resolve().parents[2]
KILLS = int(os.environ.get("TWOTURN_KILLS", "10000"))
A_RECORD = 1000
"""Kills of one record before a new one is begun."""
ADDED = ("killed", "acknowledged", "entries", "files", "unacknowledged", "lost", "doubled", "cut")


def measure() -> list[Row]:
    """One row for each database and way of killing."""
    return [_row(kind, how) for kind in KINDS for how in ("random", "points")]


def _row(kind: str, how: str) -> Row:
    total: dict[str, int] = dict.fromkeys((*ADDED, "problems"), 0)
    left = KILLS // 4
    while left > 0:
        found = _killed(kind, how, min(left, A_RECORD), f"bench {kind} {how} {left}")
        total = {key: total[key] + found[key] for key in total}
        left -= A_RECORD
    moment = "at a random moment" if how == "random" else "before and after every statement and commit in turn"
    name = "SQLite" if kind == "sqlite" else "PostgreSQL"
    figure = (
        f"{total['acknowledged']} sendings acknowledged, {total['entries']} entries: {total['lost']} lost, "
        f"{total['doubled']} doubled, {total['cut']} cut; {total['problems']} found by verify"
    )
    met = not any(total[key] for key in ("lost", "doubled", "cut", "problems")) and total["killed"] == KILLS // 4
    return Row(
        "record: kill",
        f"{name}: {total['killed']} kills (SIGKILL) of a bench with three clients, {moment}; each sends again",
        figure,
        "no acknowledged entry lost, none doubled; 10⁴ kills",
        met if KILLS >= 10_000 or not met else None,
    )


def _killed(kind: str, how: str, kills: int, seed: str) -> dict[str, Any]:
    with tempfile.TemporaryDirectory() as folder, new_record(kind, Path(folder) / "data") as record:
        (Path(folder) / "acks").mkdir()
        with record.write() as connection:
            for _ in range(2):
                new_job(connection)
        said = {"folder": str(record.place.folder), "url": record.place.url, "acks": f"{folder}/acks"}
        said |= {"how": how, "kills": kills, "seed": seed}
        words = [sys.executable, "-m", "tests.store.nursery", json.dumps(said)]
        done = subprocess.run(words, cwd=ROOT, capture_output=True, text=True, check=True)
        found: dict[str, Any] = json.loads(done.stdout)
        problems = verify(record.place, record.engine).problems
    return found | {"problems": sum(one.kind != "orphaned" for one in problems)}
