"""The first schema. (A released step of the schema is never changed: the next one is added.)"""

from __future__ import annotations

from typing import Any

from alembic import op
from sqlalchemy import (
    BigInteger,
    Column,
    Double,
    ForeignKeyConstraint,
    Integer,
    PrimaryKeyConstraint,
    Text,
    UniqueConstraint,
)
from sqlalchemy.types import TypeEngine

from twoturn.store.migrate.only_added import guard

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make all tables."""
    _shop()
    _vehicles()
    _drives()
    _evidence()
    _tools()
    _jobs()
    _entries()
    for table in ("entry", "sent", "drive_version", "sheet", "evidence"):
        guard(op.get_bind(), table)


def _whole(name: str, *, missing: bool = False) -> Column[int]:
    return _column(name, Integer(), missing)


def _text(name: str, *, missing: bool = False) -> Column[str]:
    return _column(name, Text(), missing)


def _column(name: str, kind: TypeEngine[Any], missing: bool) -> Column[Any]:
    return Column(name, kind, nullable=missing)


def _key(table: str, *columns: str) -> PrimaryKeyConstraint:
    return PrimaryKeyConstraint(*columns, name=f"pk_{table}")


def _points(table: str, column: str, target: str) -> ForeignKeyConstraint:
    return ForeignKeyConstraint([column], [target], name=f"fk_{table}_{column}")


def _once(table: str, *columns: str) -> UniqueConstraint:
    return UniqueConstraint(*columns, name=f"uq_{table}_{columns[0]}")


def _index(table: str, *columns: str) -> None:
    for column in columns:
        op.create_index(f"ix_{table}_{column}", table, [column], unique=False)


def _shop() -> None:
    op.create_table("about", _whole("id"), _text("shop_id"), _text("begun"), _text("program"), _key("about", "id"))
    op.create_table("setting", _text("key"), _text("value"), _key("setting", "key"))
    op.create_table(
        "person",
        _whole("id"),
        _text("name"),
        _text("role"),
        _text("pin_hash", missing=True),
        _whole("active"),
        _key("person", "id"),
        _once("person", "name"),
    )
    op.create_table(
        "session",
        _text("token_hash"),
        _whole("person_id"),
        _text("begun"),
        _text("seen"),
        _text("ends"),
        _points("session", "person_id", "person.id"),
        _key("session", "token_hash"),
    )
    op.create_table(
        "attempt", _whole("id"), _text("name"), _text("address"), _whole("good"), _text("at"), _key("attempt", "id")
    )
    _index("attempt", "name")


def _vehicles() -> None:
    op.create_table(
        "vehicle",
        _whole("id"),
        _text("registration"),
        *(_text(name, missing=True) for name in ("vin", "model", "engine", "fuel")),
        _whole("hybrid", missing=True),
        _whole("stop_start", missing=True),
        *(_text(name, missing=True) for name in ("first_registered", "customer", "note")),
        _text("find"),
        _key("vehicle", "id"),
    )
    _index("vehicle", "registration", "vin")
    op.create_table(
        "odometer",
        _whole("id"),
        _whole("vehicle_id"),
        _whole("km"),
        _text("read_on"),
        _text("by"),
        _points("odometer", "vehicle_id", "vehicle.id"),
        _key("odometer", "id"),
    )
    _index("odometer", "vehicle_id")


def _drives() -> None:
    op.create_table(
        "drive",
        _whole("id"),
        _text("slug"),
        _text("name"),
        _whole("active"),
        _key("drive", "id"),
        _once("drive", "slug"),
    )
    op.create_table(
        "drive_version",
        _whole("id"),
        _whole("drive_id"),
        _whole("number"),
        *(_text(name) for name in ("text", "sha256", "by", "at")),
        _points("drive_version", "drive_id", "drive.id"),
        _key("drive_version", "id"),
        _once("drive_version", "drive_id", "number"),
    )


def _evidence() -> None:
    op.create_table(
        "evidence",
        _text("sha256"),
        _column("size", BigInteger(), False),
        *(_text(name) for name in ("media_type", "first_name", "by", "at")),
        _text("original_sha256", missing=True),
        _key("evidence", "sha256"),
    )


def _tools() -> None:
    op.create_table(
        "tool",
        _whole("id"),
        _text("name"),
        _text("type"),
        _text("class_", missing=True),
        _column("low_nm", Double(), True),
        _column("high_nm", Double(), True),
        _text("number", missing=True),
        _whole("active"),
        _key("tool", "id"),
        _once("tool", "name"),
    )
    op.create_table(
        "calibration",
        _whole("id"),
        _whole("tool_id"),
        _text("on"),
        _whole("valid_months", missing=True),
        _text("certificate", missing=True),
        _text("source", missing=True),
        _points("calibration", "tool_id", "tool.id"),
        _points("calibration", "certificate", "evidence.sha256"),
        _key("calibration", "id"),
    )
    _index("calibration", "tool_id")


def _jobs() -> None:
    op.create_table(
        "job",
        *(_whole(name) for name in ("id", "number", "vehicle_id", "drive_version_id")),
        _text("opened_at"),
        _text("opened_by"),
        _text("closed_at", missing=True),
        _text("note", missing=True),
        _whole("entries"),
        _text("last_hash"),
        _points("job", "vehicle_id", "vehicle.id"),
        _points("job", "drive_version_id", "drive_version.id"),
        _key("job", "id"),
        _once("job", "number"),
    )
    _index("job", "vehicle_id", "drive_version_id", "closed_at")
    op.create_table(
        "job_evidence",
        _whole("job_id"),
        _text("name"),
        _text("sha256"),
        _points("job_evidence", "job_id", "job.id"),
        _points("job_evidence", "sha256", "evidence.sha256"),
        _key("job_evidence", "job_id", "name"),
    )
    _index("job_evidence", "sha256")
    op.create_table(
        "sheet",
        *(_whole(name) for name in ("id", "job_id", "entries")),
        *(_text(name) for name in ("last_hash", "drive_sha256", "verdict", "kind", "sha256", "by", "at")),
        _points("sheet", "job_id", "job.id"),
        _points("sheet", "sha256", "evidence.sha256"),
        _key("sheet", "id"),
    )
    _index("sheet", "job_id")


def _entries() -> None:
    op.create_table(
        "sent",
        _whole("id"),
        _text("key"),
        _text("digest"),
        *(_whole(name) for name in ("job_id", "first", "count")),
        _text("received"),
        _points("sent", "job_id", "job.id"),
        _key("sent", "id"),
        _once("sent", "key"),
    )
    op.create_table(
        "entry",
        _whole("job_id"),
        Column("number", Integer, nullable=False, autoincrement=False),
        *(_text(name) for name in ("content", "previous_hash", "hash", "by", "received")),
        _whole("clock_back"),
        _whole("sent_id"),
        _text("seal"),
        _points("entry", "job_id", "job.id"),
        _points("entry", "sent_id", "sent.id"),
        _key("entry", "job_id", "number"),
    )
