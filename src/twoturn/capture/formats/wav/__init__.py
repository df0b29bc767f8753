"""Captures recorded as sound: every channel of a WAV file is one sensor."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from twoturn.capture.formats.channels import left_out
from twoturn.capture.formats.files import is_packed, open_plain
from twoturn.capture.formats.long import MOST_SAMPLES, SPAN_BLOCKS, busiest, part_note, swings
from twoturn.capture.model import Capture, Channel
from twoturn.errors import RecordingError

if TYPE_CHECKING:
    from twoturn.recording.sound import Sound

__all__ = ["probe", "read"]


def probe(head: bytes) -> bool:
    """Whether the first bytes of a file are those of a RIFF WAVE file, or of another one that keeps samples exactly."""
    if head[:4] in (b"RIFF", b"RF64"):
        return head[8:12] == b"WAVE"
    return head[:4] == b"fLaC" or (head[:4] == b"FORM" and head[8:12] in (b"AIFF", b"AIFC"))


def read(path: Path) -> Capture:
    """Read every channel of a WAV file as volts of full scale ±1.

    Parameters
    ----------
    path
        The file, which may be packed with gzip.

    Returns
    -------
    Capture
        Analogue channels that change.

    Raises
    ------
    RecordingError
        Damaged, or nothing in it changes.
    """
    sound = _sound(path)
    rate, notes = sound.rate_hz, list(sound.notes)
    samples = sound.channels
    most = MOST_SAMPLES // samples.shape[0]
    first, count = 0, samples.shape[1]
    if count > most / 0.9:
        blocks = int(np.ceil(SPAN_BLOCKS * count / most))
        run = busiest(np.array([swings(one, blocks) for one in samples]), SPAN_BLOCKS)
        first, count = run * (count // blocks), most
        samples = samples[:, first : first + count]
        notes.append(part_note(sound.duration_s, count / rate, first / rate))
    times = np.arange(samples.shape[1], dtype=np.float64)
    times += first
    times /= rate
    channels: list[Channel] = []
    still: list[str] = []
    for number, one in enumerate(samples, start=1):
        if one.size == 0 or float(one.max()) == float(one.min()):
            still.append(f"channel {number}")
            continue
        channels.append(Channel(f"channel {number}", "analogue", times, one.astype(np.float64), rate))
    if not channels:
        raise RecordingError(f"in {path.name} no channel ever changes", next_step="check the leads and record again")
    duration = samples.shape[1] / rate
    return Capture(tuple(channels), duration, rate, path.name, "wav", notes=(*notes, *left_out(still)))


def _sound(path: Path) -> Sound:
    """The samples of a file, unpacked beside it where it is packed."""
    import shutil
    import tempfile

    from twoturn.recording.sound import load_sound

    if not is_packed(path):
        return load_sound(path)
    with tempfile.TemporaryDirectory() as folder:
        plain = Path(folder) / path.name.removesuffix(".gz")
        with open_plain(path) as file, plain.open("wb") as out:
            shutil.copyfileobj(file, out)
        return load_sound(plain)
