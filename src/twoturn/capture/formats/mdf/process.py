"""Reading a measurement data file in a process of its own that is bound in memory, time and files."""

from __future__ import annotations

import importlib.util
import json
import os
import struct
import tempfile
from pathlib import Path
from typing import IO, Any

import numpy as np

from twoturn.capture.model import Array
from twoturn.errors import RecordingError
from twoturn.recording.limited import Child, run_limited

MEMORY_BYTES, MAX_VALUES, TIMEOUT_S = 3_000_000_000, 60_000_000, 60.0
MOST_JSON_BYTES = 50_000_000
CUT_OUT = "twenty turns or so"


def read_limited(file: IO[bytes], name: str) -> tuple[dict[str, Any], Array]:
    """Read all channels of an open file in a process with limits.

    Parameters
    ----------
    file
        The open file; only its descriptor is handed over.
    name
        Its name, for the error sentence.

    Returns
    -------
    tuple
        What the file holds, and all its numbers in one row.

    Raises
    ------
    RecordingError
        The addition that reads such files is missing, or the file is damaged, too long or too slow to read.
    """
    if importlib.util.find_spec("asammdf") is None:
        raise RecordingError(
            f"{name} is a measurement data file (MDF), and the addition that reads those is not installed",
            next_step='install it with: python -m pip install "twoturn[mdf]"',
        )
    with tempfile.TemporaryDirectory() as folder, tempfile.TemporaryFile(dir=folder) as answer:
        _run(file, answer, folder, name)
        return _answer(answer, name)


def _run(file: IO[bytes], answer: IO[bytes], folder: str, name: str) -> None:
    """Run the child; its standard output is a file."""
    threads = ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "NUMEXPR_MAX_THREADS", "NUMEXPR_NUM_THREADS")
    environment = dict.fromkeys(threads, "1") | {"TMPDIR": folder, "TEMP": folder, "HOME": folder}
    script = Path(__file__).with_name("child.py")
    child = Child(script, MEMORY_BYTES, TIMEOUT_S, MAX_VALUES, environment, ("-W", "ignore"))
    run_limited(child, file, name, CUT_OUT, answer, folder)


def _answer(answer: IO[bytes], name: str) -> tuple[dict[str, Any], Array]:
    """The table and the numbers that the child wrote."""
    head, length = _table(answer)
    why = head.get("error", "")
    if why in ("too long", "too much memory"):
        raise RecordingError(
            f"{name} is too long to read",
            allowed=f"{MAX_VALUES / 1e6:g} million numbers over all channels",
            next_step=f"cut out {CUT_OUT}",
        )
    if why:
        raise RecordingError(
            f"{name} is a measurement data file (MDF) that is damaged or cut off",
            next_step="copy it again from where it was recorded",
        )
    answer.seek(0)
    return head, np.fromfile(answer, dtype=np.float64, count=length // 8)


def _table(answer: IO[bytes]) -> tuple[dict[str, Any], int]:
    """The line of JSON at the end, and the bytes of numbers before it; an error where there is none."""
    nothing: dict[str, Any] = {"error": "not readable"}
    size = answer.seek(0, os.SEEK_END)
    if size < 8:
        return nothing, 0
    answer.seek(size - 8)
    (length,) = struct.unpack("<Q", answer.read(8))
    if not 0 < length <= min(size - 8, MOST_JSON_BYTES):
        return nothing, 0
    answer.seek(size - 8 - length)
    try:
        head = json.loads(answer.read(length))
    except ValueError:
        return nothing, 0
    return (head if isinstance(head, dict) else nothing), size - 8 - length
