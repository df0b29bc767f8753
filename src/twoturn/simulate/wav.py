"""A simulated recording as the bytes of a WAV file that says of itself that it is simulated."""

from __future__ import annotations

import struct

import numpy as np
from numpy.typing import NDArray

LABEL = b"Simulated by twoturn. No real engine, no real belt."


def wav_bytes(samples: NDArray[np.float64], rate_hz: int) -> bytes:
    """Samples as a 16-bit WAV file with a comment that labels them as simulated.

    Parameters
    ----------
    samples
        One channel of shape (n,), full scale ±1 [-].
    rate_hz
        Samples a second [Hz].

    Returns
    -------
    bytes
        The file: chunks ``fmt``, ``LIST``/``INFO`` with the comment, ``data``.

    References
    ----------
    Multimedia Programming Interface and Data Specifications 1.0 (1991), WAVE form and INFO list chunk.
    """
    data = np.clip(np.round(np.asarray(samples) * 32767), -32768, 32767).astype("<i2").tobytes()
    text = LABEL + b"\0" * (2 - len(LABEL) % 2)
    comment = b"INFOICMT" + struct.pack("<I", len(text)) + text
    head = struct.pack("<HHIIHH", 1, 1, rate_hz, 2 * rate_hz, 2, 16)
    body = b"WAVE" + _chunk(b"fmt ", head) + _chunk(b"LIST", comment) + _chunk(b"data", data)
    return b"RIFF" + struct.pack("<I", len(body)) + body


def _chunk(name: bytes, data: bytes) -> bytes:
    return name + struct.pack("<I", len(data)) + data
