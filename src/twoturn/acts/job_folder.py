"""A job folder on disk: its job.toml, the drive it names, and the files beside it."""

from __future__ import annotations

import difflib
from dataclasses import dataclass
from pathlib import Path

from twoturn.acts.drive_files import shipped_drives
from twoturn.acts.job_files import JOB_FILE, FolderFiles, JobFiles
from twoturn.drive.load import load_drive, read_drive
from twoturn.drive.parts import Drive
from twoturn.drive.toml_lines import LineMap
from twoturn.drive.toml_text import read_text
from twoturn.errors import Fault, FileFaults
from twoturn.job.check_names import check_names
from twoturn.job.file import JobFile, read_job


@dataclass(frozen=True)
class Job:
    """A job: of a folder, or of the record.

    Attributes
    ----------
    files
        The files that its entries name.
    file
        The job file, understood.
    drive
        Its drive.
    """

    files: JobFiles
    file: JobFile
    drive: Drive

    def find(self, name: str) -> Path | None:
        """The file that an entry names; None where there is none."""
        return self.files.find(name)


def load_job(folder: str | Path) -> Job:
    """The job in a folder (or in the job file itself), with its drive.

    Parameters
    ----------
    folder
        The job folder, or its ``job.toml``.

    Raises
    ------
    FileFaults
        Every fault of the job file, or of its drive file.
    """
    path = Path(folder)
    path = path if path.is_file() else path / JOB_FILE
    if not path.is_file():
        found = "no job.toml in this folder" if path.parent.is_dir() else "no such folder"
        raise FileFaults(
            [Fault(str(folder), None, "folder", found, "a job folder; twoturn open FOLDER --drive F makes one")]
        )
    file = read_job(read_text(path), str(path))
    drive = find_drive(file.drive, path.parent, file)
    check_names(file, drive)
    return Job(FolderFiles(path.parent), file, drive)


def find_drive(name: str, beside: Path, file: JobFile | None = None) -> Drive:
    """The drive that a name means: a drive file, beside the job or elsewhere, or one shipped for practice.

    Parameters
    ----------
    name
        Path of a drive file, or the name of a shipped one.
    beside
        Folder from which a path counts.
    file
        The job file that names it, for the fault's line.

    Raises
    ------
    FileFaults
        There is none of that name, or the drive file has faults.
    """
    path = beside / name
    if path.is_file():
        return load_drive(path)
    shipped = shipped_drives()
    if name in shipped:
        return read_drive(shipped[name], f"{name} (shipped)")
    near = difflib.get_close_matches(name, shipped, n=1, cutoff=0.5)
    names = f'perhaps "{near[0]}"' if near else "shipped for practice: " + ", ".join(shipped)
    where = file.name if file else name
    line = LineMap(file.text).line(("drive",)) if file else None
    expected = f"the path of a drive file that is there, or the name of a shipped one ({names})"
    raise FileFaults([Fault(where, line, "drive", f'"{name}"', expected)])
