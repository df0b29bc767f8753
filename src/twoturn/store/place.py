"""Where a record lives: one folder, and whether it is a safe place for it."""

from __future__ import annotations

import os
import shutil
from dataclasses import dataclass
from pathlib import Path

from twoturn.store.disk import disk_faults
from twoturn.store.faults import DiskFull, PlaceRefused
from twoturn.store.mounts import network_type, sync_service

LEAST_FREE = 50_000_000
"""Free space under which no record is opened for work [bytes]."""


@dataclass(frozen=True)
class Place:
    """The data folder's layout.

    Attributes
    ----------
    folder
        The data folder.
    url
        Address of a PostgreSQL database; None for the SQLite file in the folder.
    """

    folder: Path
    url: str | None = None

    @property
    def live(self) -> Path:
        """The folder that a restore puts in as a whole."""
        return self.folder / "record"

    @property
    def database(self) -> Path:
        """The SQLite file (not used with ``url``)."""
        return self.live / "twoturn.sqlite"

    @property
    def evidence(self) -> Path:
        """Evidence files, named by their SHA-256."""
        return self.live / "evidence"

    @property
    def copies(self) -> Path:
        """Dated copies made before a change of the schema, and files set aside."""
        return self.folder / "copies"

    @property
    def secrets(self) -> Path:
        """Keys and certificates of this bench; never in a backup."""
        return self.folder / "secrets"

    @property
    def incoming(self) -> Path:
        """Files while they arrive."""
        return self.folder / "incoming"

    @property
    def lock(self) -> Path:
        """Held while a bench runs on the folder."""
        return self.folder / "bench.lock"

    @property
    def begun(self) -> Path:
        """Is there once the folder has held a record, so that a missing database is noticed."""
        return self.folder / "twoturn.json"

    @property
    def restoring(self) -> Path:
        """Is there while a restore exchanges the record."""
        return self.folder / "restoring.json"


def check_place(folder: Path, *, mounts: str | None = None, least_free: int = LEAST_FREE) -> None:
    """Refuse a folder that is no safe place for a live record.

    Parameters
    ----------
    folder
        The data folder; it need not exist.
    mounts
        The system's table of mounts as text; read from the system when None.
    least_free
        Free space that must be there [bytes].

    Raises
    ------
    PlaceRefused
        The folder lies on a network drive or in a folder that a service copies to elsewhere while it is written.
    DiskFull
        Too little free space.
    """
    folder = Path(os.path.abspath(folder))  # noqa: PTH100 - links are kept: a sync folder may be reached through one
    for path in dict.fromkeys((folder, folder.resolve())):
        what = network_type(path, mounts)
        if what:
            raise PlaceRefused(
                f'the folder "{folder}" lies on a network drive ({what}), where a live database gets damaged',
                allowed="a folder on a disk of this computer",
                next_step="choose another folder and use the network drive as the target of backups",
            )
        service = sync_service(path)
        if service:
            raise PlaceRefused(
                f'the folder "{folder}" is copied elsewhere while it is written ({service}): that damages a live one',
                allowed="a folder that nothing synchronises",
                next_step="choose another folder and put backups into this one",
            )
    free = shutil.disk_usage(next(path for path in (folder, *folder.parents) if path.exists())).free
    if free < least_free:
        raise DiskFull(
            f'only {free / 1e6:.0f} MB are free for "{folder}"',
            allowed=f"{least_free / 1e6:.0f} MB or more",
            next_step="make room on the disk and start again",
        )


def make_place(folder: Path, url: str | None = None) -> Place:
    """The place at ``folder``, its folders made where they are missing; ``secrets`` is for its owner alone.

    Raises
    ------
    StoreError
        A folder cannot be made.
    """
    place = Place(folder, url)
    with disk_faults(folder):
        for part in (place.folder, place.copies, place.incoming):
            part.mkdir(parents=True, exist_ok=True)
        place.secrets.mkdir(mode=0o700, exist_ok=True)
        place.secrets.chmod(0o700)
    return place
