"""Opening a capture file as plain bytes, packed or not."""

from __future__ import annotations

import gzip
from pathlib import Path
from typing import BinaryIO, cast

from twoturn.errors import RecordingError

MAX_PLAIN_BYTES = 2_000_000_000


def is_packed(path: Path) -> bool:
    """Whether a file begins as gzip data does (RFC 1952)."""
    with path.open("rb") as file:
        return file.read(2) == b"\x1f\x8b"


def open_plain(path: Path) -> BinaryIO:
    """Open a file for reading bytes, unpacking gzip on the way, up to a size that a recording may have."""
    return cast(BinaryIO, _Unpacked(path, "rb")) if is_packed(path) else path.open("rb")


class _Unpacked(gzip.GzipFile):
    """A packed file that is not unpacked without end."""

    def read(self, size: int | None = -1) -> bytes:
        """Some bytes; all up to the limit where no size is given."""
        data = super().read(MAX_PLAIN_BYTES + 1 if size is None or size < 0 else size)
        if self.tell() > MAX_PLAIN_BYTES:
            raise RecordingError(
                f"{Path(str(self.name)).name} unpacks to more than {MAX_PLAIN_BYTES / 1e9:g} GB",
                next_step="cut out twenty turns or so",
            )
        return data
