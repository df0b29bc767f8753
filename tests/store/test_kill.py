"""Killed at any moment (SIGKILL): no acknowledged entry lost, none doubled, none half there, every file whole."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from tests.store.databases import Record
from tests.store.made import new_job

from twoturn.store.verify import verify

ROOT = Path(__file__).resolve().parents[2]


def nursery(record: Record, **said: Any) -> dict[str, Any]:
    """What the nursery answers."""
    said |= {"folder": str(record.place.folder), "url": record.place.url}
    words = [sys.executable, "-m", "tests.store.nursery", json.dumps(said)]
    done = subprocess.run(words, cwd=ROOT, capture_output=True, text=True, check=False, timeout=240)
    assert done.returncode == 0, done.stderr
    found: dict[str, Any] = json.loads(done.stdout)
    return found


@pytest.mark.parametrize(("how", "kills"), [("random", 100), ("points", 60)])
def test_a_bench_killed_while_three_clients_write(record: Record, tmp_path: Path, how: str, kills: int) -> None:
    """Each client sends again with the same key what was not acknowledged, as a tablet does."""
    acks = tmp_path / "acks"
    acks.mkdir()
    with record.write() as connection:
        for _ in range(2):
            new_job(connection)
    found = nursery(record, acks=str(acks), how=how, kills=kills, seed=f"{how} {record.kind}")
    assert found["killed"] == kills
    assert found["acknowledged"] > kills / 4, "too little was written for the test to mean anything"
    assert (found["lost"], found["doubled"], found["cut"]) == (0, 0, 0), found
    problems = verify(record.place, record.engine).problems
    assert {problem.kind for problem in problems} <= {"orphaned"}  # a file whose row did not come to be
