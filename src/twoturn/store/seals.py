"""Seals: a SHA-256 in a row over what stands in it, so that a value changed behind the program's back is noticed."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from datetime import datetime
from typing import Any

from sqlalchemy import Table

from twoturn.job.canonical import canonical_json
from twoturn.store.tables import moment_text

SEALED: dict[str, tuple[str, ...]] = {
    "drive_version": ("drive_id", "number", "sha256", "by", "at"),
    "evidence": ("sha256", "size", "media_type", "first_name", "by", "at", "original_sha256"),
    "job_evidence": ("job_id", "name", "sha256"),
    "sent": ("key", "digest", "job_id", "first", "count", "received"),
    "sheet": ("job_id", "entries", "last_hash", "drive_sha256", "verdict", "kind", "sha256", "by", "at"),
}
"""The columns that a row's seal stands for, by table; entries and jobs have seals of their own."""


def sealed(table: Table, values: Mapping[str, Any]) -> dict[str, Any]:
    """The values of a new row with its seal."""
    return dict(values) | {"seal": row_seal(table.name, values)}


def row_seal(table: str, values: Mapping[str, Any]) -> str:
    """The seal of a row of one of the tables of ``SEALED``."""
    return seal_of(values[column] for column in SEALED[table])


def job_seal(values: Mapping[str, Any], drive_sha256: str) -> str:
    """The seal of a job: what was settled when it was begun, and the text of its drive."""
    settled = ("id", "number", "vehicle_id", "opened_at", "opened_by")
    return seal_of([*(values[column] for column in settled), drive_sha256])


def entry_seal(values: Mapping[str, Any]) -> str:
    """The seal of what stands beside an entry's content: who sent it, when it came, in which sending."""
    beside = ("job_id", "number", "hash", "by", "received", "clock_back", "sent_id")
    return seal_of(values[column] for column in beside)


def seal_of(values: Any) -> str:
    """SHA-256 over values as canonical JSON; moments as they are kept."""
    plain = [moment_text(value) if isinstance(value, datetime) else value for value in values]
    return hashlib.sha256(canonical_json(plain).encode()).hexdigest()
