"""The record of a job: every entry carries the hash of the one before, so that any later change shows."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from twoturn.job.canonical import canonical_json

START = "0" * 64


@dataclass(frozen=True)
class Checkpoint:
    """What a proof sheet prints of the record.

    Attributes
    ----------
    entries
        Number of entries.
    last_hash
        Hash of the last one, 64 hexadecimal digits (zeros for an empty record).
    """

    entries: int
    last_hash: str

    @property
    def short(self) -> str:
        """As printed: the number of entries and the first sixteen digits of the hash, in fours."""
        head = self.last_hash[:16]
        return f"{self.entries}-" + "-".join(head[at : at + 4] for at in range(0, 16, 4))

    def as_json(self) -> dict[str, int | str]:
        """Keys ``entries``, ``last_hash`` and ``record_number`` for the command line's JSON."""
        return {"entries": self.entries, "last_hash": self.last_hash, "record_number": self.short}


def entry_hash(entry: Mapping[str, Any], previous: str) -> str:
    """Hash of one entry as written: SHA-256 of its canonical JSON followed by the previous hash.

    Parameters
    ----------
    entry
        The entry's keys and values as they stand in the file.
    previous
        Hash of the entry before, 64 hexadecimal digits; :data:`START` before the first.
    """
    return hashlib.sha256((canonical_json(dict(entry)) + previous).encode()).hexdigest()


def hashes(entries: Iterable[Mapping[str, Any]]) -> tuple[str, ...]:
    """Hash of every entry, in order."""
    found: list[str] = []
    for entry in entries:
        found.append(entry_hash(entry, found[-1] if found else START))
    return tuple(found)


def checkpoint(entries: Iterable[Mapping[str, Any]]) -> Checkpoint:
    """Number of entries and hash of the last one."""
    found = hashes(entries)
    return Checkpoint(len(found), found[-1] if found else START)


def matches(entries: Iterable[Mapping[str, Any]], sheet: Checkpoint) -> bool:
    """Whether a record still begins with exactly the entries a sheet's checkpoint stands for (it may have grown)."""
    found = hashes(entries)
    if sheet.entries > len(found):
        return False
    return (found[sheet.entries - 1] if sheet.entries else START) == sheet.last_hash
