"""Seals for sendings, versions of drives, sheets, notes of files and jobs; names of files are only added, too.

(A released step of the schema is never changed: the next one is added.)
"""

from __future__ import annotations

import hashlib
from typing import Any

from alembic import op
from sqlalchemy import Column, Text, text

from twoturn.job.canonical import canonical_json
from twoturn.store.migrate.only_added import guard, unguard

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None

SEALED = {
    "drive_version": ("drive_id", "number", "sha256", "by", "at"),
    "evidence": ("sha256", "size", "media_type", "first_name", "by", "at", "original_sha256"),
    "job_evidence": ("job_id", "name", "sha256"),
    "sent": ("key", "digest", "job_id", "first", "count", "received"),
    "sheet": ("job_id", "entries", "last_hash", "drive_sha256", "verdict", "kind", "sha256", "by", "at"),
}
KEYS = {
    "drive_version": ("id",),
    "evidence": ("sha256",),
    "job_evidence": ("job_id", "name"),
    "sent": ("id",),
    "sheet": ("id",),
    "job": ("id",),
}
UNGUARDED_BEFORE = "job_evidence"


def upgrade() -> None:
    """Add the seals and compute those of the rows that are there."""
    connection = op.get_bind()
    for table, columns in SEALED.items():
        if table != UNGUARDED_BEFORE:
            unguard(connection, table)
        op.add_column(table, Column("seal", Text(), nullable=False, server_default=""))
        wanted = f"{_names(columns)}, {_names(KEYS[table], 'key_')}"
        _seal(table, f"SELECT {wanted} FROM {table}", len(columns))  # noqa: S608 - names of this file alone
        guard(connection, table)
    op.add_column("job", Column("seal", Text(), nullable=False, server_default=""))
    query = (
        "SELECT job.id, job.number, vehicle_id, opened_at, opened_by, drive_version.sha256, job.id AS key_id "
        "FROM job JOIN drive_version ON drive_version.id = drive_version_id"
    )
    _seal("job", query, 6)


def _names(columns: tuple[str, ...], prefix: str = "") -> str:
    return ", ".join(f'"{name}" AS "{prefix}{name}"' for name in columns)


def _seal(table: str, query: str, count: int) -> None:
    """Set the seal of every row; the first ``count`` columns of ``query`` are sealed, the others find the row."""
    connection = op.get_bind()
    where = " AND ".join(f'"{key}" = :key_{key}' for key in KEYS[table])
    change = text(f"UPDATE {table} SET seal = :seal WHERE {where}")  # noqa: S608 - names of this file alone
    rows: list[dict[str, Any]] = []
    for row in connection.execute(text(query)).fetchall():
        seal = hashlib.sha256(canonical_json(list(row)[:count]).encode()).hexdigest()
        rows.append({"seal": seal} | {f"key_{key}": row._mapping[f"key_{key}"] for key in KEYS[table]})
    if rows:
        connection.execute(change, rows)
