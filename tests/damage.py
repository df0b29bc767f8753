"""Damaging files in the ways that files are damaged: cut off, bits turned, garbage, lengths and numbers that lie."""

from __future__ import annotations

import gzip
import re
import struct
from collections.abc import Callable

import numpy as np

Rng = np.random.Generator
HUGE = (0, 1, 0x7F, 0xFF, 0x7FFF, 0xFFFF, 0x7FFFFFFF, 0x80000000, 0xFFFFFFFF, 2**63 - 1, 2**63, 2**64 - 1)
WORDS = (
    b"nan",
    b"inf",
    b"-1e308",
    b"1e400",
    b"999999999999999999999",
    b"",
    b"\0",
    b"-",
    b"$end",
    b"#",
    b"b",
    b'"',
    b"\xff",
)


def _place(data: bytes, rng: Rng, near_start: float = 0.5) -> int:
    """Anywhere, half the time within the first bytes, where the heads of files are."""
    return int(rng.integers(0, max(1, min(len(data), 400) if rng.random() < near_start else len(data))))


def cut(data: bytes, rng: Rng) -> bytes:
    return data[: _place(data, rng, 0.3)]


def cut_in_front(data: bytes, rng: Rng) -> bytes:
    return data[_place(data, rng) :]


def turned_bits(data: bytes, rng: Rng) -> bytes:
    out = bytearray(data)
    for _ in range(int(rng.integers(1, 30))):
        out[_place(data, rng)] ^= 1 << int(rng.integers(0, 8))
    return bytes(out)


def garbage(data: bytes, rng: Rng) -> bytes:
    at = _place(data, rng)
    return data[:at] + rng.bytes(int(rng.integers(1, 3000))) + data[at:]


def zeroed(data: bytes, rng: Rng) -> bytes:
    at, size = _place(data, rng), int(rng.integers(1, 3000))
    return data[:at] + bytes(min(size, len(data) - at)) + data[at + size :]


def swapped(data: bytes, rng: Rng) -> bytes:
    a, b, c = sorted(_place(data, rng, 0.2) for _ in range(3))
    return data[:a] + data[b:c] + data[a:b] + data[c:]


def doubled(data: bytes, rng: Rng) -> bytes:
    a, b = sorted(_place(data, rng, 0.2) for _ in range(2))
    return data[:b] + data[a:b] * int(rng.integers(1, 4)) + data[b:]


def false_lengths(data: bytes, rng: Rng) -> bytes:
    """Numbers of 2, 4 or 8 bytes near a head or a chunk name set to nothing or to far too much."""
    out = bytearray(data)
    tags = [match.start() for match in re.finditer(rb"[A-Za-z#]{4}", data)][:400]
    for _ in range(int(rng.integers(1, 6))):
        size = int(rng.choice([2, 4, 8]))
        at = (
            int(rng.choice(tags)) + 4 + 4 * int(rng.integers(0, 6))
            if tags and rng.random() < 0.7
            else _place(data, rng)
        )
        number = HUGE[int(rng.integers(len(HUGE)))] & (2 ** (8 * size) - 1)
        out[at : at + size] = number.to_bytes(size, "little" if rng.random() < 0.7 else "big")
    return bytes(out[: len(data)])


def false_numbers(data: bytes, rng: Rng) -> bytes:
    """Written numbers and words replaced by huge, empty or senseless ones."""
    words = [match.span() for match in re.finditer(rb"[\w.+-]+", data[:200_000])]
    for _ in range(int(rng.integers(1, 6))):
        if not words:
            break
        first, last = words[int(rng.integers(len(words)))]
        data = data[:first] + WORDS[int(rng.integers(len(WORDS)))] + data[last:]
    return data


def empty(data: bytes, rng: Rng) -> bytes:
    return b"" if rng.random() < 0.5 else data[: int(rng.integers(0, 16))]


def as_it_is(data: bytes, rng: Rng) -> bytes:
    return data


def packed_and_damaged(data: bytes, rng: Rng) -> bytes:
    return (
        turned_bits(gzip.compress(data, 1, mtime=0), rng)
        if rng.random() < 0.5
        else gzip.compress(turned_bits(data, rng), 1, mtime=0)
    )


def lies_of_size(data: bytes, rng: Rng) -> bytes:
    """A packed file whose trailer lies."""
    return gzip.compress(data, 1, mtime=0)[:-8] + struct.pack("<II", int(rng.integers(2**32)), int(rng.integers(2**32)))


WAYS: tuple[Callable[[bytes, Rng], bytes], ...] = (
    cut, cut_in_front, turned_bits, garbage, zeroed, swapped, doubled, false_lengths, false_lengths, false_numbers,
    empty, as_it_is, packed_and_damaged, lies_of_size,
)  # fmt: skip


def damaged(data: bytes, seed: int) -> tuple[str, bytes]:
    """A damaged copy of a file: how it was damaged, and its bytes; now and then damaged twice."""
    rng = np.random.default_rng(seed)
    way = WAYS[seed % len(WAYS)]
    out, name = way(data, rng), way.__name__
    if rng.random() < 0.3:
        again = WAYS[int(rng.integers(len(WAYS)))]
        out, name = again(out, rng) if out else out, f"{name}, {again.__name__}"
    return name, out
