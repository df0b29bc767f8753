"""Rows to test with (all invented)."""

from __future__ import annotations

from io import BytesIO
from typing import Any

from sqlalchemy import Connection
from tests.store.databases import NOW, Record, later

from twoturn.store.files import Kept, keep_file
from twoturn.store.records import drives, entries, evidence, jobs, people, settings, sheets, tools, vehicles
from twoturn.store.records.jobs import Job

WHO = "Ada Example (invented)"


def new_job(connection: Connection, registration: str = "XX-EX 1") -> Job:
    """A job without entries."""
    found = vehicles.by_registration(connection, registration)
    vehicle = (
        found[0] if found else vehicles.add(connection, vehicles.Vehicle(0, registration, model="Alder (invented)"))
    )
    version = drives.keep(connection, "alder", "Alder (invented)", 'name = "Alder"\n', WHO, NOW)
    return jobs.add(connection, vehicle.id, version.id, NOW, WHO)


def rows(count: int, start: int = 1) -> list[dict[str, Any]]:
    """Raw entries, each unlike the others."""
    return [
        {"kind": "note", "text": f"entry {number} – Ä ß °", "value": number / 7, "entered": NOW.isoformat()}
        for number in range(start, start + count)
    ]


def send(
    connection: Connection, job_id: int, contents: list[dict[str, Any]], key: str, seconds: float = 0
) -> entries.Appended:
    """Append, some seconds after the tests' moment."""
    return entries.append(connection, job_id, contents, key, WHO, later(seconds))


def keep_evidence(record: Record, content: bytes, name: str = "pluck.wav") -> Kept:
    """A file with its row."""
    kept = keep_file(record.place, BytesIO(content), 10_000_000)
    with record.write() as connection:
        evidence.add(connection, evidence.Evidence(kept.sha256, kept.size, "audio/wav", name, WHO, NOW))
    return kept


def full_record(record: Record, job_count: int = 3, each: int = 4) -> list[Job]:
    """A record with something in every table."""
    kept = [keep_evidence(record, f"sound {number} ".encode() * 500, f"pluck {number}.wav") for number in range(3)]
    with record.write() as connection:
        person = people.add_person(connection, WHO, "lead", "a hash")
        people.add_session(connection, people.Session("ab" * 32, person.id, NOW, NOW, later(3600)))
        people.add_attempt(connection, WHO, "127.0.0.1", True, NOW)
        settings.put(connection, {"shop": {"name": "Example Garage (invented)"}})
        tool = tools.add(connection, tools.Tool(0, "wrench 3", "wrench", low_nm=0.1, high_nm=99.9))
        tools.add_calibration(connection, tools.Calibration(tool.id, NOW.date(), 12, kept[0].sha256, "a laboratory"))
        made = []
        for number in range(job_count):
            job = new_job(connection, f"XX-EX {number}")
            vehicles.add_odometer(connection, vehicles.Odometer(job.vehicle_id, 120_000 + number, NOW.date(), WHO))
            send(connection, job.id, rows(each), f"key {number}", number)
            evidence.name_for_job(connection, job.id, "pluck.wav", kept[1].sha256)
            sheets.add(connection, sheets.NewSheet(job.id, each, "proven", "proof sheet", kept[2].sha256, WHO, NOW))
            made.append(jobs.job(connection, job.id))
    return made
