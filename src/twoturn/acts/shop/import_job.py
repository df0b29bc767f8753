"""A job folder taken into the record: the same entries with the same hashes, its files, its drive."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from twoturn.acts.drive_files import shipped_drives
from twoturn.acts.job_folder import Job, load_job
from twoturn.acts.shop.evidence import MEDIA_TYPES, MOST_BYTES, OTHER
from twoturn.acts.shop.people import Actor, allow, people, the_one_person, work_alone
from twoturn.acts.shop.shop import Shop
from twoturn.drive.toml_text import read_text
from twoturn.errors import TwoTurnError
from twoturn.job.chain import Checkpoint, checkpoint
from twoturn.job.entries.found import Photo
from twoturn.job.entries.recordings import Capture, Pluck
from twoturn.job.entries.vehicle import Vehicle
from twoturn.job.file import JobFile
from twoturn.job.order import Timeline
from twoturn.store.disk import disk_faults
from twoturn.store.faults import Conflict, Damaged
from twoturn.store.files import Kept, keep_file
from twoturn.store.records import drives, entries, evidence, jobs, vehicles
from twoturn.store.records.rows import lock_name
from twoturn.vehicle.registration import registration_key

if TYPE_CHECKING:
    from sqlalchemy import Connection


@dataclass(frozen=True)
class Imported:
    """A job folder that was taken in.

    Attributes
    ----------
    job
        The job it has become.
    files
        Names of the files that were taken in.
    warnings
        Sentences: files that are not there, files that no entry names, a drive kept beside another of its name.
    """

    job: jobs.Job
    files: tuple[str, ...]
    warnings: tuple[str, ...]

    @property
    def checkpoint(self) -> Checkpoint:
        """The record number, that of the folder."""
        return Checkpoint(self.job.entries, self.job.last_hash)

    def as_json(self) -> dict[str, Any]:
        """Keys ``job``, ``checkpoint``, ``files``, ``warnings``."""
        return {
            "job": self.job.number,
            "checkpoint": self.checkpoint.as_json(),
            "files": list(self.files),
            "warnings": list(self.warnings),
        }


def import_here(shop: Shop, folder: str | Path, by: str | None = None) -> Imported:
    """As :func:`import_job`, by whoever sits at this machine: the person named, else the one who works alone on it.

    The first name said at a record where nobody is known yet is taken as the one who works alone.

    Raises
    ------
    TwoTurnError
        Nobody was named and nobody works alone here, or nobody of that name is known.
    """
    return import_job(shop, _person(shop, by), folder)


def import_job(shop: Shop, actor: Actor, folder: str | Path) -> Imported:
    """Take a job folder in as a new job; its entries stay exactly as they are, whoever signed them.

    Parameters
    ----------
    shop, actor
        The record, and who takes it in.
    folder
        The job folder, or its ``job.toml``.

    Raises
    ------
    NotAllowed
        Only who may hand over takes in what others have signed.
    FileFaults
        Faults of the job file or its drive file.
    Conflict
        The record holds a job with exactly these entries already.
    StoreError
        A file is too large, or the disk is full; no job was made.
    """
    allow(actor, "hand over")
    job = load_job(folder)
    wanted = checkpoint(job.file.raw)
    with shop.reading() as connection:
        _check_new(connection, wanted)
    place = Path(folder) if Path(folder).is_dir() else Path(folder).parent
    named = _names(job.file)
    found = {name: path for name in named if (path := job.find(name)) is not None}
    _check_names_apart(found)
    kept = {name: _kept(shop, path) for name, path in found.items()}
    with shop.writing() as connection:
        lock_name(connection, f"job folder {wanted.last_hash}")
        _check_new(connection, wanted)  # somebody else may have taken it in meanwhile
        version, notes = _drive(connection, job, place, actor, shop)
        vehicle = _vehicle(connection, job.file)
        note = f'taken in from the folder "{place.absolute().name}"'
        row = jobs.add(connection, vehicle.id, version.id, shop.now(), actor.name, note)
        for name, file in kept.items():
            media = MEDIA_TYPES.get(name.rpartition(".")[2].lower(), OTHER)
            evidence.add(
                connection, evidence.Evidence(file.sha256, file.size, media, name[-80:], actor.name, shop.now())
            )
            evidence.name_for_job(connection, row.id, name, file.sha256)
        if job.file.raw:
            key = f"job folder {wanted.last_hash} {row.number}"
            entries.append(connection, row.id, job.file.raw, key, actor.name, shop.now())
        row = jobs.job(connection, row.id)
        if Checkpoint(row.entries, row.last_hash) != wanted:
            raise Damaged("the entries would not be the same in the record; nothing was taken in")
    return Imported(row, tuple(kept), (*_absent(job, named, found), *notes))


def _person(shop: Shop, by: str | None) -> Actor:
    known = people(shop)
    if by is not None and not known:
        return work_alone(shop, by)
    if by is None:
        found = the_one_person(shop)
        if found is None:
            raise TwoTurnError("nobody is known at this record yet", next_step="say who takes it in: --by NAME")
        return found
    one = next((one for one in known if one.active and one.name.casefold() == by.strip().casefold()), None)
    if one is None:
        names = ", ".join(one.name for one in known if one.active)
        raise TwoTurnError(f'nobody named "{by[:80]}" works here', allowed=names or "nobody is known yet")
    return one


def _check_new(connection: Connection, wanted: Checkpoint) -> None:
    same = jobs.alike(connection, wanted.entries, wanted.last_hash) if wanted.entries else None
    if same is not None:
        raise Conflict(
            f"the record holds this job already: it is job {same.number}, with the same {wanted.entries} entries",
            next_step="nothing was taken in",
        )


def _names(file: JobFile) -> tuple[str, ...]:
    """Names of the files that entries point at, in their order."""
    pointing = [entry for entry in file.entries if isinstance(entry, Pluck | Capture | Photo)]
    return tuple(dict.fromkeys(entry.file for entry in pointing))


def _check_names_apart(found: Mapping[str, Path]) -> None:
    """Refuse names that differ in case only: on many disks they would be one file."""
    seen: dict[str, str] = {}
    for name in found:
        other = seen.setdefault(name.casefold(), name)
        if other != name:
            raise TwoTurnError(
                f'the names "{other}" and "{name}" differ in capital letters only',
                next_step="nothing was taken in; give one of the files another name in the folder and its entry",
            )


def _kept(shop: Shop, path: Path) -> Kept:
    with disk_faults(path), path.open("rb") as file:
        return keep_file(shop.place, file, max(MOST_BYTES.values()))


def _drive(
    connection: Connection, job: Job, place: Path, actor: Actor, shop: Shop
) -> tuple[drives.DriveVersion, tuple[str, ...]]:
    """The version of the library with exactly this text; kept anew where there is none, never in place of another."""
    path = place / job.file.drive
    text = read_text(path) if path.is_file() else shipped_drives()[job.file.drive]
    found = drives.version_of_text(connection, drives.text_hash(text))
    if found is not None:
        return found, ()
    slug = Path(job.file.drive).stem.casefold() or "drive"
    taken = drives.by_slug(connection, slug) is not None
    same_name = any(one.name.casefold() == job.drive.name.casefold() for one in drives.library(connection))
    if taken:
        slug = next(f"{slug}-{number}" for number in range(2, 100_000) if _is_free(connection, f"{slug}-{number}"))
    version = drives.keep(connection, slug, job.drive.name, text, actor.name, shop.now())
    if not (taken or same_name):
        return version, ()
    drives.set_active(connection, version.drive_id, False)
    said = f'The library holds another "{job.drive.name}"; this job keeps its own, which new jobs are not offered.'
    return version, (said,)


def _is_free(connection: Connection, slug: str) -> bool:
    return drives.by_slug(connection, slug) is None


def _vehicle(connection: Connection, file: JobFile) -> vehicles.Vehicle:
    """The vehicle that the entries that stand tell of: one that is known, else a new one."""
    said: dict[str, Any] = {}
    keys = ("registration", "vin", "model", "engine", "fuel", "hybrid", "stop_start", "first_registered", "customer")
    for act in Timeline(file.entries, {}).acts:
        entry = act.entry
        if isinstance(entry, Vehicle):
            said |= {key: value for key in keys if (value := getattr(entry, key)) is not None}
    new = vehicles.Vehicle(0, **({"registration": ""} | said))
    known = _known(connection, new)
    return known or vehicles.add(connection, new)


def _known(connection: Connection, new: vehicles.Vehicle) -> vehicles.Vehicle | None:
    if new.vin and (found := vehicles.by_vin(connection, new.vin)):
        return found[0]
    key = registration_key(new.registration)
    for one in vehicles.search(connection, key.casefold()) if key else ():
        if registration_key(one.registration) == key and not (new.vin and one.vin):
            return one
    return None


def _absent(job: Job, named: tuple[str, ...], found: Mapping[str, Path]) -> tuple[str, ...]:
    """What is said of files that are not there, and of files that no entry names."""
    said = [f"{name} is not in the folder." for name in named if name not in found]
    others = sorted(set(job.files.names()) - set(found) - {job.file.drive})
    if others:
        said.append(f"Not taken in, because no entry names it: {', '.join(others[:20])}.")
    return tuple(said)
