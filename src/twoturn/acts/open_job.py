"""The act of opening a job: a folder with a job.toml that holds every entry the drive asks for, to be filled in."""

from __future__ import annotations

import os
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from twoturn.acts.drive_files import shipped_drives
from twoturn.acts.job_files import JOB_FILE
from twoturn.acts.job_folder import find_drive
from twoturn.errors import DomainError
from twoturn.job.template import job_template, template_entries


@dataclass(frozen=True)
class Opened:
    """A job folder that was made.

    Attributes
    ----------
    path
        Its job file.
    drive
        Name of the drive.
    entries
        How many entries wait to be filled in [-].
    """

    path: Path
    drive: str
    entries: int

    def as_json(self) -> dict[str, Any]:
        """Keys ``job_file``, ``drive``, ``entries``."""
        return {"job_file": str(self.path), "drive": self.drive, "entries": self.entries}


def open_job(folder: str | Path, drive: str, now: datetime | None = None) -> Opened:
    """Make a job folder; a job file that is there is never written over.

    Parameters
    ----------
    folder
        The folder; it is made where it is not there.
    drive
        Path of the drive file, or the name of a shipped one.
    now
        The date and time that the first entry proposes; the clock's when None.

    Returns
    -------
    Opened
        What was made.

    Raises
    ------
    DomainError
        The folder holds a job already, or cannot be written.
    FileFaults
        The drive cannot be found or has faults.
    """
    place = Path(folder)
    path = place / JOB_FILE
    known = find_drive(drive, Path.cwd())
    moment = (now or datetime.now()).replace(microsecond=0, second=0, tzinfo=None)
    named = drive if drive in shipped_drives() and not Path(drive).is_file() else _path_from(Path(drive), place)
    text = job_template(known, named, moment.isoformat())
    try:
        place.mkdir(parents=True, exist_ok=True)
        with path.open("x", encoding="utf-8", newline="\n") as file:
            file.write(text)
    except FileExistsError:
        there = f"{path} is there already" if place.is_dir() else f"{place} is a file, not a folder"
        raise DomainError(there, next_step="name another folder; nothing was written") from None
    except OSError as error:
        reason = error.strerror or "it cannot be opened"
        raise DomainError(f"{path} cannot be written: {reason}", next_step="name a folder you may write to") from None
    return Opened(path, known.name, len(template_entries(known, moment.isoformat())))


def _path_from(drive: Path, folder: Path) -> str:
    """The drive file's path as seen from the job folder, where there is one; else its whole path."""
    try:
        return Path(os.path.relpath(drive.resolve(), folder.resolve())).as_posix()
    except ValueError:  # another disk of the same computer
        return drive.resolve().as_posix()
