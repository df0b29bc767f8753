"""Opening a capture file as plain bytes, packed or not."""

from __future__ import annotations

import gzip
from pathlib import Path
from typing import BinaryIO, cast


def is_packed(path: Path) -> bool:
    """Whether a file begins as gzip data does (RFC 1952)."""
    with path.open("rb") as file:
        return file.read(2) == b"\x1f\x8b"


def open_plain(path: Path) -> BinaryIO:
    """Open a file for reading bytes, unpacking gzip on the way."""
    return cast(BinaryIO, gzip.open(path, "rb")) if is_packed(path) else path.open("rb")
