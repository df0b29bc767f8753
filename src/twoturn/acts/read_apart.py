"""Recordings read in a process of their own, with an end: a page of the bench waits for none that never comes."""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from dataclasses import replace
from multiprocessing import get_context
from pathlib import Path

from twoturn.acts.fill_readings import Read, Reader, read_recording
from twoturn.acts.job_files import FolderFiles
from twoturn.acts.job_folder import Job
from twoturn.acts.time_limit import MOST_S, no_longer_than
from twoturn.errors import RecordingError, TwoTurnError
from twoturn.job.entries.recordings import Capture, Pluck

CUT = "cut out the part that matters and send that"


@contextmanager
def reading_apart(seconds: float = MOST_S) -> Iterator[Reader]:
    """A reader for :func:`~twoturn.acts.fill_readings.fill_readings`; its process is started for the first recording.

    Parameters
    ----------
    seconds
        How long one recording may take [s]; it gives no reading then.
    """
    pools: list[ProcessPoolExecutor] = []

    def read(job: Job, entry: Pluck | Capture, path: Path) -> Read:
        """The reading of a recording, read in the process; a new one is started after a crash."""
        if not pools:
            pools.append(ProcessPoolExecutor(1, mp_context=get_context("spawn")))
        there = replace(job, files=FolderFiles(path.parent))
        try:
            found, error = pools[-1].submit(_read_there, there, entry, path, seconds).result()
        except BrokenProcessPool:
            pools.pop().shutdown(wait=False)
            raise RecordingError(f"the analysis of {entry.file} was broken off", next_step=CUT) from None
        if error is not None:
            message, allowed, next_step = error
            raise RecordingError(message, allowed=allowed, next_step=next_step)
        return found

    try:
        yield read
    finally:
        for pool in pools:
            pool.shutdown(wait=False, cancel_futures=True)


def _read_there(
    job: Job, entry: Pluck | Capture, path: Path, seconds: float
) -> tuple[Read, tuple[str, str, str] | None]:  # fmt: skip
    """In the process: the reading and its words, and of a refusal its sentence in parts."""
    try:
        with no_longer_than(seconds, f"the analysis of {entry.file}", CUT):
            return read_recording(job, entry, path), None
    except TwoTurnError as error:
        return (None, ""), (error.message, error.allowed, error.next_step)
    except MemoryError:
        return (None, ""), (f"{entry.file} needs more memory than there is", "", CUT)
