"""Rows as frozen values: the columns that a value has fields for, by name."""

from __future__ import annotations

from dataclasses import fields
from functools import lru_cache
from typing import Any, TypeVar

from sqlalchemy import Connection, Executable, Select, Table, bindparam, select

from twoturn.store.faults import NotFound

T = TypeVar("T")


@lru_cache(maxsize=100)
def columns_of(kind: Any, table: Table) -> Select[Any]:
    """A query of the columns of ``table`` that ``kind`` has fields for; made once, since making it takes long."""
    return select(*(table.c[field.name] for field in fields(kind) if field.name in table.c))


@lru_cache(maxsize=100)
def chosen(kind: Any, table: Table, *columns: str) -> Select[Any]:
    """The same of the rows in which ``columns`` hold what is given by their names when it is asked."""
    return columns_of(kind, table).where(*(table.c[name] == bindparam(name) for name in columns))


def all_of(connection: Connection, kind: type[T], query: Executable, **given: Any) -> tuple[T, ...]:
    """Every row as a ``kind``."""
    return tuple(kind(**row._mapping) for row in connection.execute(query, given))


def maybe_one(connection: Connection, kind: type[T], query: Executable, **given: Any) -> T | None:
    """The first row as a ``kind``, None when there is none."""
    row = connection.execute(query, given).first()
    return None if row is None else kind(**row._mapping)


def one_of(connection: Connection, kind: type[T], query: Executable, what: str, **given: Any) -> T:
    """The row as a ``kind``.

    Raises
    ------
    NotFound
        There is none; ``what`` was looked for.
    """
    found = maybe_one(connection, kind, query, **given)
    if found is None:
        raise NotFound(f"the record holds no {what}", next_step="go back to the list and choose again")
    return found


def values_of(row: Any, table: Table) -> dict[str, Any]:
    """Fields of a value by the names of the columns of ``table``, without its id."""
    return {
        field.name: getattr(row, field.name) for field in fields(row) if field.name in table.c and field.name != "id"
    }


def lock_name(connection: Connection, name: str) -> None:
    """Hold back others who ask for the same name until this transaction ends (SQLite has one writer anyway)."""
    if connection.dialect.name == "postgresql":
        connection.exec_driver_sql("SELECT pg_advisory_xact_lock(hashtextextended(%s, 0))", (name,))
