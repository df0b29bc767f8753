"""One bench a folder: a lock that the system gives back when the process ends, however it ends."""

from __future__ import annotations

import json
import os
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import IO, Any

from twoturn.store.disk import disk_faults
from twoturn.store.faults import BenchRuns
from twoturn.store.place import Place


@dataclass(frozen=True)
class Holder:
    """Who runs a bench on a folder.

    Attributes
    ----------
    process
        Number of the process.
    address
        Address of its pages; empty for what has none.
    """

    process: int
    address: str

    @property
    def mine(self) -> bool:
        """Whether it is this process."""
        return self.process == os.getpid()

    @property
    def said(self) -> str:
        """In words."""
        return f"{self.address or 'without pages'}, process {self.process}"


@contextmanager
def one_bench(place: Place, address: str = "") -> Iterator[None]:
    """Hold the folder while the block runs.

    Raises
    ------
    BenchRuns
        Another bench, or a restore, holds it.
    """
    with disk_faults(place.lock):
        place.folder.mkdir(parents=True, exist_ok=True)
        file = place.lock.open("a+", encoding="utf-8")
    with file:
        if not _take(file):
            other = _said(place)
            raise BenchRuns(
                f'a bench runs on "{place.folder}" ({other.said})', next_step="stop it, or use the pages it shows"
            )
        try:
            with disk_faults(place.lock):
                file.truncate(0)
                file.write(json.dumps({"process": os.getpid(), "address": address}))
                file.flush()
            yield
        finally:
            file.truncate(0)
            _give_back(file)


def holder(place: Place) -> Holder | None:
    """Who runs a bench on the folder, None when nobody does."""
    try:
        file = place.lock.open("r+", encoding="utf-8")
    except OSError:
        return None
    with file:
        if _take(file):
            _give_back(file)
            return None
    return _said(place)


def _said(place: Place) -> Holder:
    try:
        found: dict[str, Any] = json.loads(place.lock.read_text(encoding="utf-8"))
        return Holder(int(found["process"]), str(found["address"]))
    except (OSError, ValueError, KeyError):
        return Holder(0, "")  # just starting, or the system lets nobody read a locked file


def _take(file: IO[str]) -> bool:
    try:
        if os.name == "nt":
            import msvcrt

            file.seek(1 << 20)  # past the words, so that others can read them
            getattr(msvcrt, "locking")(file.fileno(), getattr(msvcrt, "LK_NBLCK"), 1)  # noqa: B009 - Windows only
        else:
            import fcntl

            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        return False
    return True


def _give_back(file: IO[str]) -> None:
    if os.name == "nt":
        import msvcrt

        file.seek(1 << 20)
        getattr(msvcrt, "locking")(file.fileno(), getattr(msvcrt, "LK_UNLCK"), 1)  # noqa: B009 - Windows only
    else:
        import fcntl

        fcntl.flock(file, fcntl.LOCK_UN)
