"""Opening a capture file as plain bytes, packed or not."""

from __future__ import annotations

import gzip
from pathlib import Path
from typing import BinaryIO, cast


def open_plain(path: Path) -> BinaryIO:
    """Open a file for reading bytes, unpacking gzip on the way."""
    with path.open("rb") as file:
        packed = file.read(2) == b"\x1f\x8b"
    return cast(BinaryIO, gzip.open(path, "rb")) if packed else path.open("rb")
