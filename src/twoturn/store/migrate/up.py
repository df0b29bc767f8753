"""Bringing a record up to this program's schema: checked first, copied first, and put back when it fails."""

from __future__ import annotations

import json
import sqlite3
import uuid
from contextlib import closing
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, insert, inspect, select, update

from twoturn.store.disk import disk_faults, put_in_place, settle
from twoturn.store.engine import is_sqlite, reading, writing
from twoturn.store.faults import BenchRuns, Damaged, Gone, NewerSchema, StoreError
from twoturn.store.integrity import damage
from twoturn.store.locks import holder
from twoturn.store.migrate.schema import STEPS, newest, schema_of, upgrade
from twoturn.store.place import Place
from twoturn.store.tables import ABOUT


@dataclass(frozen=True)
class Migrated:
    """What bringing up has done.

    Attributes
    ----------
    before
        The schema found; None for a new record.
    after
        The schema now.
    copy
        The dated copy made before a change; None when nothing had to change.
    """

    before: int | None
    after: int
    copy: Path | None


def bring_up(engine: Engine, place: Place, now: datetime, program: str, *, steps: Path = STEPS) -> Migrated:
    """Make the record's tables, or bring those of an older program up to this one's, and say what was done.

    Parameters
    ----------
    engine
        Of :func:`twoturn.store.engine.make_engine`.
    place
        The data folder; the dated copy goes into its ``copies``.
    now
        The moment, with its time zone.
    program
        Version of this program.
    steps
        Folder of the schema's steps.

    Raises
    ------
    NewerSchema
        The record was last used with a newer program.
    Damaged
        The database is damaged; nothing was changed.
    StoreError
        A step failed; the record is as it was, and the sentence names the copy.
    """
    if place.restoring.exists():
        raise StoreError(
            f'a restore into "{place.folder}" was cut off half-way',
            next_step=f"run the restore again; {_before_it(place, tables=not is_sqlite(engine))}",
        )
    if is_sqlite(engine):
        _need_file(place)
    with reading(engine) as connection:
        before = schema_of(connection)
        names = inspect(connection).get_table_names()
        used_with = connection.scalar(select(ABOUT.c.program)) if before is not None else None
    target = newest(steps)
    if before is None and names:
        raise StoreError("the database holds tables that are none of twoturn", next_step="use an empty database")
    if before is not None and before > target:
        raise NewerSchema(
            f"this record was last used with twoturn {used_with}; this is {program}", next_step="install the newer one"
        )
    copy = None
    if before is None:
        _begin(engine, now, program, steps)
    elif before < target:
        copy = _change(engine, place, now, program, steps)
    elif used_with != program:
        with writing(engine) as connection:
            connection.execute(update(ABOUT).values(program=program))
    if not place.begun.exists():  # a database that was put into a new folder
        mark_begun(place, now)
    return Migrated(before, target, copy)


def _before_it(place: Place, *, tables: bool) -> str:
    """Where the record is that was there before a restore that was cut off: set aside, not moved yet, or none."""
    try:
        aside = Path(json.loads(place.restoring.read_text(encoding="utf-8"))["set_aside"]).name
    except (OSError, ValueError, KeyError, TypeError):
        found = f'the record before it is in "{place.live}", or set aside in "{place.copies}"'
    else:
        if not aside:
            found = "there was no record before it"
        elif (place.copies / aside).exists():
            found = f'the record before it is kept in "{place.copies / aside}"'
        else:
            found = f'the record before it is still in "{place.live}"'
    also = (
        "; its tables are in the database as they were, or set aside there in a schema named set_aside_ and the moment"
    )
    return found + also if tables else found


def _need_file(place: Place) -> None:
    """A new record's file is made; one that was there before is missed."""
    if place.database.exists():
        return
    if place.begun.exists():
        raise Gone(
            f'the record\'s file "{place.database}" is missing from a folder that has held one',
            next_step="put it back or restore a backup; for a new record take another, empty folder",
        )
    with disk_faults(place.folder):
        place.database.parent.mkdir(parents=True, exist_ok=True)
        place.database.touch()


def _begin(engine: Engine, now: datetime, program: str, steps: Path) -> None:
    shop = uuid.uuid4().hex
    with writing(engine) as connection:
        if schema_of(connection) is None:  # else somebody else has begun at the same moment
            upgrade(connection, steps)
            connection.execute(insert(ABOUT).values(id=1, shop_id=shop, begun=now, program=program))


def mark_begun(place: Place, now: datetime) -> None:
    """Leave the mark by which a missing database is noticed later."""
    with disk_faults(place.begun):
        place.folder.mkdir(parents=True, exist_ok=True)
        written = place.begun.with_suffix(".part")
        said = {"what": "data folder of twoturn", "begun": now.astimezone(UTC).isoformat(timespec="seconds")}
        written.write_text(json.dumps(said) + "\n", encoding="ascii")
        put_in_place(written, place.begun)


def _change(engine: Engine, place: Place, now: datetime, program: str, steps: Path) -> Path:
    running = holder(place)
    if running is not None and not running.mine:
        raise BenchRuns(
            f'a bench of an older twoturn runs on "{place.folder}" ({running.said})',
            next_step="stop it and start again",
        )
    with reading(engine) as connection:
        faults = damage(connection)
        before = schema_of(connection)
    if faults:
        raise Damaged(f"the database is damaged ({faults[0]}); it was not changed", next_step="restore the last backup")
    copy = _dated_copy(engine, place, now, program)
    try:
        with writing(engine) as connection:
            upgrade(connection, steps)
            connection.execute(update(ABOUT).values(program=program))
            faults = damage(connection)
            if faults:
                raise Damaged(f"after the change the database would be damaged ({faults[0]})")
    except Exception as error:
        kept = _put_back(engine, place, copy, before)
        aside = f'; the broken file is kept as "{kept}"' if kept else ""
        raise StoreError(
            f"bringing the record up to this twoturn failed ({_reason(error)}); it is as it was before{aside}; "
            f'a copy is "{copy}"',
            next_step="go on with the older twoturn and tell those who look after it",
        ) from error
    return copy


def _reason(error: Exception) -> str:
    return error.message if isinstance(error, StoreError) else f"{type(error).__name__}: {error}".splitlines()[0]


def _dated_copy(engine: Engine, place: Place, now: datetime, program: str) -> Path:
    """A copy of the database alone; evidence files are never changed by a step of the schema."""
    stamp = now.astimezone(UTC).strftime("%Y%m%d-%H%M%S")
    if not is_sqlite(engine):
        from twoturn.store.backup import write_tables

        return write_tables(engine, free_name(place.copies / f"before-{stamp}.zip"), now, program)
    copy = free_name(place.copies / f"before-{stamp}.sqlite")
    written = copy.with_suffix(".part")
    with disk_faults(copy):
        copy.parent.mkdir(parents=True, exist_ok=True)
        with closing(sqlite3.connect(place.database)) as source, closing(sqlite3.connect(written)) as target:
            source.backup(target)
        settle(written)
        written.replace(copy)
        settle(copy.parent)
    return copy


def free_name(path: Path) -> Path:
    """``path``, or the first of ``path-2``, ``path-3`` ... that is not taken."""
    found, number = path, 1
    while found.exists():
        number += 1
        found = path.with_name(f"{path.stem}-{number}{path.suffix}")
    return found


def _put_back(engine: Engine, place: Place, copy: Path, before: int | None) -> Path | None:
    """Nothing, where rolling back was enough; else the copy is put in place and the broken file's new name given."""
    if not is_sqlite(engine):
        return None  # PostgreSQL rolls back a change of the schema as any other
    try:
        with reading(engine) as connection:
            if not damage(connection) and schema_of(connection) == before and _same(connection, copy):
                return None
    except StoreError:
        pass
    engine.dispose()
    kept = free_name(place.copies / f"broken-{copy.name.removeprefix('before-')}")
    with disk_faults(place.database):
        for tail in ("-wal", "-shm", ""):
            found = place.database.with_name(place.database.name + tail)
            if found.exists():
                found.replace(kept.with_name(kept.name + tail))
        written = place.database.with_suffix(".part")
        written.write_bytes(copy.read_bytes())
        put_in_place(written, place.database)
    return kept


def _same(connection: Connection, copy: Path) -> bool:
    """Whether the tables are those of the copy."""
    query = "SELECT type, name, sql FROM sqlite_master ORDER BY type, name"
    with closing(sqlite3.connect(copy)) as kept:
        wanted: list[Any] = kept.execute(query).fetchall()
    return [tuple(row) for row in connection.exec_driver_sql(query)] == wanted
