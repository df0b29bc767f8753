"""Evidence files, each kept once under the SHA-256 of its content."""

from __future__ import annotations

import hashlib
import os
import tempfile
from datetime import datetime
from pathlib import Path
from typing import IO, NamedTuple

from twoturn.store.disk import disk_faults, put_in_place
from twoturn.store.faults import NotFound, TooLarge
from twoturn.store.place import Place

CHUNK = 1 << 20


class Kept(NamedTuple):
    """A file that was kept: its SHA-256, its size [bytes] and where it is."""

    sha256: str
    size: int
    path: Path


def keep_file(place: Place, stream: IO[bytes], limit_bytes: int) -> Kept:
    """Keep the bytes of ``stream``; when this returns they are on the disk.

    Parameters
    ----------
    place
        The data folder.
    stream
        Read to its end.
    limit_bytes
        The largest size taken in [bytes].

    Raises
    ------
    TooLarge
        There is more in it than ``limit_bytes``.
    StoreError
        The disk is full or may not be written; nothing is left behind.
    """
    with disk_faults(place.evidence):
        place.incoming.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(dir=place.incoming)
        written = Path(name)
        try:
            digest, size = hashlib.sha256(), 0
            with os.fdopen(handle, "wb") as file:
                while chunk := stream.read(CHUNK):
                    size += len(chunk)
                    if size > limit_bytes:
                        raise TooLarge(
                            "the file is too large",
                            allowed=f"up to {limit_bytes / 1e6:.0f} MB",
                            next_step="send a shorter one",
                        )
                    digest.update(chunk)
                    file.write(chunk)
            target = path_of(place, digest.hexdigest())
            if not (target.exists() and sha256_of(target) == digest.hexdigest()):
                put_in_place(written, target)
                target.chmod(0o440)
            return Kept(digest.hexdigest(), size, target)
        finally:
            written.unlink(missing_ok=True)


def path_of(place: Place, sha256: str) -> Path:
    """Where the file of that SHA-256 is, or would be.

    Raises
    ------
    NotFound
        The text is no SHA-256.
    """
    if len(sha256) != 64 or set(sha256) - set("0123456789abcdef"):
        raise NotFound(f"{sha256[:80]!r} is no SHA-256", allowed="64 digits 0-9 a-f")
    return place.evidence / sha256[:2] / sha256


def sha256_of(path: Path) -> str:
    """SHA-256 of a file, as 64 hexadecimal digits."""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def sweep_incoming(place: Place, before: datetime) -> int:
    """Take away what half-sent files have left from before that moment; their number is given."""
    gone = 0
    for path in place.incoming.glob("*") if place.incoming.is_dir() else ():
        if path.is_file() and path.stat().st_mtime < before.timestamp():
            path.unlink(missing_ok=True)
            gone += 1
    return gone
