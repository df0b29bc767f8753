"""The files that a job's entries name, wherever they are kept: beside a job file, or in the record by their SHA-256."""

from __future__ import annotations

import posixpath
import shutil
import tempfile
from collections.abc import Callable, Mapping
from contextlib import AbstractContextManager
from pathlib import Path
from types import TracebackType
from typing import Protocol

from twoturn.job.check_names import may_name_file

JOB_FILE = "job.toml"


class JobFiles(Protocol):
    """Where the files of one job are found by the names that its entries give them."""

    @property
    def where(self) -> str:
        """In words, such as ``"the job folder"``."""

    def may_name(self, name: str) -> bool:
        """Whether a file may have that name; one that leads out of the job may not."""

    def find(self, name: str) -> Path | None:
        """The file of that name; None where there is none."""

    def names(self) -> tuple[str, ...]:
        """Names of all files, for the one that may have been meant."""


def inside(folder: Path, name: str) -> Path | None:
    """The path of a file inside a folder; None for a name that leads out of it."""
    path = (folder / name).resolve()
    return path if path.is_relative_to(folder.resolve()) else None


class FolderFiles:
    """The files beside a job file.

    Parameters
    ----------
    folder
        The job folder.
    """

    where = "the job folder"

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def may_name(self, name: str) -> bool:
        """Whether the name stays inside the folder."""
        return inside(self.folder, name) is not None

    def find(self, name: str) -> Path | None:
        """The file of that name."""
        path = inside(self.folder, name)
        return path if path is not None and path.is_file() else None

    def names(self) -> tuple[str, ...]:
        """Files of the folder, the job file left out."""
        return tuple(sorted(path.name for path in self.folder.iterdir() if path.is_file() and path.name != JOB_FILE))


class KeptFiles(AbstractContextManager["KeptFiles"]):
    """Evidence files kept by their SHA-256, found by the names that the entries of one job give them.

    What a reader says of a file names it as the entry does: each is lent under that name until the block ends.

    Parameters
    ----------
    sha256
        SHA-256 by name.
    path_of
        The kept file by its SHA-256.
    """

    where = "the record"

    def __init__(self, sha256: Mapping[str, str], path_of: Callable[[str], Path]) -> None:
        self._sha256 = dict(sha256)
        self._path_of = path_of
        self._lent: tempfile.TemporaryDirectory[str] | None = None

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """Take the lent names back."""
        if self._lent is not None:
            self._lent.cleanup()
            self._lent = None

    def may_name(self, name: str) -> bool:  # noqa: ARG002
        """Any name may: no path is made of one that leads out, its file is just not there."""
        return True

    def find(self, name: str) -> Path | None:
        """The file of that name, lent under it."""
        digest = self._sha256.get(name)
        kept = None if digest is None else self._path_of(digest)
        if kept is None or not kept.is_file() or not may_name_file(name):
            return None
        if self._lent is None:
            self._lent = tempfile.TemporaryDirectory(prefix="twoturn-")
        lent = Path(self._lent.name) / posixpath.normpath(name)
        if not lent.exists():
            lent.parent.mkdir(parents=True, exist_ok=True)
            try:
                lent.symlink_to(kept.resolve())
            except OSError:  # a system that lets nobody make links
                shutil.copyfile(kept, lent)
        return lent

    def names(self) -> tuple[str, ...]:
        """Names of all files of the job that are there."""
        return tuple(sorted(name for name, digest in self._sha256.items() if self._path_of(digest).is_file()))
