"""A new job in few taps: the vehicle found or made by its registration, the drive it most likely has, and begun."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import timedelta
from typing import Any

from twoturn.acts.shop.answers import METRIC, Answer, answer
from twoturn.acts.shop.drives import LibraryLine, library
from twoturn.acts.shop.forms import FormReader, one_of, yes_no
from twoturn.acts.shop.job_view import job_view
from twoturn.acts.shop.jobs import start_job
from twoturn.acts.shop.people import Actor, allow
from twoturn.acts.shop.shop import Shop
from twoturn.acts.shop.vehicles import FUELS, by_registration, read_km, save_vehicle
from twoturn.errors import TwoTurnError
from twoturn.job.asked.model import Units
from twoturn.store.records import jobs as kept
from twoturn.store.records import vehicles
from twoturn.vehicle.registration import read_registration

STEP = "identify-vehicle"
VEHICLE, ODOMETER = f"{STEP}/vehicle", f"{STEP}/odometer"
"""Ids of the questions that beginning a job answers."""
FIRST_ENTRIES = 2
LONGEST_NUMBER = 9
SECOND_TAP = timedelta(minutes=2)
"""A job on the same vehicle by the same drive begun so shortly before is the one that was meant."""


@dataclass(frozen=True)
class OpenJob:
    """A job on the vehicle that is still open."""

    id: int
    number: int


@dataclass(frozen=True)
class NewJob:
    """What a new job needs to know.

    Attributes
    ----------
    registration
        As it is shown.
    vehicle
        The vehicle of that registration; None where it is new here.
    others
        Further vehicles of that registration.
    open_jobs
        Its jobs that are still open.
    usual
        Version of the drive that its last job was by, in its newest version; None where there was none.
    drives
        The drives to choose from, the usual one first, then those most jobs were by.
    """

    registration: str
    vehicle: vehicles.Vehicle | None
    others: tuple[vehicles.Vehicle, ...]
    open_jobs: tuple[OpenJob, ...]
    usual: int | None
    drives: tuple[LibraryLine, ...]


def look_up(shop: Shop, registration: str, vehicle_id: int | None = None) -> NewJob:
    """Find the vehicle of a new job, and the drives to choose from.

    Raises
    ------
    RegistrationError
        What was typed cannot be a registration.
    NotFound
        There is no such vehicle.
    """
    with shop.reading() as connection:
        named = None if vehicle_id is None else vehicles.vehicle(connection, vehicle_id)
    found = (named,) if named else by_registration(shop, read_registration(registration).shown)
    vehicle = found[0] if found else None
    shown = vehicle.registration if vehicle else read_registration(registration).shown
    with shop.reading() as connection:
        done = () if vehicle is None else kept.jobs_of_vehicle(connection, vehicle.id)
    lines = library(shop)
    usual = _usual(shop, done, lines)
    drives = sorted(lines, key=lambda line: (line.version_id != usual, -line.jobs, line.name))
    still_open = tuple(OpenJob(job.id, job.number) for job in done if job.closed_at is None)
    return NewJob(shown, vehicle, tuple(found[1:]), still_open, usual, tuple(drives))


def begin(shop: Shop, actor: Actor, texts: Mapping[str, str], units: Units = METRIC) -> kept.Job:
    """Begin a job as the form says; a vehicle that is new here is kept with it.

    Whoever begins it by registration and drive has said which vehicle it is, so that this is the first entry; what the
    odometer shows is the second where it was typed.

    Parameters
    ----------
    shop, actor
        The record, and who begins it.
    texts
        ``registration`` or ``vehicle``, ``drive`` (number of the version), ``odometer``, ``fuel`` and ``hybrid`` where
        they were not known, and what else is known of a new vehicle.
    units
        Units of the person.

    Raises
    ------
    FormRefused
        Fields that cannot be, or no drive chosen.
    NotAllowed, NotFound
        A viewer begins nothing; there is no such vehicle or drive.
    """
    allow(actor, "enter")
    drive, told = _checked(texts, units)
    vehicle_id = int(texts.get("vehicle") or 0)
    if vehicle_id:
        _keep_told(shop, vehicle_id, told)
    else:
        found = by_registration(shop, texts.get("registration", ""))
        again = _begun_just_now(shop, found[0].id, drive) if found else None
        vehicle_id = again.vehicle_id if again else save_vehicle(shop, actor, texts, units=units).vehicle.id
    job = _begun_just_now(shop, vehicle_id, drive) or start_job(shop, actor, vehicle_id, drive)
    _enter_first(shop, actor, job.id, texts.get("odometer", ""), units)
    return job


def _checked(texts: Mapping[str, str], units: Units) -> tuple[int, dict[str, Any]]:
    """Version of the drive, and what was said of the vehicle, once what was typed can be taken."""
    form = FormReader(texts)
    form.needed("drive", "Choose the belt drive.")
    drive = form.read("drive", _number)
    form.read("vehicle", _number)
    form.read("odometer", lambda text: read_km(text, units))
    told = {"fuel": form.read("fuel", one_of(*FUELS)), "hybrid": form.read("hybrid", yes_no)}
    form.settle()
    return drive or 0, {key: value for key, value in told.items() if value is not None}


def _keep_told(shop: Shop, vehicle_id: int, told: Mapping[str, Any]) -> None:
    """Keep of a known vehicle what was said of it and was not known yet; what is known is changed on its own page."""
    with shop.writing() as connection:
        vehicle = vehicles.vehicle(connection, vehicle_id)
        new = {key: value for key, value in told.items() if getattr(vehicle, key) is None}
        if new:
            vehicles.change(connection, replace(vehicle, **new))


def _number(text: str) -> int:
    if not text.isdecimal() or len(text) > LONGEST_NUMBER:
        raise TwoTurnError(f'"{text[:20]}" is no number of the record', next_step="begin again with the registration")
    return int(text)


def _enter_first(shop: Shop, actor: Actor, job_id: int, odometer: str, units: Units) -> None:
    quick = next((one for one in job_view(shop, job_id).asked.get(STEP, ()) if one.id == VEHICLE and one.quick), None)
    if quick is not None:
        answer(shop, actor, job_id, Answer(VEHICLE, quick=True), f"begun {job_id} vehicle")
    if odometer.strip():
        typed = Answer(ODOMETER, {"km": odometer}, units=units)
        answer(shop, actor, job_id, typed, f"begun {job_id} odometer")


def _begun_just_now(shop: Shop, vehicle_id: int, version_id: int) -> kept.Job | None:
    with shop.reading() as connection:
        done = kept.jobs_of_vehicle(connection, vehicle_id)
    for job in done:
        fresh = job.closed_at is None and shop.now() - job.opened_at < SECOND_TAP
        if fresh and job.drive_version_id == version_id and job.entries <= FIRST_ENTRIES:
            return job
    return None


def _usual(shop: Shop, done: tuple[kept.Job, ...], lines: tuple[LibraryLine, ...]) -> int | None:
    from twoturn.acts.shop.drives import drive_of

    if not done:
        return None
    last = max(done, key=lambda job: job.opened_at)
    drive_id = drive_of(shop, last.drive_version_id).version.drive_id
    return next((line.version_id for line in lines if line.drive_id == drive_id), None)
