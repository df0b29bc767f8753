"""A backup put in place of the record; the record before it is set aside, never deleted."""

from __future__ import annotations

import json
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from itertools import islice
from pathlib import Path
from typing import Any

from sqlalchemy import Column, Connection, Engine, MetaData, Table, func, insert, inspect, select, text, update

from twoturn.store.archive import Archive, open_archive
from twoturn.store.backup import LEFT_OUT
from twoturn.store.disk import disk_faults, put_in_place, settle
from twoturn.store.engine import application_name, is_sqlite, make_engine, reading, writing
from twoturn.store.faults import ArchiveRefused, BenchRuns, DiskFull, NewerSchema
from twoturn.store.files import path_of
from twoturn.store.locks import one_bench
from twoturn.store.migrate.schema import newest, schema_of, upgrade
from twoturn.store.migrate.up import free_name, mark_begun
from twoturn.store.place import LEAST_FREE, Place, make_place
from twoturn.store.tables import ABOUT
from twoturn.store.verify import Verified, verify_within


@dataclass(frozen=True)
class Restored:
    """What was put in place.

    Attributes
    ----------
    made
        When the backup was made, ISO 8601.
    program, schema
        What it was made with.
    set_aside
        Where the record before it lies; None where there was none.
    tables_aside
        On PostgreSQL, the schema that holds the tables before it; None where there were none.
    verified
        A look through the record as restored.
    missing
        SHA-256 of evidence files that were missing already when the backup was made.
    """

    made: str
    program: str
    schema: int
    set_aside: Path | None
    tables_aside: str | None
    verified: Verified
    missing: tuple[str, ...]


def record_there(place: Place) -> bool:
    """Whether a record is at that place, whole or not; nothing is made and nothing brought up.

    Raises
    ------
    StoreError
        A PostgreSQL database cannot be reached.
    """
    if place.url is None:
        return place.begun.exists() or place.live.exists()
    engine = make_engine(place)
    try:
        with reading(engine) as connection:
            return schema_of(connection) is not None
    finally:
        engine.dispose()


def restore(place: Place, file: Path, now: datetime, program: str) -> Restored:
    """Put the backup ``file`` in place of the record at ``place``.

    Parameters
    ----------
    place
        Its folder may be new; with a ``url`` the tables go into that database.
    file
        Of :func:`twoturn.store.backup.backup`; from SQLite or PostgreSQL, it fits both.
    now
        The moment, with its time zone.
    program
        Version of this program.

    Raises
    ------
    ArchiveRefused
        The file is damaged or no backup; nothing was changed.
    NewerSchema
        It was made by a newer program; nothing was changed.
    BenchRuns
        A bench runs on the folder or database; nothing was changed.
    StoreError
        The disk is full, or the like; the record is as it was.
    """
    make_place(place.folder, place.url)
    with one_bench(place), open_archive(file) as archive:
        _check(archive, file, place, program)
        stamp = now.astimezone(UTC).strftime("%Y%m%d-%H%M%S")
        build = Place(free_name(place.folder / f"restoring-{stamp}"))
        try:
            _unpack(archive, build)
            put = _into_postgresql if place.url else _into_file
            return put(archive, place, build, now, program)
        finally:
            shutil.rmtree(build.folder, ignore_errors=True)


def _check(archive: Archive, file: Path, place: Place, program: str) -> None:
    manifest = archive.manifest
    if manifest.schema > newest():
        raise NewerSchema(
            f'the backup "{file}" was made with twoturn {manifest.program[:40]}; this is {program}',
            next_step="install the newer one and restore with it",
        )
    if not manifest.whole:
        raise ArchiveRefused(
            f'"{file}" holds the tables alone, without evidence files', next_step="take a whole backup"
        )
    with disk_faults(place.folder):
        free = shutil.disk_usage(place.folder).free
    if 2 * archive.size + LEAST_FREE > free:
        raise DiskFull(
            f"the backup needs {2 * archive.size / 1e6:.0f} MB while it is restored, and {free / 1e6:.0f} MB are free",
            next_step="make room and restore again; nothing was changed",
        )
    archive.check()


def _unpack(archive: Archive, build: Place) -> None:
    """The evidence files, each under the name that its content has."""
    with disk_faults(build.folder):
        build.evidence.mkdir(parents=True)
        for sha256 in archive.evidence:
            if archive.manifest.files[f"evidence/{sha256[:2]}/{sha256}"].sha256 != sha256:
                raise ArchiveRefused(f"an evidence file is not what its name says ({sha256})")
            path = path_of(build, sha256)
            path.parent.mkdir(exist_ok=True)
            with path.open("wb") as out:
                for chunk in archive.chunks(f"evidence/{sha256[:2]}/{sha256}"):
                    out.write(chunk)
            settle(path)
            path.chmod(0o440)
        for folder in (*build.evidence.iterdir(), build.evidence):
            settle(folder)


def _into_file(archive: Archive, place: Place, build: Place, now: datetime, program: str) -> Restored:
    with disk_faults(build.database):
        build.database.touch()
    engine = make_engine(build)
    try:
        with writing(engine) as connection:
            _fill(connection, archive, program)
            verified = _looked_through(connection, build)
    finally:
        engine.dispose()
    with _exchanged(place, build, now) as aside:
        pass
    return _restored(archive, aside, None, verified)


def _into_postgresql(archive: Archive, place: Place, build: Place, now: datetime, program: str) -> Restored:
    engine = make_engine(place)
    try:
        _nobody_else(engine)
        with _exchanged(place, build, now) as aside, writing(engine) as connection:
            tables = _tables_aside(connection, now)
            _fill(connection, archive, program)
            verified = _looked_through(connection, place)
    finally:
        engine.dispose()
    return _restored(archive, aside, tables, verified)


def _restored(archive: Archive, aside: Path | None, tables: str | None, verified: Verified) -> Restored:
    said = archive.manifest
    return Restored(said.made, said.program, said.schema, aside, tables, verified, said.missing)


@contextmanager
def _exchanged(place: Place, build: Place, now: datetime) -> Iterator[Path | None]:
    """The new folder in place of the old one; back again if the block fails. A mark tells of a cut in between."""
    stamp = now.astimezone(UTC).strftime("%Y%m%d-%H%M%S")
    aside = free_name(place.copies / f"set-aside-{stamp}") if place.live.exists() else None
    with disk_faults(place.folder):
        written = place.restoring.with_suffix(".part")
        written.write_text(json.dumps({"set_aside": str(aside or ""), "new": str(build.live)}), encoding="utf-8")
        put_in_place(written, place.restoring)
    try:
        with disk_faults(place.folder):
            _swap(place, build, aside)
        yield aside
    except BaseException:
        with disk_faults(place.folder):
            _swap_back(place, build, aside)
        raise
    mark_begun(place, now)
    with disk_faults(place.folder):
        place.restoring.unlink()
        settle(place.folder)


def _swap(place: Place, build: Place, aside: Path | None) -> None:
    if aside is not None:
        place.live.rename(aside)
    build.live.rename(place.live)
    settle(place.folder)
    settle(place.copies)


def _swap_back(place: Place, build: Place, aside: Path | None) -> None:
    if not build.live.exists():
        place.live.rename(build.live)
    if aside is not None and aside.exists():
        aside.rename(place.live)
    place.restoring.unlink()
    settle(place.folder)


def _nobody_else(engine: Engine) -> None:
    query = (
        "SELECT count(*) FROM pg_stat_activity WHERE datname = current_database() "
        "AND application_name LIKE 'twoturn %%' AND application_name <> %s"
    )
    with writing(engine) as connection:
        others = connection.exec_driver_sql(query, (application_name(),)).scalar()
    if others:
        raise BenchRuns("a bench runs on this database", next_step="stop it and restore again; nothing was changed")


def _tables_aside(connection: Connection, now: datetime) -> str | None:
    """Move the tables that are there into a schema of their own."""
    names = inspect(connection).get_table_names()
    if not names:
        return None
    taken = set(inspect(connection).get_schema_names())
    wanted = found = now.astimezone(UTC).strftime("set_aside_%Y%m%d_%H%M%S")
    number = 1
    while found in taken:
        number += 1
        found = f"{wanted}_{number}"
    connection.exec_driver_sql(f"CREATE SCHEMA {found}")
    for name in names:
        connection.exec_driver_sql(f'ALTER TABLE "{name}" SET SCHEMA {found}')
    return found


def _fill(connection: Connection, archive: Archive, program: str) -> None:
    """Tables of the backup's schema, its rows, then the steps of the schema that it lacks."""
    upgrade(connection, to=archive.manifest.schema)
    tables = MetaData()
    tables.reflect(connection)
    ours = [table for table in tables.sorted_tables if table.name not in LEFT_OUT]
    if {table.name for table in ours} != set(archive.tables):
        raise ArchiveRefused("the backup's tables are not those of its schema")
    for table in ours:
        _rows(connection, archive, table)
    upgrade(connection)
    connection.execute(update(ABOUT).values(program=program))


def _looked_through(connection: Connection, place: Place) -> Verified:
    """A look through what was filled in; rows that nobody could read are refused."""
    try:
        return verify_within(connection, place)
    except (ValueError, TypeError) as error:
        raise ArchiveRefused(f"the backup holds a row that cannot be read ({error})") from error


def _fits(column: Column[Any], value: Any) -> bool:
    """Whether a value is one that the column may hold: a database file takes anything into any of them."""
    if value is None:
        return bool(column.nullable)
    if column.type.python_type is str:
        return isinstance(value, str) and "\0" not in value
    whole = isinstance(value, int) and not isinstance(value, bool) and abs(value) < 2**63
    return whole or (isinstance(value, float) and column.type.python_type is float)


def _rows(connection: Connection, archive: Archive, table: Table) -> None:
    lines = archive.rows(table.name)
    columns = next(lines, [])
    if sorted(map(str, columns)) != sorted(table.columns.keys()):
        raise ArchiveRefused(f"the columns of table {table.name} in the backup are not those of its schema")
    while some := list(islice(lines, 2000)):
        if any(len(row) != len(columns) for row in some):
            raise ArchiveRefused(f"table {table.name} of the backup holds a row that is too short or too long")
        for row in some:
            for column, value in zip(columns, row, strict=True):
                if not _fits(table.columns[column], value):
                    raise ArchiveRefused(f"table {table.name} of the backup holds a {column} that cannot be one")
        connection.execute(insert(table), [dict(zip(columns, row, strict=True)) for row in some])
    if not is_sqlite(connection) and "id" in table.columns:
        last = connection.scalar(select(func.max(table.c.id)))
        if last is not None:
            query = text("SELECT setval(pg_get_serial_sequence(:name, 'id'), :last)")
            connection.execute(query, {"name": table.name, "last": last})
