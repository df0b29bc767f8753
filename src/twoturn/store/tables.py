"""The tables, the same on SQLite and PostgreSQL: numbers and texts only, so that a backup fits both."""

from __future__ import annotations

from datetime import UTC, date, datetime
from typing import Any

from sqlalchemy import BigInteger, Column, Dialect, Double, ForeignKey, Integer, MetaData, Table, Text, UniqueConstraint
from sqlalchemy.types import TypeDecorator

from twoturn.store.faults import StoreError


class When(TypeDecorator[datetime]):
    """A moment, kept as ISO 8601 text in UTC with microseconds: it sorts as text."""

    impl = Text
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> str | None:  # noqa: ARG002
        """As it is kept."""
        return None if value is None else moment_text(value)

    def process_result_value(self, value: Any, dialect: Dialect) -> datetime | None:  # noqa: ARG002
        """As it is used."""
        return None if value is None else datetime.fromisoformat(value)


class Day(TypeDecorator[date]):
    """A day, kept as ISO 8601 text."""

    impl = Text
    cache_ok = True

    def process_bind_param(self, value: date | None, dialect: Dialect) -> str | None:  # noqa: ARG002
        """As it is kept."""
        return None if value is None else value.isoformat()

    def process_result_value(self, value: Any, dialect: Dialect) -> date | None:  # noqa: ARG002
        """As it is used."""
        return None if value is None else date.fromisoformat(value)


class Flag(TypeDecorator[bool]):
    """Yes or no, kept as 1 or 0."""

    impl = Integer
    cache_ok = True

    def process_bind_param(self, value: bool | None, dialect: Dialect) -> int | None:  # noqa: ARG002
        """As it is kept."""
        return None if value is None else int(value)

    def process_result_value(self, value: Any, dialect: Dialect) -> bool | None:  # noqa: ARG002
        """As it is used."""
        return None if value is None else bool(value)


def moment_text(moment: datetime) -> str:
    """A moment as it is kept.

    Raises
    ------
    StoreError
        It has no time zone.
    """
    if moment.tzinfo is None:
        raise StoreError(f"the moment {moment.isoformat()} has no time zone")
    return moment.astimezone(UTC).isoformat(timespec="microseconds")


METADATA = MetaData(
    naming_convention={
        "pk": "pk_%(table_name)s",
        "fk": "fk_%(table_name)s_%(column_0_name)s",
        "uq": "uq_%(table_name)s_%(column_0_name)s",
        "ix": "ix_%(table_name)s_%(column_0_name)s",
    }
)

ABOUT = Table(
    "about",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("shop_id", Text, nullable=False),
    Column("begun", When, nullable=False),
    Column("program", Text, nullable=False),
)
SETTING = Table("setting", METADATA, Column("key", Text, primary_key=True), Column("value", Text, nullable=False))

PERSON = Table(
    "person",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("name", Text, nullable=False, unique=True),
    Column("role", Text, nullable=False),
    Column("pin_hash", Text),
    Column("active", Flag, nullable=False),
)
SESSION = Table(
    "session",
    METADATA,
    Column("token_hash", Text, primary_key=True),
    Column("person_id", ForeignKey("person.id"), nullable=False),
    Column("begun", When, nullable=False),
    Column("seen", When, nullable=False),
    Column("ends", When, nullable=False),
)
ATTEMPT = Table(
    "attempt",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("name", Text, nullable=False, index=True),
    Column("address", Text, nullable=False),
    Column("good", Flag, nullable=False),
    Column("at", When, nullable=False),
)

VEHICLE = Table(
    "vehicle",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("registration", Text, nullable=False, index=True),
    Column("vin", Text, index=True),
    Column("model", Text),
    Column("engine", Text),
    Column("fuel", Text),
    Column("hybrid", Flag),
    Column("stop_start", Flag),
    Column("first_registered", Day),
    Column("customer", Text),
    Column("note", Text),
    Column("find", Text, nullable=False),
)
ODOMETER = Table(
    "odometer",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("vehicle_id", ForeignKey("vehicle.id"), nullable=False, index=True),
    Column("km", Integer, nullable=False),
    Column("read_on", Day, nullable=False),
    Column("by", Text, nullable=False),
)

DRIVE = Table(
    "drive",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("slug", Text, nullable=False, unique=True),
    Column("name", Text, nullable=False),
    Column("active", Flag, nullable=False),
)
DRIVE_VERSION = Table(
    "drive_version",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("drive_id", ForeignKey("drive.id"), nullable=False),
    Column("number", Integer, nullable=False),
    Column("text", Text, nullable=False),
    Column("sha256", Text, nullable=False),
    Column("by", Text, nullable=False),
    Column("at", When, nullable=False),
    Column("seal", Text, nullable=False, server_default=""),
    UniqueConstraint("drive_id", "number"),
)

JOB = Table(
    "job",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("number", Integer, nullable=False, unique=True),
    Column("vehicle_id", ForeignKey("vehicle.id"), nullable=False, index=True),
    Column("drive_version_id", ForeignKey("drive_version.id"), nullable=False, index=True),
    Column("opened_at", When, nullable=False),
    Column("opened_by", Text, nullable=False),
    Column("closed_at", When, index=True),
    Column("note", Text),
    Column("entries", Integer, nullable=False),
    Column("last_hash", Text, nullable=False),
    Column("seal", Text, nullable=False, server_default=""),
)
SENT = Table(
    "sent",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("key", Text, nullable=False, unique=True),
    Column("digest", Text, nullable=False),
    Column("job_id", ForeignKey("job.id"), nullable=False),
    Column("first", Integer, nullable=False),
    Column("count", Integer, nullable=False),
    Column("received", When, nullable=False),
    Column("seal", Text, nullable=False, server_default=""),
)
ENTRY = Table(
    "entry",
    METADATA,
    Column("job_id", ForeignKey("job.id"), primary_key=True),
    Column("number", Integer, primary_key=True, autoincrement=False),
    Column("content", Text, nullable=False),
    Column("previous_hash", Text, nullable=False),
    Column("hash", Text, nullable=False),
    Column("by", Text, nullable=False),
    Column("received", When, nullable=False),
    Column("clock_back", Flag, nullable=False),
    Column("sent_id", ForeignKey("sent.id"), nullable=False),
    Column("seal", Text, nullable=False),
)

EVIDENCE = Table(
    "evidence",
    METADATA,
    Column("sha256", Text, primary_key=True),
    Column("size", BigInteger, nullable=False),
    Column("media_type", Text, nullable=False),
    Column("first_name", Text, nullable=False),
    Column("by", Text, nullable=False),
    Column("at", When, nullable=False),
    Column("original_sha256", Text),
    Column("seal", Text, nullable=False, server_default=""),
)
JOB_EVIDENCE = Table(
    "job_evidence",
    METADATA,
    Column("job_id", ForeignKey("job.id"), primary_key=True),
    Column("name", Text, primary_key=True),
    Column("sha256", ForeignKey("evidence.sha256"), nullable=False, index=True),
    Column("seal", Text, nullable=False, server_default=""),
)

TOOL = Table(
    "tool",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("name", Text, nullable=False, unique=True),
    Column("type", Text, nullable=False),
    Column("class_", Text),
    Column("low_nm", Double),
    Column("high_nm", Double),
    Column("number", Text),
    Column("active", Flag, nullable=False),
)
CALIBRATION = Table(
    "calibration",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("tool_id", ForeignKey("tool.id"), nullable=False, index=True),
    Column("on", Day, nullable=False),
    Column("valid_months", Integer),
    Column("certificate", ForeignKey("evidence.sha256")),
    Column("source", Text),
)
SHEET = Table(
    "sheet",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("job_id", ForeignKey("job.id"), nullable=False, index=True),
    Column("entries", Integer, nullable=False),
    Column("last_hash", Text, nullable=False),
    Column("drive_sha256", Text, nullable=False),
    Column("verdict", Text, nullable=False),
    Column("kind", Text, nullable=False),
    Column("sha256", ForeignKey("evidence.sha256"), nullable=False),
    Column("by", Text, nullable=False),
    Column("at", When, nullable=False),
    Column("seal", Text, nullable=False, server_default=""),
)

ONLY_ADDED = ("entry", "sent", "drive_version", "sheet", "evidence", "job_evidence")
"""Tables whose rows are never changed and never taken away; triggers of the database see to it."""
