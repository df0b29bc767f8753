"""Judging a whole job, and the share of careful paper jobs that end proven."""

from __future__ import annotations

import random
import tempfile
from collections import Counter
from pathlib import Path

from tests.job.paper_jobs import ENGINES, careful_job, engine

from bench.table import Row, best_of, ms
from twoturn.acts.fill_readings import fill_readings
from twoturn.acts.job_folder import load_job
from twoturn.demo.jobs_shipped import JOBS, write_job
from twoturn.job.assess import assess

PAPER_JOBS = 60


def measure() -> list[Row]:
    """Rows of the time of one assessment and of the paper jobs."""
    return [_shipped(), _careful(), _proven()]


def _shipped() -> Row:
    each, entries = {}, []
    with tempfile.TemporaryDirectory() as name:
        for shipped in JOBS:
            folder = Path(name) / shipped.id
            write_job(shipped, folder)
            job = load_job(folder)
            filled = fill_readings(job).entries
            entries.append(len(filled))
            each[shipped.id] = best_of(lambda job=job, filled=filled: assess(job.drive, filled), 10)  # type: ignore[misc]
    how = f"shipped jobs of {min(entries)} to {max(entries)} entries, readings filled in"
    figure = ", ".join(f"{name} {ms(seconds)}" for name, seconds in each.items())
    return Row("assess a job", how, figure, "50 ms each", max(each.values()) < 0.05)


def _careful() -> Row:
    each, most = {}, 0
    for name in ENGINES:
        rows = careful_job(engine(name), random.Random(f"bench {name}"))
        most = max(most, len(rows))
        each[name.split("-")[0]] = best_of(lambda name=name, rows=rows: assess(engine(name), rows), 10)  # type: ignore[misc]
    figure = ", ".join(f"{name} {ms(seconds)}" for name, seconds in each.items())
    how = f"a careful paper job for each shipped drive, up to {most} entries"
    return Row("assess a job", how, figure, "50 ms each", max(each.values()) < 0.05)


def _proven() -> Row:
    verdicts: Counter[str] = Counter()
    least = 1.0
    for name in ENGINES:
        found = [
            assess(engine(name), careful_job(engine(name), random.Random(f"bench {name} {seed}"))).verdict.value
            for seed in range(PAPER_JOBS)
        ]
        verdicts.update(found)
        least = min(least, found.count("proven") / len(found))
    share = verdicts["proven"] / sum(verdicts.values())
    how = f"{PAPER_JOBS} jobs for each of six drives, readings scattered as by hand and eye, no phone and no scope"
    figure = f"{100 * share:.1f} % (the drive with the least {100 * least:.0f} %; not shown {verdicts['not shown']}"
    figure += f", not met {verdicts['not met']})"
    return Row("careful paper jobs that end proven", how, figure, "90 %", share >= 0.9)
