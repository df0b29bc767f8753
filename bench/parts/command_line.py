"""The command line: `--help`, the first words of every command, and each command as a whole."""

from __future__ import annotations

import json
import os
import resource
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from bench.shipped import DRIVES
from bench.table import Row, ms
from twoturn.demo.jobs_shipped import JOBS, write_job

RUNS = 5
TWOTURN = str(Path(sys.executable).with_name("twoturn"))


def measure() -> list[Row]:
    """Rows of `--help`, of the first words and of the whole commands."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        write_job(JOBS[0], folder / "job")
        commands = _commands(folder)
        first = {command[0]: _first_words(command, folder) for command in commands}
        whole = {command[0]: _whole(command, folder) for command in commands}
        wait, work = _whole(["--help"], folder, 9)
    words = ", ".join(f"{name} {ms(work)}" for name, (_, work) in first.items())
    total = ", ".join(f"{name} {work:.2f} s" for name, (_, work) in whole.items())
    slowest = max(work for _, work in first.values())
    how = f"on a terminal, after the imports it needs, median of {RUNS} processes"
    return [
        Row("`twoturn --help`", "median of 9 processes", f"{work:.2f} s (wait {wait:.2f} s)", "0.25 s", work < 0.25),
        Row("first words of a command", how, words, "0.1 s", slowest < 0.1),
        Row("a whole command", "from start to end, imports included, median of 3 processes", total, "none", None),
    ]


def _commands(folder: Path) -> list[list[str]]:
    drive, job = str(DRIVES[0]), folder / "job"
    sound = next(name for name in JOBS[0].recordings if name.endswith(".wav"))
    sensors = next(name for name in JOBS[0].recordings if name.endswith(".csv"))
    return [
        ["bolt", "M10", "--grade", "8.8", "--torque-nm", "45"],
        ["capture", str(job / sensors)],
        ["drive", drive],
        ["open", str(folder / "new"), "--drive", drive],
        ["plan", drive],
        ["pluck", str(job / sound)],
        ["prove", str(job)],
        ["demo", "--into", str(folder / "demo")],
    ]


def _first_words(command: list[str], folder: Path) -> tuple[float, float]:
    """Median wait and processor time until the first words [s]."""
    rows = []
    for _ in range(RUNS if command[0] == "open" else 1):
        shutil.rmtree(folder / "new", ignore_errors=True)
        runs = "1" if command[0] == "open" else str(RUNS)
        done = subprocess.run(
            [sys.executable, "-m", "bench.first_words", runs, *command], capture_output=True, text=True, check=True
        )
        rows += json.loads(done.stdout)
    return statistics.median(row[0] for row in rows), statistics.median(row[1] for row in rows)


def _whole(command: list[str], folder: Path, runs: int = 3) -> tuple[float, float]:
    """Median wait and processor time of a whole command [s]."""
    waits, works = [], []
    for _ in range(1 if command[0] == "demo" else runs):
        shutil.rmtree(folder / "new", ignore_errors=True)
        before, start = resource.getrusage(resource.RUSAGE_CHILDREN), time.perf_counter()
        done = subprocess.run([TWOTURN, *command], capture_output=True, check=False, cwd=folder, env=os.environ)
        assert done.returncode != 2, done.stderr.decode()
        waits.append(time.perf_counter() - start)
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        works.append(after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime)
    return statistics.median(waits), statistics.median(works)
