"""A job of the record as a job folder, which ``twoturn prove`` judges alike."""

from __future__ import annotations

import hashlib
import shutil
import tempfile
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path, PurePosixPath
from typing import Any

import tomli_w

from twoturn.acts.job_files import JOB_FILE, inside
from twoturn.acts.job_folder import load_job
from twoturn.acts.shop.shop import Shop
from twoturn.errors import TwoTurnError
from twoturn.job.chain import Checkpoint, checkpoint
from twoturn.job.file import FORMAT
from twoturn.store.disk import disk_faults
from twoturn.store.faults import Damaged
from twoturn.store.files import path_of
from twoturn.store.records import drives, entries, evidence, jobs

CHUNK = 1 << 20
FIRST = ("kind", "id", "by", "entered")
"""Keys that stand first in an entry; their order means nothing to its hash."""


@dataclass(frozen=True)
class Exported:
    """A job folder that was written.

    Attributes
    ----------
    folder
        Where it is.
    number
        Number of the job.
    checkpoint
        The record number: that of the folder and that of the record.
    files
        Names of the evidence files in it.
    missing
        Names of those that are gone or altered in the record, and therefore not in it.
    """

    folder: Path
    number: int
    checkpoint: Checkpoint
    files: tuple[str, ...]
    missing: tuple[str, ...]

    def as_json(self) -> dict[str, Any]:
        """Keys ``folder``, ``job``, ``checkpoint``, ``files``, ``missing``."""
        return {
            "folder": str(self.folder),
            "job": self.number,
            "checkpoint": self.checkpoint.as_json(),
            "files": list(self.files),
            "missing": list(self.missing),
        }


@dataclass(frozen=True)
class _Held:
    """What the record holds of the job."""

    job: jobs.Job
    contents: tuple[dict[str, Any], ...]
    slug: str
    drive_text: str
    sha256: Mapping[str, str]

    @property
    def checkpoint(self) -> Checkpoint:
        return Checkpoint(self.job.entries, self.job.last_hash)


def export_numbered(shop: Shop, number: int, folder: str | Path) -> Exported:
    """As :func:`export_job`, for the job of that running number.

    Raises
    ------
    NotFound
        There is no such job.
    """
    with shop.reading() as connection:
        found = jobs.by_number(connection, number)
    return export_job(shop, found.id, folder)


def export_job(shop: Shop, job_id: int, folder: str | Path) -> Exported:
    """Write a job folder: the job file, the drive file of the version the job was begun with, and its evidence files.

    Parameters
    ----------
    shop, job_id
        The record, and which job.
    folder
        A new folder, or an empty one; it is there whole or not at all.

    Raises
    ------
    NotFound
        There is no such job.
    TwoTurnError
        There is something at that place already, or a file cannot be written.
    Damaged
        The record's entries are not what was once written, so that the folder would have another record number.
    """
    target = Path(folder).absolute()
    _check_free(target)
    held = _held(shop, job_id)
    with disk_faults(target):
        build = Path(tempfile.mkdtemp(prefix=f".{target.name}.", dir=target.parent))
    try:
        with disk_faults(target):
            files, missing = _write_files(shop, held, build)
            drive = _free_name(f"{held.slug}.toml", (*files, *missing))
            (build / drive).write_text(held.drive_text, encoding="utf-8", newline="")
            text = job_file_text(held.contents, drive, _head(held, shop.now()))
            (build / JOB_FILE).write_text(text, encoding="utf-8", newline="\n")
            _check_same(held, build)
            build.chmod(0o755)
            if target.is_dir():
                target.rmdir()
            build.rename(target)
    finally:
        shutil.rmtree(build, ignore_errors=True)
    return Exported(target, held.job.number, held.checkpoint, files, missing)


def job_file_text(contents: Sequence[Mapping[str, Any]], drive: str, head: Sequence[str] = ()) -> str:
    """The text of a job file that holds these entries.

    Parameters
    ----------
    contents
        The entries as the record keeps them: JSON objects without null, dates as text.
    drive
        What it says of its drive.
    head
        Remarks at its top, a line each.
    """
    lines = "".join(f"# {line}".rstrip() + "\n" for line in head)
    return f"{lines}{tomli_w.dumps({'format': FORMAT, 'drive': drive})}" + "".join(
        f"\n{_entry_text(content)}" for content in contents
    )


def _entry_text(content: Mapping[str, Any]) -> str:
    """One ``[[entry]]`` table."""
    row = {key: content[key] for key in FIRST if key in content} | dict(content)
    text = tomli_w.dumps({"entry": [row]})
    if text.startswith("[[entry]]"):
        return text
    plain = {key: value for key, value in row.items() if not isinstance(value, Mapping)}
    tables = {key: value for key, value in row.items() if isinstance(value, Mapping)}
    return f"[[entry]]\n{tomli_w.dumps(plain)}" + (f"\n{tomli_w.dumps({'entry': tables})}" if tables else "")


def _check_free(target: Path) -> None:
    if not target.parent.is_dir():
        raise TwoTurnError(f'there is no folder "{target.parent}"', next_step="make it, or name another folder")
    if target.exists() and not (target.is_dir() and not any(target.iterdir())):
        raise TwoTurnError(
            f'there is something at "{target}" already', next_step="name a new folder; nothing was written"
        )


def _held(shop: Shop, job_id: int) -> _Held:
    with shop.reading() as connection:
        job = jobs.job(connection, job_id)
        version = drives.drive_version(connection, job.drive_version_id)
        slug = drives.drive(connection, version.drive_id).slug
        contents = tuple(entry.content for entry in entries.entries(connection, job_id))
        named = {file.name: file.sha256 for file in evidence.of_job(connection, job_id)}
    return _Held(job, contents, slug, version.text, named)


def _head(held: _Held, now: datetime) -> tuple[str, ...]:
    day = now.astimezone().date().isoformat()
    return (
        f"Job {held.job.number} of the record, written on {day}. Record number: {held.checkpoint.short}.",
        "Whoever changes an entry changes the record number.",
        "",
    )


def _write_files(shop: Shop, held: _Held, build: Path) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Names of the files that were written, and of those that are gone or altered."""
    there: list[str] = []
    missing: list[str] = []
    for name, sha256 in held.sha256.items():
        path = inside(build, name)
        if path is None or path == build or PurePosixPath(name).as_posix().casefold() == JOB_FILE:
            raise Damaged(f'the job knows a file by the name "{name[:80]}", which no file of a job folder can have')
        path.parent.mkdir(parents=True, exist_ok=True)
        if _copied(path_of(shop.place, sha256), path, sha256):
            there.append(name)
        else:
            path.unlink(missing_ok=True)
            missing.append(name)
    return tuple(there), tuple(missing)


def _copied(source: Path, target: Path, sha256: str) -> bool:
    """Copy a file; whether it was there and is what was once kept."""
    if not source.is_file():
        return False
    digest = hashlib.sha256()
    with source.open("rb") as file, target.open("xb") as out:
        while chunk := file.read(CHUNK):
            digest.update(chunk)
            out.write(chunk)
    return digest.hexdigest() == sha256


def _free_name(name: str, taken: Sequence[str]) -> str:
    used = {one.casefold() for one in (*taken, JOB_FILE)}
    path, found, number = PurePosixPath(name), name, 1
    while found.casefold() in used:
        number += 1
        found = f"{path.stem}-{number}{path.suffix}"
    return found


def _check_same(held: _Held, build: Path) -> None:
    """Read the folder as ``twoturn prove`` would: its record number must be the record's."""
    found = checkpoint(load_job(build).file.raw)
    if found != held.checkpoint:
        raise Damaged(
            f"the entries of job {held.job.number} are not what was once written: they give the record number "
            f"{found.short} instead of {held.checkpoint.short}",
            next_step="run: twoturn verify",
        )
