"""A small writer of measurement data files, by ASAM MDF 4.1 (block layouts from memory), independent of the reader.

Everything that describes the channels stands before the data, as recorders write that cannot go back; records of
several groups follow each other in the order of their time ("unsorted").
"""

from __future__ import annotations

import struct
from dataclasses import dataclass, field


@dataclass
class Group:
    """One channel group: records of a 64-bit time and 16-bit channels."""

    times: list[float]
    channels: dict[str, list[int]]
    unit: str = "s"
    counted: int | None = None
    sync: int = 1
    name: str = ""


@dataclass
class Blocks:
    """Blocks laid one behind the other from byte 64 on."""

    parts: list[bytearray] = field(default_factory=list)
    size: int = 64

    def put(self, tag: bytes, links: list[int], data: bytes) -> int:
        body = data + bytes(-len(data) % 8)
        block = struct.pack("<4s4xQQ", tag, 24 + 8 * len(links) + len(data), len(links))
        self.parts.append(bytearray(block + struct.pack(f"<{len(links)}Q", *links) + body))
        place, self.size = self.size, self.size + len(self.parts[-1])
        return place

    def text(self, words: str) -> int:
        return self.put(b"##TX", [], words.encode() + b"\0") if words else 0


def channel(blocks: Blocks, after: int, name: str, place: int, unit: str, master: int) -> int:
    """One channel block: a master of 64-bit floats, or signed 16-bit numbers."""
    links = [after, 0, blocks.text(name), 0, 0, 0, blocks.text(unit), 0]
    kind, data_type, bits = (2, 4, 64) if master else (0, 2, 16)
    data = struct.pack("<BBBBIIIIBBH6d", kind, master, data_type, 0, place, bits, 0, 0, 0, 0, 0, *[0.0] * 6)
    return blocks.put(b"##CN", links, data)


def channel_group(blocks: Blocks, after: int, number: int, group: Group) -> int:
    """One channel group block with its channels."""
    first = 0
    for index, name in reversed(list(enumerate(group.channels))):
        first = channel(blocks, first, name, 8 + 2 * index, "V", 0)
    first = channel(blocks, first, "time", 0, group.unit, group.sync)
    count = len(group.times) if group.counted is None else group.counted
    size = 8 + 2 * len(group.channels)
    data = struct.pack("<QQHHIII", number, count, 0, 0, 0, size, 0)
    return blocks.put(b"##CG", [after, first, blocks.text(group.name), 0, 0, 0], data)


def written(groups: list[Group], *, finished: bool = True) -> bytes:
    """The whole file; one that is not finished says that counts and lengths are to be found."""
    blocks = Blocks()
    head = blocks.put(
        b"##HD", [0] * 6, struct.pack("<QhhBBBBdd", 1_600_000_000_000_000_000, 0, 0, 0, 0, 0, 0, 0.0, 0.0)
    )
    history = blocks.put(b"##FH", [0, 0], struct.pack("<QhhB3x", 1_600_000_000_000_000_000, 0, 0, 0))
    first = 0
    for number, group in reversed(list(enumerate(groups, start=1))):
        first = channel_group(blocks, first, number, group)
    records = [
        (
            time,
            struct.pack(f"<Bd{len(group.channels)}h", number, time, *(row[index] for row in group.channels.values())),
        )
        for number, group in enumerate(groups, start=1)
        for index, time in enumerate(group.times)
    ]
    data = b"".join(record for _, record in sorted(records, key=lambda record: record[0]))
    place = blocks.size + 64
    described = blocks.put(b"##DG", [0, first, place, 0], struct.pack("<B7x", 1))
    struct.pack_into("<QQ", blocks.parts[0], 24, described, history)
    assert head == 64
    assert blocks.size == place
    blocks.put(b"##DT", [], data if finished else b"")
    if not finished:
        blocks.parts.append(bytearray(data))
    flags = 0 if finished else 0x1 | 0x4
    magic = b"MDF     " if finished else b"UnFinMF "
    identity = struct.pack("<8s8s8s4xH30xHH", magic, b"4.10    ", b"tests   ", 410, flags, 0)
    return identity + b"".join(bytes(part) for part in blocks.parts)
