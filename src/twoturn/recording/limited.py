"""Running a reader as a process of its own, with nothing but one open file, and a clock beside it."""

from __future__ import annotations

import os
import subprocess
import sys
from dataclasses import dataclass, field
from pathlib import Path
from typing import IO

from twoturn.errors import RecordingError

KEPT = ("SYSTEMROOT", "LD_LIBRARY_PATH", "PATH")


@dataclass(frozen=True)
class Child:
    """A reader that runs by itself.

    Attributes
    ----------
    script
        Its Python file; it reads standard input, writes standard output and limits itself
        (:func:`twoturn.recording.limits.limit_process`).
    memory_bytes, seconds, most_values
        Its three arguments: memory [byte], processor and wall clock time [s], numbers it may answer [-].
    environment
        What it finds in its environment beside the little that every process needs.
    options
        Options of the interpreter beside ``-I``.
    """

    script: Path
    memory_bytes: int
    seconds: float
    most_values: int
    environment: dict[str, str] = field(default_factory=dict)
    options: tuple[str, ...] = ()


def run_limited(
    child: Child, file: IO[bytes], name: str, cut_out: str, out: IO[bytes] | None = None, folder: str | None = None
) -> bytes:
    """Let a child read an open file.

    Parameters
    ----------
    child
        The reader and its limits.
    file
        The open file; only its descriptor is handed over.
    name, cut_out
        Its name, and what to cut out of it when reading takes too long, for the error sentence.
    out
        An open file for the child's standard output; None to have it as the answer.
    folder
        Where the child runs; here when None.

    Returns
    -------
    bytes
        Standard output of the child; empty where it went to ``out``.

    Raises
    ------
    RecordingError
        It took too long.
    """
    words = [str(child.memory_bytes), str(max(1, int(child.seconds))), str(child.most_values)]
    environment = {key: os.environ[key] for key in KEPT if key in os.environ} | child.environment
    file.seek(0)
    try:
        done = subprocess.run(
            [sys.executable, "-I", *child.options, str(child.script), *words],
            stdin=file,
            stdout=subprocess.PIPE if out is None else out,
            stderr=subprocess.DEVNULL,
            timeout=child.seconds,
            env=environment,
            cwd=folder,
            check=False,
        )
    except subprocess.TimeoutExpired:
        raise RecordingError(
            f"{name} took longer than {child.seconds:g} s to read", next_step=f"cut out {cut_out}"
        ) from None
    return done.stdout or b""
