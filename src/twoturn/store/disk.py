"""Files written so that they last, and faults of the disk told in one sentence."""

from __future__ import annotations

import errno
import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from twoturn.store.faults import DiskFull, Gone, ReadOnly, StoreError

FULL = {errno.ENOSPC, errno.EDQUOT, errno.EFBIG}
FORBIDDEN = {errno.EACCES, errno.EPERM, errno.EROFS}


@contextmanager
def disk_faults(path: Path) -> Iterator[None]:
    """Turn the system's errors on ``path`` into sentences.

    Raises
    ------
    StoreError
        DiskFull, ReadOnly or Gone where it is one of these.
    """
    try:
        yield
    except OSError as error:
        raise told(error, path) from error


def told(error: OSError, path: Path) -> StoreError:
    """The sentence for an error of the system on ``path``."""
    if error.errno in FULL:
        return DiskFull(
            f'the disk of "{path}" is full (or a limit on file sizes is reached); nothing of this was saved',
            next_step="make room and send it again: what you entered is still in the page",
        )
    if error.errno in FORBIDDEN:
        return ReadOnly(
            f'"{path}" may not be written by the user who runs twoturn',
            next_step="give this user the right to write there, or choose another folder",
        )
    if error.errno in {errno.ENOENT, errno.ENOTDIR}:
        return Gone(f'"{path}" is not there', next_step="put it back, or restore a backup")
    return StoreError(f'"{path}" cannot be used: {error.strerror or error}', next_step="check the disk")


def settle(path: Path) -> None:
    """Force a file, or a folder's list of names, onto the disk."""
    if os.name == "nt" and path.is_dir():
        return  # a folder cannot be opened there; its names are kept by the file system's own log
    handle = os.open(path, os.O_RDONLY if path.is_dir() else os.O_RDWR)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def put_in_place(written: Path, target: Path) -> None:
    """Give a wholly written file its name, so that after a power cut it is either there whole or not at all."""
    settle(written)
    target.parent.mkdir(parents=True, exist_ok=True)
    written.replace(target)
    settle(target.parent)
    settle(target.parent.parent)
