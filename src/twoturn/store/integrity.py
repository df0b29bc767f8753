"""What the database itself says about its health."""

from __future__ import annotations

from sqlalchemy import Connection

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


def _loose_ends(connection: Connection) -> list[str]:
    from sqlalchemy import MetaData, func, select

    tables = MetaData()
    tables.reflect(connection)
    faults = []
    for table in tables.sorted_tables:
        for link in table.foreign_keys:
            parent = link.column.table.alias("parent")
            there = select(1).where(parent.c[link.column.name] == link.parent).exists()
            query = select(func.count()).select_from(table).where(link.parent.is_not(None), ~there)
            if count := connection.scalar(query):
                faults.append(f"{count} rows of {table.name} point at a {link.column.table.name} that is not there")
    return faults
