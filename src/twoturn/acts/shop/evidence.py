"""Evidence files of a job: taken in, kept once under their content, found again by the names that entries give them."""

from __future__ import annotations

import io
import re
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import IO, Any, Literal

from twoturn.acts.job_files import JOB_FILE
from twoturn.acts.shop.people import Actor, allow
from twoturn.acts.shop.shop import Shop
from twoturn.errors import TwoTurnError
from twoturn.store.faults import NotFound
from twoturn.store.files import Kept, keep_file, path_of
from twoturn.store.records import evidence as kept
from twoturn.store.records import jobs

EvidenceKind = Literal["photo", "sound", "capture", "paper"]
MOST_BYTES: dict[str, int] = {"photo": 30_000_000, "sound": 50_000_000, "capture": 200_000_000, "paper": 30_000_000}
"""The largest file of each kind that is taken in [bytes]."""
MEDIA_TYPES = {
    "wav": "audio/wav",
    "flac": "audio/flac",
    "ogg": "audio/ogg",
    "opus": "audio/ogg",
    "mp3": "audio/mpeg",
    "m4a": "audio/mp4",
    "mp4": "audio/mp4",
    "webm": "audio/webm",
    "aif": "audio/aiff",
    "aiff": "audio/aiff",
    "csv": "text/csv",
    "pdf": "application/pdf",
    "xml": "application/xml",
}
OTHER = "application/octet-stream"
LONGEST_NAME = 80


@dataclass(frozen=True)
class KeptEvidence:
    """A file that was kept.

    Attributes
    ----------
    name
        The name by which entries of the job point at it.
    sha256, size
        SHA-256 and size [bytes] of what is kept.
    media_type
        Such as ``image/jpeg``.
    warnings
        Sentences on what makes it less good as evidence.
    """

    name: str
    sha256: str
    size: int
    media_type: str
    warnings: tuple[str, ...] = ()

    def as_json(self) -> dict[str, Any]:
        """Keys ``name``, ``sha256``, ``size``, ``media_type``, ``warnings``."""
        return {
            "name": self.name,
            "sha256": self.sha256,
            "size": self.size,
            "media_type": self.media_type,
            "warnings": list(self.warnings),
        }


def keep_evidence(
    shop: Shop, actor: Actor, job_id: int, stream: IO[bytes], name: str, kind: EvidenceKind
) -> KeptEvidence:
    """Take a file in for a job; slow for photos, so call it in a thread.

    Parameters
    ----------
    shop, actor
        The record, and who sends the file.
    job_id
        Of which job.
    stream
        The file, open for reading in binary.
    name
        Its name on the sender's device; what of it cannot be a name is left out.
    kind
        A photo is made anew upright and without its location; anything else is kept as it came.

    Raises
    ------
    NotAllowed, NotFound
        A viewer adds nothing; there is no such job.
    TooLarge, RecordingError
        Too large; a photo that cannot be read.
    """
    allow(actor, "enter")
    if kind not in MOST_BYTES:
        raise TwoTurnError(f'"{kind}" is no kind of file', allowed=", ".join(MOST_BYTES))
    with shop.reading() as connection:
        jobs.job(connection, job_id)
    plain = plain_name(name, kind)
    original: str | None = None
    warnings: tuple[str, ...] = ()
    if kind == "photo":
        found, original, warnings = _photo(shop, stream, plain)
        plain, media = f"{PurePosixPath(plain).stem}.jpg", "image/jpeg"
    else:
        found = keep_file(shop.place, stream, MOST_BYTES[kind])
        media = MEDIA_TYPES.get(plain.rpartition(".")[2].lower(), OTHER)
        if found.size == 0:
            raise TwoTurnError(f"{plain} is empty", next_step="record it again, or choose another file")
    with shop.writing() as connection:
        new = kept.Evidence(found.sha256, found.size, media, plain, actor.name, shop.now(), original)
        kept.add(connection, new)
        named = kept.name_for_job(connection, job_id, plain, found.sha256)
    return KeptEvidence(named.name, found.sha256, found.size, media, warnings)


def _photo(shop: Shop, stream: IO[bytes], name: str) -> tuple[Kept, str, tuple[str, ...]]:
    from twoturn.recording.photo import take_photo

    photo = take_photo(io.BytesIO(stream.read(MOST_BYTES["photo"] + 1)), name, MOST_BYTES["photo"])
    found = keep_file(shop.place, io.BytesIO(photo.jpeg), MOST_BYTES["photo"])
    return found, photo.original_sha256, photo.doubts


def plain_name(name: str, kind: str) -> str:
    """A name that is safe on every disk and in every address: the last part, letters, digits, dots and dashes.

    It is never that of the job file, which stands beside the files of a job that is written out.
    """
    last = re.split(r"[/\\]", name)[-1]
    plain = re.sub(r"[^\w.-]+", "-", last, flags=re.ASCII).strip("-._") or kind
    if plain.casefold() == JOB_FILE:
        plain = f"{kind}-{plain}"
    stem, dot, ending = plain.rpartition(".")
    if not dot:
        return plain[:LONGEST_NAME]
    return f"{stem[: LONGEST_NAME - 12] or kind}.{ending[:10].lower()}"


@dataclass(frozen=True)
class FoundFile:
    """A file of a job: where it is on the disk, its media type and size [bytes]."""

    path: Path
    name: str
    media_type: str
    size: int


def evidence_file(shop: Shop, job_id: int, name: str) -> FoundFile:
    """The file that a job knows by a name.

    Raises
    ------
    NotFound
        The job knows none of that name, or it is gone from the disk.
    """
    with shop.reading() as connection:
        named = kept.by_name(connection, job_id, name)
        noted = None if named is None else kept.evidence(connection, named.sha256)
    if named is None or noted is None:
        raise NotFound(f'job number {job_id} has no file "{name[:80]}"', next_step="choose one from the job's page")
    path = path_of(shop.place, named.sha256)
    if not path.is_file():
        raise NotFound(
            f'"{name[:80]}" is in the record but not on the disk any more',
            next_step="bring it back from a backup; twoturn verify lists what is missing",
        )
    return FoundFile(path, named.name, noted.media_type, noted.size)


def evidence_path(shop: Shop, job_id: int, name: str) -> Path:
    """Where the file is that a job knows by a name; as :func:`evidence_file`."""
    return evidence_file(shop, job_id, name).path
