"""Which schema a database has, which this program knows, and the steps between."""

from __future__ import annotations

from pathlib import Path

from sqlalchemy import Connection, inspect, text

STEPS = Path(__file__).resolve().parent / "versions"
"""Folder of the steps that ship with the program."""


def newest(steps: Path = STEPS) -> int:
    """The schema this program works with."""
    from alembic.script import ScriptDirectory

    head = ScriptDirectory(str(STEPS.parent), version_locations=[str(steps)]).get_current_head()
    return int(head or 0)


def schema_of(connection: Connection) -> int | None:
    """The schema of a database, None where there is no record in it."""
    if not inspect(connection).has_table("alembic_version"):
        return None
    found = connection.scalar(text("SELECT version_num FROM alembic_version"))
    return None if found is None else int(found)


def upgrade(connection: Connection, steps: Path = STEPS, *, to: int | None = None) -> None:
    """Take all steps that are missing, or those up to schema ``to``, in the transaction of ``connection``."""
    from alembic import command
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(STEPS.parent).replace("%", "%%"))
    config.set_main_option("version_locations", str(steps).replace("%", "%%"))
    config.set_main_option("path_separator", "newline")
    config.attributes["connection"] = connection
    command.upgrade(config, "head" if to is None else f"{to:04d}")
