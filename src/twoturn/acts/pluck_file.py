"""A sound file for ``twoturn pluck``; text that is no sound is told for what it is."""

from __future__ import annotations

import re
from pathlib import Path

from twoturn.errors import RecordingError
from twoturn.recording.sound import Sound, load_sound

LOOKED_AT = 4096
_PLAYLIST = re.compile(r"^\ufeff?\s*(#EXTM3U|#EXTINF|ffconcat\b|\[playlist\]|file\s+\S)", re.IGNORECASE)
_NUMBERS = re.compile(r"^[\d\s.,;:+\-\teE|]*\d[\d\s.,;:+\-\teE|]*$")


def sound_of(path: str | Path) -> Sound:
    """The sound of a recording.

    Raises
    ------
    RecordingError
        It cannot be read; a playlist, and a table of a sensor recording, are told so with what to do.
    """
    try:
        return load_sound(path)
    except RecordingError as error:
        if "is text, not a sound" not in error.message:
            raise
        raise _told(Path(path), error) from None


def _told(path: Path, error: RecordingError) -> RecordingError:
    """The error for a text file, by what the text is."""
    text = path.read_bytes()[:LOOKED_AT].decode("utf-8", "replace")
    if _PLAYLIST.match(text):
        return RecordingError(
            f"{path.name} is a playlist, not a sound", next_step="give the sound file itself that it names"
        )
    lines = [line for line in text.splitlines()[:-1] if line.strip()]
    if "$enddefinitions" in text or sum(bool(_NUMBERS.match(line)) for line in lines) > len(lines) / 2:
        return RecordingError(
            f"{path.name} is a table of numbers, not a sound",
            next_step=f"a recording of sensors is read by: twoturn capture {path.name}",
        )
    return error
