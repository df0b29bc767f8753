"""Captures recorded as sound: every channel of a WAV file is one sensor."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from twoturn.capture.model import Capture, Channel
from twoturn.errors import RecordingError

__all__ = ["probe", "read"]


def probe(head: bytes) -> bool:
    """Whether the first bytes of a file are those of a RIFF WAVE file."""
    return head[:4] == b"RIFF" and head[8:12] == b"WAVE"


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
    import tempfile

    from twoturn.capture.files import open_plain
    from twoturn.recording.sound import load_sound

    with path.open("rb") as file:
        packed = file.read(2) == b"\x1f\x8b"
    if packed:
        with tempfile.TemporaryDirectory() as folder, open_plain(path) as file:
            plain = Path(folder) / path.name.removesuffix(".gz")
            plain.write_bytes(file.read(2_000_000_000))
            sound = load_sound(plain)
    else:
        sound = load_sound(path)
    times = np.arange(sound.n_samples) / sound.rate_hz
    channels, notes = [], list(sound.notes)
    for number, samples in enumerate(sound.channels, start=1):
        if samples.size == 0 or float(samples.max()) == float(samples.min()):
            notes.append(f"channel {number} never changes and was left out")
            continue
        values = np.asarray(samples, dtype=np.float64)
        channels.append(Channel(f"channel {number}", "analogue", times, values, sound.rate_hz))
    if not channels:
        raise RecordingError(f"in {path.name} no channel ever changes", next_step="check the leads and record again")
    return Capture(tuple(channels), sound.duration_s, sound.rate_hz, path.name, "wav", notes=tuple(notes))
