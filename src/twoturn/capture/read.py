"""Reading a capture file: the format is recognised by its content, packed files are unpacked on the way."""

from __future__ import annotations

import zlib
from collections.abc import Callable
from pathlib import Path

from twoturn.capture.formats import csv, mdf, vcd, wav
from twoturn.capture.formats.files import open_plain
from twoturn.capture.formats.long import shortened
from twoturn.capture.model import Capture
from twoturn.errors import RecordingError
from twoturn.recording.files import check_file

FORMATS: tuple[tuple[Callable[[bytes], bool], Callable[[Path], Capture]], ...] = (
    (wav.probe, wav.read),
    (mdf.probe, mdf.read),
    (vcd.probe, vcd.read),
    (csv.probe, csv.read),
)
READABLE = (
    "CSV text (time and one column a channel, or bare edge times), VCD, WAV or MDF (with the addition twoturn[mdf]), "
    "also packed with gzip"
)
MAX_FILE_BYTES = 2_000_000_000
HEAD_BYTES = 65_536


def read_capture(path: str | Path) -> Capture:
    """Read a sensor capture.

    Parameters
    ----------
    path
        A CSV file of any common shape, a value change dump, a WAV file or a measurement data file; each may be packed
        with gzip.

    Returns
    -------
    Capture
        Its channels; of a recording far longer than needed the busiest part.

    Raises
    ------
    RecordingError
        Missing, empty, damaged, of no known format, or without anything that changes.
    """
    path = Path(path)
    check_file(path, READABLE, MAX_FILE_BYTES, "twenty turns or so")
    try:
        head = _head(path)
        for probe, read in FORMATS:
            if probe(head):
                return shortened(read(path))
    except zlib.error:
        raise RecordingError(f"{path.name} holds damaged gzip data", next_step="copy it again") from None
    except OSError as error:
        reason = error.strerror or "damaged gzip data"
        raise RecordingError(f"{path.name} cannot be read ({reason})", next_step="copy it again") from None
    except EOFError:
        raise RecordingError(f"{path.name} is cut off inside its gzip data", next_step="copy it again") from None
    raise RecordingError(f"{path.name} is no sensor recording that can be read", allowed=READABLE)


def _head(path: Path) -> bytes:
    """The first bytes of the (unpacked) file."""
    with open_plain(path) as file:
        head = file.read(HEAD_BYTES)
    if not head.strip():
        raise RecordingError(f"{path.name} is empty", next_step="record or copy it again")
    return head
