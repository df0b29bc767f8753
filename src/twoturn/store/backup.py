"""One file with the whole record, written while the bench runs."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, MetaData, Table, select

from twoturn.store.archive import CHUNK, FORMAT, ArchiveWriter, Manifest, new_archive
from twoturn.store.engine import reading
from twoturn.store.faults import NotFound
from twoturn.store.files import path_of, sha256_of
from twoturn.store.migrate.schema import schema_of
from twoturn.store.place import Place
from twoturn.store.records.about import about
from twoturn.store.tables import moment_text

LEFT_OUT = ("alembic_version", "session", "attempt")
"""Not in a backup: the schema stands in the manifest; who is signed in, and who failed to, ends with the bench."""


@dataclass(frozen=True)
class BackedUp:
    """What was written.

    Attributes
    ----------
    path
        The file.
    size
        Its size [bytes].
    rows
        Number of rows by table.
    files
        Number of evidence files.
    missing
        SHA-256 of evidence files that are missing or altered and therefore not in it.
    """

    path: Path
    size: int
    rows: dict[str, int]
    files: int
    missing: tuple[str, ...]


def backup(place: Place, engine: Engine, target: Path, now: datetime, program: str) -> BackedUp:
    """Write the record, as it stands at one moment, into the one file ``target``; writers are not held up.

    Parameters
    ----------
    place, engine
        The record.
    target
        A new file; it may lie on a network drive.
    now
        The moment, with its time zone.
    program
        Version of this program.

    Raises
    ------
    StoreError
        It cannot be written, or there is a file of that name; nothing is left behind.
    """
    with new_archive(target) as archive:
        with reading(engine) as connection:
            rows = _tables(connection, archive)
            manifest = _manifest(connection, now, program)
            files = list(connection.scalars(select(_reflected(connection).tables["evidence"].c.sha256)))
        missing = tuple(sha256 for sha256 in sorted(files) if not _evidence(place, archive, sha256))
        archive.finish(Manifest(**(manifest | {"files": archive.files, "missing": missing, "whole": True})))
    return BackedUp(target, target.stat().st_size, rows, len(files) - len(missing), missing)


def write_tables(engine: Engine, target: Path, now: datetime, program: str) -> Path:
    """The tables alone, without evidence files: the copy before a change of the schema."""
    with new_archive(target) as archive:
        with reading(engine) as connection:
            _tables(connection, archive)
            manifest = _manifest(connection, now, program)
        archive.finish(Manifest(**(manifest | {"files": archive.files, "missing": (), "whole": False})))
    return target


def _manifest(connection: Connection, now: datetime, program: str) -> dict[str, Any]:
    schema = schema_of(connection)
    if schema is None:
        raise NotFound("there is no record yet that could be backed up")
    said = {"format": FORMAT, "program": program, "schema": schema, "made": moment_text(now)}
    return said | {"shop_id": about(connection).shop_id}


def _reflected(connection: Connection) -> MetaData:
    """The tables as they are, so that none can be forgotten."""
    tables = MetaData()
    tables.reflect(connection)
    return tables


def _tables(connection: Connection, archive: ArchiveWriter) -> dict[str, int]:
    counted: dict[str, int] = {}
    for table in _reflected(connection).sorted_tables:
        if table.name not in LEFT_OUT:
            archive.add(f"tables/{table.name}.jsonl", _lines(connection, table, counted))
    return counted


def _lines(connection: Connection, table: Table, counted: dict[str, int]) -> Iterator[bytes]:
    """The names of the columns, then a row a line, some thousands at a time."""
    counted[table.name] = 0
    yield _line([column.name for column in table.columns])
    query = select(table).order_by(*table.primary_key.columns)
    for rows in connection.execute(query, execution_options={"yield_per": 2000}).partitions():
        counted[table.name] += len(rows)
        yield b"".join(_line(list(row)) for row in rows)


def _line(values: list[Any]) -> bytes:
    return json.dumps(values, separators=(",", ":"), allow_nan=False).encode("ascii") + b"\n"


def _evidence(place: Place, archive: ArchiveWriter, sha256: str) -> bool:
    """Add an evidence file, unless it is missing or altered."""
    path = path_of(place, sha256)
    if not path.is_file() or sha256_of(path) != sha256:
        return False
    with path.open("rb") as file:
        archive.add(f"evidence/{sha256[:2]}/{sha256}", iter(lambda: file.read(CHUNK), b""))
    return True
