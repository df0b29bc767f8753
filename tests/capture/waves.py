"""Writing WAV files of every plain kind (Microsoft/IBM RIFF 1991; WAVEFORMATEXTENSIBLE), independent of the reader."""

from __future__ import annotations

import struct

import numpy as np
from numpy.typing import NDArray

FLOAT = 3


def wav(
    samples: NDArray[np.float64], rate_hz: int, *, bits: int = 16, kind: int = 1, extensible: bool = False
) -> bytes:
    """A WAV file of samples of shape (n, channels), full scale ±1."""
    if kind == FLOAT:
        body = samples.astype(f"<f{bits // 8}").tobytes()
    elif bits == 8:
        body = np.clip(np.round(samples * 128 + 128), 0, 255).astype(np.uint8).tobytes()
    else:
        whole = np.clip(np.round(samples * 2.0 ** (bits - 1)), -(2.0 ** (bits - 1)), 2.0 ** (bits - 1) - 1).astype(
            "<i8"
        )
        body = np.ascontiguousarray(whole.ravel().view(np.uint8).reshape(-1, 8)[:, : bits // 8]).tobytes()
    channels = samples.shape[1]
    block = channels * bits // 8
    head = struct.pack("<HHIIHH", 0xFFFE if extensible else kind, channels, rate_hz, rate_hz * block, block, bits)
    if extensible:
        tail = b"\x00\x00\x00\x00\x10\x00\x80\x00\x00\xaa\x00\x38\x9b\x71"
        head += struct.pack("<HHIH", 22, bits, 0, kind) + tail
    chunks = b"fmt " + struct.pack("<I", len(head)) + head + b"LIST" + struct.pack("<I", 5) + b"abcde\0"
    chunks += b"data" + struct.pack("<I", len(body)) + body + bytes(len(body) % 2)
    return b"RIFF" + struct.pack("<I", 4 + len(chunks)) + b"WAVE" + chunks
