"""A strict reader of plain WAV files (PCM and floating point); everything else goes to the limited process."""

from __future__ import annotations

import struct
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from twoturn.errors import RecordingError

PCM, FLOAT, EXTENSIBLE = 1, 3, 0xFFFE
OPEN_SIZE = 0x7FFF_0000  # and more: written by recorders that cannot go back to the head of the file; so is 0


@dataclass(frozen=True)
class WavHead:
    """The format chunk of a WAV file.

    Attributes
    ----------
    kind
        1 integer, 3 floating point.
    channels
        Number of channels [-].
    rate_hz
        Samples a second [Hz].
    bits
        Bits of one stored sample [-].
    """

    kind: int
    channels: int
    rate_hz: int
    bits: int


def is_wav(head: bytes) -> bool:
    """Whether the first 12 bytes are those of a RIFF WAVE file."""
    return head[:4] == b"RIFF" and head[8:12] == b"WAVE"


@dataclass(frozen=True)
class Wav:
    """A plain WAV file.

    Attributes
    ----------
    head
        Its format chunk.
    samples
        Samples, shape (channels, n), full scale ±1 [-].
    declared_s
        Length that the head declares [s], where the file holds less; else None.
    """

    head: WavHead
    samples: NDArray[np.float32]
    declared_s: float | None


def read_wav(data: bytes | memoryview, name: str) -> Wav | None:
    """Read a plain WAV file that lies in memory.

    Parameters
    ----------
    data
        The whole file.
    name
        Its name, for the error sentence.

    Returns
    -------
    Wav or None
        Head and samples, of a file that ends before the sound does those that are there; None where the coding is not
        plain (the caller then lets the limited process decode it).

    Raises
    ------
    RecordingError
        A head that contradicts itself, or says that there is no sound.

    References
    ----------
    Multimedia Programming Interface and Data Specifications 1.0 (1991), "Waveform Audio File Format";
    RFC 2361, WAVEFORMATEXTENSIBLE.
    """
    chunks = _chunks(data)
    if b"fmt " not in chunks or chunks[b"fmt "][1] < 16:
        raise RecordingError(f"{name} is a WAV file without a format chunk", next_step="record or copy it again")
    head = _head(data, chunks[b"fmt "], name)
    if head is None:
        return None
    if b"data" not in chunks:
        raise RecordingError(f"{name} is a WAV file without samples", next_step="record or copy it again")
    start, size = chunks[b"data"]
    available = len(data) - start
    if _is_open(size):
        size = available
    frame = head.channels * head.bits // 8
    declared_s = size / frame / head.rate_hz if size - available >= frame else None
    samples = _samples(data[start : start + min(size, available) // frame * frame], head)
    return Wav(head, samples, declared_s)


def _chunks(data: bytes | memoryview) -> dict[bytes, tuple[int, int]]:
    """Start and declared size [byte] of the first chunk of each name."""
    found: dict[bytes, tuple[int, int]] = {}
    place = 12
    while place + 8 <= len(data):
        tag, size = struct.unpack_from("<4sI", data, place)
        found.setdefault(tag, (place + 8, size))
        if tag == b"data" and _is_open(size):
            break
        place += 8 + size + size % 2
    return found


def _is_open(size: int) -> bool:
    """Whether a declared size [byte] stands for "to the end of the file"."""
    return size == 0 or size >= OPEN_SIZE


def _head(data: bytes | memoryview, chunk: tuple[int, int], name: str) -> WavHead | None:
    """The format chunk, or None where it is not plain integer or floating point of a usual width."""
    start, size = chunk
    if start + 16 > len(data):
        return None
    kind, channels, rate_hz, _, block, bits = struct.unpack_from("<HHIIHH", data, start)
    if kind == EXTENSIBLE and size >= 40 and start + 26 <= len(data):
        kind = struct.unpack_from("<H", data, start + 24)[0]
    plain = (kind == PCM and bits in (8, 16, 24, 32)) or (kind == FLOAT and bits in (32, 64))
    for count, what in ((channels, "channels"), (rate_hz, "samples a second")):
        if not count:
            raise RecordingError(
                f"the head of {name} is wrong: it says 0 {what}", next_step="copy it again, or record it again"
            )
    if not plain or block != channels * bits // 8:
        return None
    return WavHead(kind, channels, rate_hz, bits)


def _samples(raw: bytes | memoryview, head: WavHead) -> NDArray[np.float32]:
    """Samples of shape (channels, n) with full scale ±1 [-]."""
    flat: NDArray[Any]
    if head.kind == FLOAT:
        flat = np.frombuffer(raw, dtype=f"<f{head.bits // 8}").astype(np.float32)
    elif head.bits == 8:
        flat = (np.frombuffer(raw, dtype=np.uint8).astype(np.float32) - 128) / 128
    elif head.bits == 24:
        parts = np.frombuffer(raw, dtype=np.uint8).reshape(-1, 3)
        wide = np.zeros((len(parts), 4), dtype=np.uint8)
        wide[:, 1:] = parts
        flat = wide.view("<i4")[:, 0].astype(np.float32) / 2.0**31
    else:
        flat = np.frombuffer(raw, dtype=f"<i{head.bits // 8}").astype(np.float32) / 2.0 ** (head.bits - 1)
    return np.ascontiguousarray(flat.reshape(-1, head.channels).T, dtype=np.float32)
