"""What the database itself says about its health."""

from __future__ import annotations

from sqlalchemy import Column, Connection, MetaData, Table, func, select

from twoturn.store.engine import is_sqlite


def damage(connection: Connection) -> tuple[str, ...]:
    """Faults that the database's own checks find; none for a healthy one.

    SQLite: ``integrity_check`` and ``foreign_key_check``. PostgreSQL keeps its constraints itself and has no such check
    for ordinary users: there it is every foreign key looked up again.
    """
    if not is_sqlite(connection):
        return tuple(_loose_ends(connection))
    faults = [row[0] for row in connection.exec_driver_sql("PRAGMA integrity_check(20)") if row[0] != "ok"]
    for table, row, parent, _ in connection.exec_driver_sql("PRAGMA foreign_key_check").fetchmany(20):
        faults.append(f"row {row} of {table} points at a {parent} that is not there")
    return tuple(faults)


_LINKS = """
SELECT child.relname, link.attname, parent.relname, key.attname
FROM pg_constraint
JOIN pg_class AS child ON child.oid = conrelid
JOIN pg_attribute AS link ON link.attrelid = conrelid AND link.attnum = conkey[1]
JOIN pg_class AS parent ON parent.oid = confrelid
JOIN pg_attribute AS key ON key.attrelid = confrelid AND key.attnum = confkey[1]
WHERE contype = 'f' AND connamespace = current_schema()::regnamespace
ORDER BY child.relname, link.attname
"""
"""Foreign keys of the tables that are there; every one is of a single column."""


def _loose_ends(connection: Connection) -> list[str]:
    faults = []
    for child, link, parent, key in connection.exec_driver_sql(_LINKS).fetchall():
        ours, theirs = Table(child, MetaData(), Column(link)), Table(parent, MetaData(), Column(key)).alias("parent")
        there = select(1).where(theirs.c[key] == ours.c[link]).exists()
        query = select(func.count()).select_from(ours).where(ours.c[link].is_not(None), ~there)
        if count := connection.scalar(query):
            faults.append(f"{count} rows of {child} point at a {parent} that is not there")
    return faults
