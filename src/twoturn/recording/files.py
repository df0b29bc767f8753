"""What can be said of a recording's file before it is opened."""

from __future__ import annotations

from pathlib import Path

from twoturn.errors import RecordingError


def check_file(path: Path, readable: str, most_bytes: int, cut_out: str) -> None:
    """Refuse what is not a file, is empty, or is larger than any recording worth reading.

    Parameters
    ----------
    path
        The file.
    readable
        The formats that are read, for the error sentence.
    most_bytes
        Largest size [byte].
    cut_out
        What to cut out of a larger one, for the error sentence.

    Raises
    ------
    RecordingError
        Missing, no file, empty or too large.
    """
    if not path.exists():
        raise RecordingError(f"there is no file {path}", next_step="check the name and the folder")
    if not path.is_file():
        raise RecordingError(f"{path} is not a file", allowed=readable)
    size = path.stat().st_size
    if size == 0:
        raise RecordingError(f"{path.name} is empty", next_step="record or copy it again")
    if size > most_bytes:
        raise RecordingError(
            f"{path.name} is {size / 1e9:.1f} GB",
            allowed=f"up to {most_bytes / 1e9:g} GB",
            next_step=f"cut out {cut_out}",
        )
