"""Triggers by which the database itself refuses to change or take away rows."""

from __future__ import annotations

from sqlalchemy import Connection, text

FUNCTION = "twoturn_only_added"


def guard(connection: Connection, table: str) -> None:
    """Forbid UPDATE, DELETE and (on PostgreSQL) TRUNCATE of ``table``."""
    if connection.dialect.name == "sqlite":
        for act in ("update", "delete"):
            connection.exec_driver_sql(
                f"CREATE TRIGGER {table}_no_{act} BEFORE {act.upper()} ON {table} "
                f"BEGIN SELECT RAISE(ABORT, '{table} is only ever added to'); END"
            )
        return
    connection.execute(
        text(
            f"CREATE OR REPLACE FUNCTION {FUNCTION}() RETURNS trigger LANGUAGE plpgsql AS "
            "$$ BEGIN RAISE EXCEPTION '% is only ever added to', TG_TABLE_NAME; END $$"
        )
    )
    for act, each in (("update", "ROW"), ("delete", "ROW"), ("truncate", "STATEMENT")):
        connection.exec_driver_sql(
            f"CREATE TRIGGER {table}_no_{act} BEFORE {act.upper()} ON {table} "
            f"FOR EACH {each} EXECUTE FUNCTION {FUNCTION}()"
        )


def unguard(connection: Connection, table: str) -> None:
    """Take the guards of ``table`` away, for a step of the schema that fills a new column."""
    of = "" if connection.dialect.name == "sqlite" else f" ON {table}"
    for name in sorted(wanted_guards(connection, table)):
        connection.exec_driver_sql(f"DROP TRIGGER {name}{of}")


def guards(connection: Connection) -> set[str]:
    """Names of the guards that are there and switched on."""
    if connection.dialect.name == "sqlite":
        found = connection.exec_driver_sql("SELECT name FROM sqlite_master WHERE type = 'trigger'")
    else:
        found = connection.exec_driver_sql(
            "SELECT tgname FROM pg_trigger JOIN pg_class ON pg_class.oid = tgrelid "
            "WHERE NOT tgisinternal AND tgenabled <> 'D' AND relnamespace = current_schema()::regnamespace"
        )
    return {row[0] for row in found}


def wanted_guards(connection: Connection, table: str) -> set[str]:
    """Names of the guards that ``table`` must have."""
    acts = ("update", "delete") if connection.dialect.name == "sqlite" else ("update", "delete", "truncate")
    return {f"{table}_no_{act}" for act in acts}
