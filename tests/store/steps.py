"""Steps of a schema that is newer than the program's: written into a folder for one test."""

from __future__ import annotations

import shutil
from pathlib import Path

from twoturn.store.migrate.schema import STEPS

NEXT = """
from alembic import op
from sqlalchemy import Column, Text

revision = "{number:04d}"
down_revision = "{before:04d}"
branch_labels = None
depends_on = None


def upgrade():
    {work}
"""
GOOD = 'op.add_column("job", Column("colour", Text(), nullable=False, server_default="none"))'
FAILS = GOOD.replace("colour", "shade") + '\n    raise RuntimeError("half way")'
WRECKS = """connection = op.get_bind()
    connection.exec_driver_sql("DELETE FROM setting")
    connection.exec_driver_sql("COMMIT")
    raise RuntimeError("behind the back of the transaction")"""


def steps_with(folder: Path, *works: str) -> Path:
    """The program's steps with one more for each ``work``."""
    shutil.copytree(STEPS, folder, ignore=shutil.ignore_patterns("__pycache__"))
    last = max(int(path.name[1:5]) for path in STEPS.glob("v*.py"))
    for number, work in enumerate(works, last + 1):
        text = NEXT.format(number=number, before=number - 1, work=work)
        (folder / f"v{number:04d}_next.py").write_text(text, encoding="utf-8")
    return folder


def first_steps(folder: Path, count: int) -> Path:
    """The program's first steps alone: those of an older program."""
    shutil.copytree(STEPS, folder, ignore=shutil.ignore_patterns("__pycache__"))
    for path in folder.glob("v*.py"):
        if int(path.name[1:5]) > count:
            path.unlink()
    return folder
