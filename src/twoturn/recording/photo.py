"""A photo from any phone taken in as evidence: turned upright once, without its location, in a size worth keeping.

The file is read by a process of its own that is bound in memory, time and files (:mod:`twoturn.recording.photo_child`).
What is kept is a JPEG made anew from the picture alone: whatever else the file held is gone, location above all.
"""

from __future__ import annotations

import hashlib
import io
import json
import tempfile
from dataclasses import dataclass
from pathlib import Path
from typing import Any, BinaryIO, Final

from twoturn.errors import RecordingError
from twoturn.recording.limited import Child, run_limited

MOST_BYTES: Final = 60_000_000
LONG_SIDE: Final = 4096
MEMORY_BYTES: Final = 2_000_000_000
TIMEOUT_S: Final = 20.0
SMALL_SIDE: Final = 640
"""Long side [pixels] below which prints on a part can hardly be read."""
READABLE: Final = "a photo as JPEG, PNG, HEIC or WebP"
MEDIA_TYPE: Final = "image/jpeg"
AGAIN: Final = "take or send it again"


@dataclass(frozen=True)
class Photo:
    """A photo as it is kept.

    Attributes
    ----------
    name
        Name of the file it came from.
    jpeg
        What is kept: a JPEG that holds the picture and nothing else.
    width, height
        Its size [pixels].
    sha256
        SHA-256 of what is kept, in hexadecimal.
    original_format, original_sha256, original_bytes
        Format, SHA-256 and size [byte] of the file it came from.
    turned
        Whether it was turned upright as its file said.
    upright_told
        Whether its file said which way is up; angles are read only from photos that do.
    doubts
        Sentences on what makes it less good as evidence.
    """

    name: str
    jpeg: bytes
    width: int
    height: int
    sha256: str
    original_format: str
    original_sha256: str
    original_bytes: int
    turned: bool
    upright_told: bool
    doubts: tuple[str, ...]

    @property
    def size(self) -> int:
        """Size of what is kept [byte]."""
        return len(self.jpeg)


def take_photo(source: bytes | BinaryIO, name: str, most_bytes: int = MOST_BYTES, long_side: int = LONG_SIDE) -> Photo:
    """Take in a photo.

    Parameters
    ----------
    source
        The file's bytes, or the file open for reading in binary.
    name
        Its name, for the answer and for error sentences.
    most_bytes
        Largest file that is looked at [byte].
    long_side
        Longest side of what is kept [pixels]; a larger picture is made smaller, a smaller one stays.

    Returns
    -------
    Photo
        What is kept of it.

    Raises
    ------
    RecordingError
        Empty, too large, no photo, cut off or damaged, more pixels than any phone makes, or too slow to read.
    """
    with tempfile.TemporaryFile() as file:
        digest, size = _copy(io.BytesIO(source) if isinstance(source, bytes) else source, file, most_bytes, name)
        child = Child(Path(__file__).with_name("photo_child.py"), MEMORY_BYTES, TIMEOUT_S, long_side)
        line, _, jpeg = run_limited(child, file, name, "the part that matters").partition(b"\n")
    head = _head(line)
    if "error" in head or not jpeg:
        raise _refusal(str(head.get("error", "damaged")), name)
    width, height = head["kept"]
    return Photo(
        name=name,
        jpeg=jpeg,
        width=width,
        height=height,
        sha256=hashlib.sha256(jpeg).hexdigest(),
        original_format="HEIC" if head["format"] == "HEIF" else str(head["format"]).replace("MPO", "JPEG"),
        original_sha256=digest,
        original_bytes=size,
        turned=bool(head["turned"]),
        upright_told=bool(head["upright_told"]),
        doubts=_doubts(head, max(width, height)),
    )


def _copy(source: BinaryIO, file: Any, most_bytes: int, name: str) -> tuple[str, int]:
    """Copy a file to one of our own, no further than the limit; its SHA-256 and size [byte]."""
    digest, size = hashlib.sha256(), 0
    while block := source.read(1 << 20):
        size += len(block)
        if size > most_bytes:
            raise RecordingError(
                f"{name} is larger than {most_bytes / 1e6:g} MB",
                allowed=READABLE,
                next_step="take the photo in the phone's usual size",
            )
        digest.update(block)
        file.write(block)
    if size == 0:
        raise RecordingError(f"{name} is empty", allowed=READABLE, next_step=AGAIN)
    file.flush()
    return digest.hexdigest(), size


def _head(line: bytes) -> dict[str, Any]:
    """The first line of the answer; a process that died without one counts as damaged."""
    try:
        head = json.loads(line)
    except ValueError:
        return {"error": "damaged"}
    return head if isinstance(head, dict) else {"error": "damaged"}


def _doubts(head: dict[str, Any], long_side: int) -> tuple[str, ...]:
    """What makes a photo less good as evidence."""
    said = []
    if not head["upright_told"]:
        said.append("The file does not say which way is up: no angle can be read from it.")
    if long_side < SMALL_SIDE:
        said.append(f"The picture is only {long_side} pixels long: prints on a part can hardly be read.")
    if head["frames"] > 1:
        said.append(f"The file holds {head['frames']} pictures; the first was kept.")
    return tuple(said)


def _refusal(why: str, name: str) -> RecordingError:
    """The sentence for each way the limited process says no."""
    told = {
        "no photo": (f"{name} is no photo that can be read", READABLE, AGAIN),
        "shape": (f"{name} is a strip no camera takes", READABLE, AGAIN),
        "too many pixels": (
            f"{name} has more pixels than any phone's photo",
            READABLE,
            "take it in the phone's usual size",
        ),
        "too much memory": (f"{name} is too large to read", READABLE, "take it in the phone's usual size"),
    }
    message, allowed, step = told.get(why, (f"{name} is cut off or damaged", READABLE, AGAIN))
    return RecordingError(message, allowed=allowed, next_step=step)
