"""Killed at any moment (SIGKILL): no acknowledged entry lost, none doubled, none half there, every file whole."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from tests.store.databases import NOW, PROGRAM, Record
from tests.store.made import full_record, new_job, rows, send
from tests.store.steps import GOOD, steps_with

from twoturn.store.backup import backup
from twoturn.store.migrate.schema import newest
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


@pytest.mark.parametrize(("how", "kills"), [("random", 80), ("points", 60)])
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


def test_a_restore_killed_at_any_moment_leaves_one_whole_record(record: Record, tmp_path: Path) -> None:
    """The record before, the one of the backup, or a sentence that says to restore again: and that then works."""
    full_record(record, 1, 3)
    file = backup(record.place, record.engine, tmp_path / "b.zip", NOW, PROGRAM).path
    with record.write() as connection:
        send(connection, 1, rows(2, 4), "after the backup")
    record.engine.dispose()
    moments = [0.01 + 0.03 * number for number in range(10)]
    for found in nursery(record, task="restore", file=str(file), moments_s=moments)["answers"]:
        assert not found["told"] or "run the restore again" in found["told"]
        assert found["entries"] in (3, 5)
        assert found["problems"] in ([], ["orphaned"])


def test_a_backup_killed_at_any_moment_is_whole_or_not_there(record: Record, tmp_path: Path) -> None:
    full_record(record, 2, 3)
    record.engine.dispose()
    moments = [0.01 + 0.015 * number for number in range(10)]
    for found in nursery(record, task="backup", file=f"{tmp_path}/NUMBER.zip", moments_s=moments)["answers"]:
        assert found["problems"] == []


def test_a_change_of_the_schema_killed_at_any_moment_is_done_or_not_begun(record: Record, tmp_path: Path) -> None:
    full_record(record, 2, 3)
    steps = steps_with(tmp_path / "steps", GOOD)
    record.engine.dispose()
    moments = [0.01 + 0.02 * number for number in range(10)]
    for found in nursery(record, task="migrate", file=str(steps), moments_s=moments)["answers"]:
        assert (found["schema"], found["new column"]) in ((newest(), False), (newest() + 1, True))
        assert found["problems"] == []
