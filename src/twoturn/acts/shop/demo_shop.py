"""The invented shop that the bench is shown with: its people, vehicles, torque tools, drives and jobs."""

from __future__ import annotations

import tempfile
from collections.abc import Mapping
from dataclasses import replace
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

from twoturn.acts.fill_readings import fill_readings
from twoturn.acts.job_folder import Job, load_job
from twoturn.acts.shop.drives import ensure_shipped
from twoturn.acts.shop.entries import add_entries
from twoturn.acts.shop.evidence import EvidenceKind, keep_evidence
from twoturn.acts.shop.hand_over import hand_over
from twoturn.acts.shop.jobs import start_job
from twoturn.acts.shop.people import Actor, add_person, people, work_alone
from twoturn.acts.shop.shop import Shop, open_shop
from twoturn.demo.jobs_shipped import JOBS, ShippedJob, write_job
from twoturn.job.entries.base import EntryBase
from twoturn.job.entries.recordings import Capture, Pluck
from twoturn.job.entries.vehicle import Odometer as OdometerEntry
from twoturn.job.entries.vehicle import Vehicle as VehicleEntry
from twoturn.job.rows import row_filled
from twoturn.store.records import drives as drive_rows
from twoturn.store.records import tools, vehicles

LEAD = "Ida Brook (invented)"
NEXT_ONE = vehicles.Vehicle(
    0, "QX 77 DEMO", model="Alder 8, invented", engine="Alder 8", fuel="petrol", hybrid=False, stop_start=False
)
"""A vehicle whose job is only begun, so that the second job of a type is seen to know the first."""
DRAWER = (
    tools.Tool(0, "A", "torque wrench", "II A", 5.0, 60.0, "invented 0417"),
    tools.Tool(0, "B", "torque wrench", "II A", 40.0, 200.0, "invented 0418"),
)
CALIBRATED = date(2025, 10, 14)
SINCE = timedelta(days=70)
"""How long ago the drawer's tools were calibrated again."""


def make_demo_shop(folder: Path) -> str:
    """Begin the record of the invented shop in a folder, or go on with it.

    Returns
    -------
    str
        A sentence on what is there now.

    Raises
    ------
    TwoTurnError
        The folder cannot be written, or its record is newer than the program.
    """
    with open_shop(folder) as shop:
        new = fill_demo_shop(shop)
    went = "is filled" if new else "goes on from last time (delete its folder to begin anew)"
    return f"The invented shop {went}: people, vehicles, torque tools and jobs that nobody has."


def fill_demo_shop(shop: Shop) -> bool:
    """Fill an empty record with the invented shop; one in which somebody works already is left alone.

    Returns
    -------
    bool
        Whether it was filled now.

    Raises
    ------
    TwoTurnError
        The record cannot be written.
    """
    if people(shop):
        return False
    lead = work_alone(shop, LEAD)
    ensure_shipped(shop)
    _fill_drawer(shop)
    with tempfile.TemporaryDirectory(prefix="twoturn-") as folder:
        for job in JOBS:
            _put(shop, lead, job, Path(folder) / job.id)
    with shop.writing() as connection:
        waiting = vehicles.add(connection, NEXT_ONE)
        vehicles.add_odometer(connection, vehicles.Odometer(waiting.id, 96150, shop.now().date(), LEAD))
    start_job(shop, lead, waiting.id, _version(shop, "alder-one-cam"))
    return True


def _fill_drawer(shop: Shop) -> None:
    with shop.writing() as connection:
        for tool in DRAWER:
            known = tools.add(connection, tool)
            for day in (CALIBRATED, shop.now().date() - SINCE):
                tools.add_calibration(connection, tools.Calibration(known.id, day, 12, None, "invented laboratory"))


def _put(shop: Shop, lead: Actor, shipped: ShippedJob, folder: Path) -> None:
    """Put a shipped job into the record as its people entered it, at the times they say."""
    write_job(shipped, folder)
    job = load_job(folder)
    filled = fill_readings(job)
    entries = filled.entries
    first = _moment(entries[0])
    then = _at(shop, first)
    vehicle = _vehicle(then, entries)
    begun = start_job(then, _actor(then, lead, entries[0]), vehicle, _version(shop, job.file.drive))
    for name in shipped.recordings:
        with (folder / name).open("rb") as stream:
            keep_evidence(then, lead, begun.id, stream, name, _kind(job, name))
    for number, (raw, entry) in enumerate(zip(job.file.raw, entries, strict=True), 1):
        when = _at(shop, _moment(entry) + timedelta(minutes=2))
        add_entries(when, _actor(when, lead, entry), begun.id, [_row(raw, entry)], f"demo {shipped.id} {number}")
    if shipped.verdict == "proven":
        last = _moment(entries[-1]) + timedelta(minutes=5)
        hand_over(_at(shop, last), lead, begun.id, {}, f"demo {shipped.id}")


def _at(shop: Shop, moment: datetime) -> Shop:
    """The same record, with the clock at a moment."""
    return replace(shop, clock=lambda: moment)


def _row(raw: Mapping[str, Any], entry: EntryBase) -> dict[str, Any]:
    moment = None if entry.entered is None else entry.entered.isoformat()
    return {**row_filled(raw, entry), "by": entry.by, "entered": moment}


def _moment(entry: EntryBase) -> datetime:
    """When an entry was typed, on the wall's clock of this computer."""
    assert entry.entered is not None  # noqa: S101 - a job file fills it in
    return entry.entered.astimezone()


def _actor(shop: Shop, lead: Actor, entry: EntryBase) -> Actor:
    """Who stands for an entry; somebody new is a technician of the invented shop."""
    name = entry.by or LEAD
    known = next((one for one in people(shop) if one.name == name), None)
    return known or add_person(shop, lead, name, "technician")


def _vehicle(shop: Shop, entries: tuple[EntryBase, ...]) -> int:
    """The vehicle that a job's entries tell of, new in the record, with its odometer."""
    told = next(entry for entry in entries if isinstance(entry, VehicleEntry))
    new = vehicles.Vehicle(
        0,
        told.registration or "",
        vin=told.vin,
        model=told.model,
        engine=told.engine,
        fuel=told.fuel,
        hybrid=told.hybrid,
        stop_start=told.stop_start,
        first_registered=told.first_registered,
        customer=told.customer,
    )
    with shop.writing() as connection:
        vehicle = vehicles.add(connection, new)
        for entry in entries:
            if isinstance(entry, OdometerEntry):
                read = vehicles.Odometer(vehicle.id, round(entry.km), shop.now().date(), entry.by or LEAD)
                vehicles.add_odometer(connection, read)
    return vehicle.id


def _version(shop: Shop, slug: str) -> int:
    with shop.reading() as connection:
        drive = drive_rows.by_slug(connection, slug)
        assert drive is not None  # noqa: S101 - a shipped drive, put into the library above
        return drive_rows.latest_ids(connection)[drive.id]


def _kind(job: Job, name: str) -> EvidenceKind:
    entry = next(one for one in job.file.entries if isinstance(one, Pluck | Capture) and one.file == name)
    return "sound" if isinstance(entry, Pluck) else "capture"
