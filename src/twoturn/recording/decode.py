"""Decoding of every other format, in a process of its own that is bound in memory, time and files."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Any, BinaryIO

import numpy as np
from numpy.typing import NDArray

from twoturn.errors import RecordingError

MEMORY_BYTES = 2_000_000_000
READABLE = "WAV, FLAC, AIFF, M4A/MP4/3GP, OGG/Opus, WebM, MP3, AAC or AMR"
TRUNCATED_SHARE = 0.9  # of the declared duration; lossy containers round it to whole packets
DAMAGED_SHARE = 0.05


@dataclass(frozen=True)
class Decoded:
    """What the limited process answered.

    Attributes
    ----------
    format, codec
        Container and coding, as the media library names them.
    rate_hz
        Samples a second [Hz].
    channels
        Samples, shape (channels, n), full scale ±1 [-].
    damaged
        Packets that could not be decoded [-].
    """

    format: str
    codec: str
    rate_hz: int
    channels: NDArray[np.float32]
    damaged: int


def decode_limited(file: BinaryIO, name: str, max_values: int, timeout_s: float) -> Decoded:
    """Decode the best sound stream of an open file in a process with limits.

    Parameters
    ----------
    file
        The open file; only its descriptor is handed over.
    name
        Its name, for the error sentence.
    max_values
        Most samples over all channels [-].
    timeout_s
        Longest time the process may take, processor and wall clock alike [s].

    Returns
    -------
    Decoded
        Samples and what is known of them.

    Raises
    ------
    RecordingError
        Not a sound file, damaged, cut off, too long, or too slow to decode.
    """
    child = Path(__file__).with_name("child.py")
    words = [str(MEMORY_BYTES), str(max(1, int(timeout_s))), str(max_values)]
    keep = ("SYSTEMROOT", "LD_LIBRARY_PATH", "PATH")
    environment = {key: os.environ[key] for key in keep if key in os.environ}
    file.seek(0)
    try:
        done = subprocess.run(
            [sys.executable, "-I", str(child), *words],
            stdin=file,
            capture_output=True,
            timeout=timeout_s,
            env=environment,
            check=False,
        )
    except subprocess.TimeoutExpired:
        raise RecordingError(
            f"{name} took longer than {timeout_s:g} s to decode",
            next_step="cut out the part with the pluck and try that",
        ) from None
    line, _, samples = done.stdout.partition(b"\n")
    return _answer(_head(line), samples, name, max_values)


def _head(line: bytes) -> dict[str, Any]:
    """The first line of the answer; a process that died without one counts as not readable."""
    try:
        head = json.loads(line)
    except ValueError:
        return {"error": "not readable"}
    return head if isinstance(head, dict) else {"error": "not readable"}


def _answer(head: dict[str, Any], samples: bytes, name: str, max_values: int) -> Decoded:
    """Check the answer and shape its samples."""
    if "error" in head:
        raise _refusal(str(head["error"]), name, max_values)
    values = np.frombuffer(samples, dtype=np.float32)
    if not head["rate_hz"] or not head["channels"] or not len(values):
        raise RecordingError(f"{name} holds no sound that can be decoded", next_step="record or copy it again")
    channels = np.ascontiguousarray(values.reshape(-1, head["channels"]).T)
    held = channels.shape[1] / head["rate_hz"]
    declared = head["declared_s"]
    if declared is not None and head["codec"] != "mp3" and held < TRUNCATED_SHARE * declared - 0.1:
        raise RecordingError(
            f"{name} is cut off: it holds {held:.3g} s of {declared:.3g} s",
            next_step="copy it again from where it was recorded",
        )
    if head["damaged"] > max(1, DAMAGED_SHARE * head["packets"]):
        raise RecordingError(
            f"{name} is damaged: {head['damaged']} of its {head['packets']} blocks cannot be decoded",
            next_step="copy it again from where it was recorded",
        )
    return Decoded(head["format"], head["codec"], head["rate_hz"], channels, head["damaged"])


def _refusal(why: str, name: str, max_values: int) -> RecordingError:
    """The sentence for each way the limited process says no."""
    if why == "no sound stream":
        return RecordingError(f"{name} holds no sound", next_step="record with the microphone switched on")
    if why in ("too long", "too much memory"):
        return RecordingError(
            f"{name} is too long to read",
            allowed=f"{max_values / 1e6:g} million samples over all channels",
            next_step="cut out the part that matters",
        )
    return RecordingError(
        f"{name} is not a sound file that can be read, or it is damaged",
        allowed=READABLE,
        next_step="record or copy it again",
    )
