"""Decoding of every format but plain WAV, in a process of its own that is bound in memory, time and files."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any, BinaryIO

import numpy as np
from numpy.typing import NDArray

from twoturn.errors import RecordingError
from twoturn.recording.ending import stops_early
from twoturn.recording.limited import Child, run_limited

MEMORY_BYTES = 2_000_000_000
READABLE = "WAV, FLAC, AIFF, M4A/MP4/3GP, OGG/Opus, WebM, MP3, AAC or AMR"
MISSING_S, MISSING_SHARE = 0.25, 0.01  # of the declared length: lossy codings round it to whole blocks
LEAST_S = 0.1  # of a file that is cut off: less holds nothing
MOST_LOST = 1 / 3  # of the blocks: beyond it what is left may be anything
AGAIN = "copy it again from where it was recorded"
STEPS = {"pcm_u8": 1 / 128, "pcm_s8": 1 / 128, "pcm_mulaw": 2 / 8159, "pcm_alaw": 1 / 2048}
"""Smallest step of coarse codings, of full scale (G.711: 14 and 13 bits near zero)."""


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
    notes
        Sentences on what of the file could not be read.
    """

    format: str
    codec: str
    rate_hz: int
    channels: NDArray[np.float32]
    notes: tuple[str, ...]


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
        Samples and what is known of them: of a file that is cut off or damaged, what could be read.

    Raises
    ------
    RecordingError
        Not a sound file, next to nothing of it can be read, too long, or too slow to decode.
    """
    child = Child(Path(__file__).with_name("child.py"), MEMORY_BYTES, timeout_s, max_values)
    line, _, samples = run_limited(child, file, name, "the part that matters").partition(b"\n")
    head = _head(line)
    if "error" in head:
        raise _refusal(str(head["error"]), name, max_values)
    values = np.frombuffer(samples, dtype=np.float32)
    if not head["rate_hz"] or not head["channels"] or not len(values):
        raise _refusal("no whole block", name, max_values)
    channels = np.ascontiguousarray(values.reshape(-1, head["channels"]).T)
    notes = _notes(head, channels.shape[1] / head["rate_hz"], name, stops_early(file, head["format"]))
    return Decoded(head["format"], head["codec"], head["rate_hz"], channels, notes)


def cut_note(held_s: float, declared_s: float | None, name: str) -> str:
    """The sentence on a file that is cut off.

    Parameters
    ----------
    held_s, declared_s
        What could be read, and what the file says it holds, None where it does not say [s].
    name
        Its name, for the error sentence.

    Returns
    -------
    str
        The sentence, without a full stop.

    Raises
    ------
    RecordingError
        Next to nothing could be read.
    """
    whole = "" if declared_s is None else f" of {declared_s:.3g} s"
    if held_s < LEAST_S:
        raise RecordingError(
            f"{name} is cut off or damaged: {1000 * held_s:.0f} ms{whole} could be read", next_step=AGAIN
        )
    read = f"{held_s:.3g} s{whole}" if whole else f"only its first {held_s:.3g} s"
    return f"the file is cut off: {read} could be read; {AGAIN}"


def _notes(head: dict[str, Any], held_s: float, name: str, stops: bool) -> tuple[str, ...]:
    """What of a file could not be read; an error where that is nearly all of it."""
    packets, damaged, declared = head["packets"], head["damaged"], head["declared_s"]
    if declared is not None and declared - held_s <= MISSING_S + MISSING_SHARE * declared:
        declared = None
    if head["lost"] > max(1, MOST_LOST * packets):
        lost = f"{head['lost']} of its {packets} blocks cannot be decoded"
        raise RecordingError(f"{name} is damaged: {lost}", next_step=AGAIN)
    if damaged:
        whole = "" if declared is None else f" of {declared:.3g} s"
        wrong = f"{damaged} of its {packets} blocks {'is' if damaged == 1 else 'are'} wrong"
        return (f"the file is damaged: {wrong}, {held_s:.3g} s{whole} could be read; {AGAIN}",)
    if stops or head["damaged_last"] or declared is not None:
        return (cut_note(held_s, declared, name),)
    return ()


def _head(line: bytes) -> dict[str, Any]:
    """The first line of the answer; a process that died without one counts as not readable."""
    try:
        head = json.loads(line)
    except ValueError:
        return {"error": "not readable"}
    return head if isinstance(head, dict) else {"error": "not readable"}


def _refusal(why: str, name: str, max_values: int) -> RecordingError:
    """The sentence for each way the limited process says no."""
    again = "record or copy it again"
    if why in ("too long", "too much memory"):
        return RecordingError(
            f"{name} is too long to read",
            allowed=f"{max_values / 1e6:g} million samples over all channels",
            next_step="cut out the part that matters",
        )
    told = {
        "film": (f"{name} is a film without sound", "film again with the sound switched on, or record the sound alone"),
        "nothing": (f"{name} holds neither sound nor pictures", again),
        "no whole block": (f"{name} is too short or too damaged: no whole block of sound is in it", again),
        "no table": (f"{name} is cut off or damaged: the part that says how to read it is missing", AGAIN),
        "changes": (f"{name} changes its sampling rate or channels in the middle", "record it again in one piece"),
    }
    if why in told:
        return RecordingError(told[why][0], next_step=told[why][1])
    return RecordingError(
        f"{name} is not a sound file that can be read, or it is damaged", allowed=READABLE, next_step=again
    )
