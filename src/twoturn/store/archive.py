"""The one file of a backup: a zip whose every member is known by its SHA-256, sealed by one over the whole file.

Members are ``manifest.json``, ``tables/<table>.jsonl`` (the columns' names, then a row a line) and
``evidence/<two digits>/<sha256>``. The zip's comment, the last 64 bytes, is the SHA-256 of all bytes before it.
"""

from __future__ import annotations

import hashlib
import itertools
import json
import os
import re
import zlib
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import IO, Any
from zipfile import ZIP_DEFLATED, ZIP_STORED, BadZipFile, ZipFile, ZipInfo

from twoturn.store.disk import disk_faults, settle
from twoturn.store.faults import ArchiveRefused, NewerSchema

FORMAT = 1
SEAL = 64
CHUNK = 1 << 20
MANIFEST = "manifest.json"
LARGEST_MANIFEST = 256_000_000
NAMES = re.compile(r"tables/[a-z_]{1,60}\.jsonl|evidence/([0-9a-f]{2})/\1[0-9a-f]{62}")
DAMAGED = "make a new backup, or take an older one"


@dataclass(frozen=True)
class Member:
    """A member of the archive: SHA-256 and size [bytes] of its content."""

    sha256: str
    size: int


@dataclass(frozen=True)
class Manifest:
    """What an archive says of itself.

    Attributes
    ----------
    format
        Of the archive.
    program, schema
        Version of the program that wrote it, and of the record's tables.
    made
        When, ISO 8601 in UTC.
    shop_id
        Which record it is of.
    files
        Every other member by name.
    missing
        SHA-256 of evidence files that were not there, or altered, when it was made.
    whole
        False for the tables alone, without evidence files.
    """

    format: int
    program: str
    schema: int
    made: str
    shop_id: str
    files: dict[str, Member]
    missing: tuple[str, ...]
    whole: bool


class ArchiveWriter:
    """An archive while it is written."""

    def __init__(self, archive: ZipFile) -> None:
        self._zip = archive
        self.files: dict[str, Member] = {}

    def add(self, name: str, chunks: Iterable[bytes]) -> None:
        """One more member; what does not get smaller is not packed."""
        todo = iter(chunks)
        head = next(todo, b"")
        info = ZipInfo(name)
        info.external_attr = 0o600 << 16
        sample = head[:65536]
        info.compress_type = ZIP_DEFLATED if len(zlib.compress(sample, 1)) < 0.9 * len(sample) else ZIP_STORED
        digest, size = hashlib.sha256(), 0
        with self._zip.open(info, "w", force_zip64=True) as out:
            for chunk in itertools.chain((head,), todo):
                digest.update(chunk)
                size += len(chunk)
                out.write(chunk)
        self.files[name] = Member(digest.hexdigest(), size)

    def finish(self, manifest: Manifest) -> None:
        """The manifest, last."""
        text = json.dumps(asdict(manifest), sort_keys=True, separators=(",", ":"))
        self._zip.writestr(ZipInfo(MANIFEST), text.encode("ascii"), ZIP_DEFLATED)


@contextmanager
def new_archive(target: Path) -> Iterator[ArchiveWriter]:
    """Write an archive beside ``target`` and give it that name once it is whole, on the disk, and read again.

    Raises
    ------
    StoreError
        The disk is full or may not be written; nothing is left behind.
    ArchiveRefused
        There is a file of that name, or what was read again is not what was written.
    """
    if target.exists():
        raise ArchiveRefused(
            f'there is a file "{target}" already', next_step="choose another name; nothing was written"
        )
    written = target.with_name(f".{target.name}.{os.getpid()}.part")
    try:
        with disk_faults(target):
            written.touch(mode=0o600)  # customers' data: for its owner alone
            with ZipFile(written, "w", allowZip64=True) as archive:
                archive.comment = b"0" * SEAL
                yield ArchiveWriter(archive)
            _put_seal(written)
            settle(written)
        with open_archive(written) as again:
            again.check()
        with disk_faults(target):
            written.replace(target)
            settle(target.parent)
    finally:
        written.unlink(missing_ok=True)


def _put_seal(path: Path) -> None:
    with path.open("r+b") as file:
        digest = _sealed_part(file, path.stat().st_size)
        file.seek(-SEAL, os.SEEK_END)
        file.write(digest.encode("ascii"))


def _sealed_part(file: IO[bytes], size: int) -> str:
    digest, left = hashlib.sha256(), size - SEAL
    file.seek(0)
    while left > 0 and (chunk := file.read(min(CHUNK, left))):
        digest.update(chunk)
        left -= len(chunk)
    return digest.hexdigest()


class Archive:
    """An archive that was opened: its seal holds, and its list of members is the manifest's."""

    def __init__(self, path: Path, archive: ZipFile) -> None:
        self._path, self._zip = path, archive
        self.manifest = self._manifest()
        names = [info.filename for info in archive.infolist()]
        if len(set(names)) != len(names) or set(names) != {MANIFEST, *self.manifest.files}:
            raise self._refused("its members are not those of its list")
        for info in archive.infolist():
            known = info.filename == MANIFEST or NAMES.fullmatch(info.filename)
            if not known or info.flag_bits & 1 or info.compress_type not in {ZIP_STORED, ZIP_DEFLATED}:
                raise self._refused(f"a member {info.filename[:80]!r} does not belong in a backup")

    @property
    def size(self) -> int:
        """Of all members unpacked [bytes], as the manifest says and :meth:`chunks` holds them to."""
        return sum(member.size for member in self.manifest.files.values())

    @property
    def tables(self) -> list[str]:
        """Names of the tables."""
        return [name[7:-6] for name in self.manifest.files if name.startswith("tables/")]

    @property
    def evidence(self) -> list[str]:
        """SHA-256 of the evidence files."""
        return [name[12:] for name in self.manifest.files if name.startswith("evidence/")]

    def check(self) -> None:
        """Read every member.

        Raises
        ------
        ArchiveRefused
            One is not what the manifest says.
        """
        for name in self.manifest.files:
            for _ in self.chunks(name):
                pass

    def chunks(self, name: str) -> Iterator[bytes]:
        """Content of a member, never more of it than the manifest says; its SHA-256 is checked at the end."""
        member = self.manifest.files[name]
        digest, size = hashlib.sha256(), 0
        try:
            with self._zip.open(name) as file:
                while chunk := file.read(CHUNK):
                    size += len(chunk)
                    if size > member.size:
                        break
                    digest.update(chunk)
                    yield chunk
        except (BadZipFile, zlib.error, EOFError, OSError, NotImplementedError) as error:
            raise self._refused(f"{name} cannot be unpacked") from error
        if size != member.size or digest.hexdigest() != member.sha256:
            raise self._refused(f"{name} is not what its list says")

    def rows(self, table: str) -> Iterator[list[Any]]:
        """Lines of a table: the names of its columns, then its rows."""
        rest = b""
        for chunk in self.chunks(f"tables/{table}.jsonl"):
            *lines, rest = (rest + chunk).split(b"\n")
            for line in lines:
                yield self._row(table, line)
        if rest:
            raise self._refused(f"table {table} ends in the middle of a line")

    def _row(self, table: str, line: bytes) -> list[Any]:
        try:
            found = json.loads(line)
        except ValueError as error:
            raise self._refused(f"table {table} holds a line that cannot be read") from error
        if not isinstance(found, list):
            raise self._refused(f"table {table} holds a line that is no row")
        return found

    def _manifest(self) -> Manifest:
        try:
            info = self._zip.getinfo(MANIFEST)
            if info.file_size > LARGEST_MANIFEST:
                raise self._refused("its list is too large")
            with self._zip.open(info) as file:
                said = json.loads(file.read(LARGEST_MANIFEST))
            if said["format"] > FORMAT:
                raise NewerSchema(
                    f'the backup "{self._path}" was written by twoturn {str(said["program"])[:40]}, in a newer format',
                    next_step="install that twoturn and restore with it",
                )
            said["files"] = {name: Member(str(one["sha256"]), int(one["size"])) for name, one in said["files"].items()}
            said["missing"], said["schema"] = tuple(map(str, said["missing"])), int(said["schema"])
            return Manifest(**said)
        except (KeyError, TypeError, ValueError, AttributeError, BadZipFile, zlib.error, EOFError) as error:
            raise self._refused("it has no list of its members that can be read") from error

    def _refused(self, why: str) -> ArchiveRefused:
        return ArchiveRefused(f'the backup "{self._path}" cannot be trusted: {why}', next_step=DAMAGED)


@contextmanager
def open_archive(path: Path) -> Iterator[Archive]:
    """An archive whose seal holds.

    Raises
    ------
    ArchiveRefused
        It is damaged, cut off, or no backup.
    NewerSchema
        Its format is newer than this program.
    StoreError
        It cannot be read.
    """
    with disk_faults(path), path.open("rb") as file:
        size = path.stat().st_size
        file.seek(-min(SEAL, size), os.SEEK_END)
        seal = file.read(SEAL)
        if seal != _sealed_part(file, size).encode("ascii"):
            raise ArchiveRefused(f'"{path}" is damaged, cut off, or no backup of twoturn', next_step=DAMAGED)
        try:
            archive = ZipFile(file)
        except (BadZipFile, OSError, ValueError, NotImplementedError) as error:
            raise ArchiveRefused(f'"{path}" is no backup of twoturn', next_step=DAMAGED) from error
        with archive:
            yield Archive(path, archive)
