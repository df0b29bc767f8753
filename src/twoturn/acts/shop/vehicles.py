"""Vehicles: kept, found, and what their odometers showed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from itertools import pairwise
from typing import TYPE_CHECKING

from twoturn.acts.shop.due import day_of_distance, due_of_job
from twoturn.acts.shop.forms import FormReader, FormRefused, one_of, past_day, yes_no
from twoturn.acts.shop.people import Actor, allow
from twoturn.acts.shop.shop import Shop
from twoturn.acts.understood import Wanted, number_of
from twoturn.job.asked.model import Units
from twoturn.store.records import drives, jobs
from twoturn.store.records import vehicles as kept
from twoturn.vehicle.registration import read_registration, registration_key
from twoturn.vehicle.vin import Vin, VinError, read_vin

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from twoturn.plan.due import Due

FUELS = ("petrol", "diesel", "gas")
MOST_KM = 3_000_000.0
YEAR_DAYS = 365.25
METRIC = Units()


@dataclass(frozen=True)
class SavedVehicle:
    """A vehicle that was kept, and sentences on what looks odd about it."""

    vehicle: kept.Vehicle
    hints: tuple[str, ...] = ()


@dataclass(frozen=True)
class VehicleJob:
    """A job on a vehicle."""

    id: int
    number: int
    drive_name: str
    opened_at: datetime
    opened_by: str
    closed_at: datetime | None


@dataclass(frozen=True)
class VehiclePage:
    """What is known of a vehicle.

    Attributes
    ----------
    vehicle
        The vehicle.
    vin
        Its vehicle identification number as understood, None without one.
    odometers
        What its odometer showed, newest first.
    km_per_year
        Distance it runs in a year by those readings [km]; None where they do not say.
    jobs
        Jobs on it, newest first.
    due
        When its belt is due again by the last job that fitted one, None where no drive says so.
    due_by_distance
        The day on which its odometer will show that distance, at the pace of its readings; None where they do not say.
    hints
        Sentences on what looks odd.
    """

    vehicle: kept.Vehicle
    vin: Vin | None
    odometers: tuple[kept.Odometer, ...]
    km_per_year: float | None
    jobs: tuple[VehicleJob, ...]
    due: Due | None
    due_by_distance: date | None
    hints: tuple[str, ...]


def save_vehicle(
    shop: Shop, actor: Actor, texts: Mapping[str, str], vehicle_id: int | None = None, units: Units = METRIC
) -> SavedVehicle:
    """Keep a vehicle as a form says.

    Parameters
    ----------
    shop, actor
        The record, and who writes.
    texts
        What was typed: ``registration``, ``vin``, ``model``, ``engine``, ``fuel``, ``hybrid``, ``stop_start``,
        ``first_registered``, ``customer``, ``note``, and for a new one ``odometer``.
    vehicle_id
        The vehicle to change; None for a new one.
    units
        Units of the person.

    Raises
    ------
    NotAllowed, NotFound
        A viewer writes nothing; there is no such vehicle.
    FormRefused
        Fields that cannot be.
    """
    allow(actor, "enter")
    today = shop.now().astimezone().date()
    form = FormReader(texts)
    vehicle = _read(form, today, vehicle_id or 0)
    km = form.read("odometer", lambda text: read_km(text, units))
    form.settle()
    with shop.writing() as connection:
        if vehicle_id is None:
            vehicle = kept.add(connection, vehicle)
        else:
            kept.change(connection, vehicle)
        if km is not None:
            kept.add_odometer(connection, kept.Odometer(vehicle.id, km, today, actor.name))
        return SavedVehicle(vehicle, _hints(connection, vehicle))


def _read(form: FormReader, today: date, vehicle_id: int) -> kept.Vehicle:
    form.needed("registration", "A vehicle is found by its registration; type it as the plate shows it.")
    registration = form.read("registration", read_registration)
    vin = form.read("vin", read_vin)
    return kept.Vehicle(
        id=vehicle_id,
        registration="" if registration is None else registration.shown,
        vin=None if vin is None else vin.number,
        model=form.text("model", 80),
        engine=form.text("engine", 40),
        fuel=form.read("fuel", one_of(*FUELS)),
        hybrid=form.read("hybrid", yes_no),
        stop_start=form.read("stop_start", yes_no),
        first_registered=form.read("first_registered", past_day(today)),
        customer=form.text("customer", 120),
        note=form.lines("note"),
    )


def read_km(text: str, units: Units) -> int:
    """An odometer's whole distance [km], typed in the person's unit or with one.

    Raises
    ------
    QuantityError
        No number, or no distance an odometer shows.
    """
    return int(number_of(text, odometer_wanted(units), "km"))


def odometer_wanted(units: Units) -> Wanted:
    """What number an odometer's field wants."""
    return Wanted(units.distance, 0, MOST_KM if units.distance == "km" else MOST_KM / 1.609344, whole=True)


def find_vehicles(shop: Shop, words: str, limit: int = 50) -> tuple[kept.Vehicle, ...]:
    """Vehicles that hold every word, the newest first; a registration is found however it is typed."""
    key = registration_key(words)
    with shop.reading() as connection:
        found = {one.id: one for one in kept.search(connection, words, limit)}
        if words.strip() and key:
            found |= {one.id: one for one in kept.search(connection, key, limit)}
    return tuple(sorted(found.values(), key=lambda one: -one.id))[:limit]


def by_registration(shop: Shop, text: str) -> tuple[kept.Vehicle, ...]:
    """Vehicles of a registration, however it is typed, the newest first."""
    with shop.reading() as connection:
        return kept.by_registration(connection, text)


def vehicle_page(shop: Shop, vehicle_id: int) -> VehiclePage:
    """What is known of a vehicle.

    Raises
    ------
    NotFound
        There is no such vehicle.
    """
    with shop.reading() as connection:
        vehicle = kept.vehicle(connection, vehicle_id)
        read = kept.odometers(connection, vehicle_id)
        found = jobs.jobs_of_vehicle(connection, vehicle_id)
        lines = tuple(_job(connection, job) for job in found)
        hints = _hints(connection, vehicle)
    due = next((due for job in found if (due := due_of_job(shop, job)) is not None), None)
    by_distance = None if due is None or due.km is None else day_of_distance(read, due.km)
    pace = km_per_year(read)
    return VehiclePage(vehicle, _vin(vehicle), tuple(reversed(read)), pace, lines, due, by_distance, hints)


def add_odometer(shop: Shop, actor: Actor, vehicle_id: int, texts: Mapping[str, str], units: Units) -> kept.Odometer:
    """One more reading of an odometer, from the fields ``odometer`` and ``read_on`` (today when left out).

    Raises
    ------
    NotAllowed, NotFound, FormRefused
        A viewer writes nothing; no such vehicle; fields that cannot be.
    """
    allow(actor, "enter")
    today = shop.now().astimezone().date()
    form = FormReader(texts)
    form.needed("odometer", "Type what the odometer shows.")
    km = form.read("odometer", lambda text: read_km(text, units))
    day = form.read("read_on", past_day(today)) or today
    form.settle()
    if km is None:
        raise FormRefused({"odometer": "Type what the odometer shows."})
    with shop.writing() as connection:
        kept.vehicle(connection, vehicle_id)
        new = kept.Odometer(vehicle_id, km, day, actor.name)
        kept.add_odometer(connection, new)
    return new


def km_per_year(read: tuple[kept.Odometer, ...]) -> float | None:
    """Distance run in a year from the first reading to the last [km]; None under 90 days, or where it ran backwards."""
    if len(read) < 2:
        return None
    days = (read[-1].read_on - read[0].read_on).days
    km = read[-1].km - read[0].km
    return km / days * YEAR_DAYS if days >= 90 and km >= 0 else None


def _job(connection: Connection, job: jobs.Job) -> VehicleJob:
    version = drives.drive_version(connection, job.drive_version_id)
    name = drives.drive(connection, version.drive_id).name
    return VehicleJob(job.id, job.number, name, job.opened_at, job.opened_by, job.closed_at)


def _vin(vehicle: kept.Vehicle) -> Vin | None:
    """The number as understood; one that came with an older record may be none."""
    try:
        return None if vehicle.vin is None else read_vin(vehicle.vin)
    except VinError:
        return None


def _hints(connection: Connection, vehicle: kept.Vehicle) -> tuple[str, ...]:
    """What looks odd: the check digit, another vehicle of the same plate or number, an odometer that ran backwards."""
    hints = []
    if vehicle.vin is not None:
        vin = _vin(vehicle)
        hints.append(f"{vehicle.vin} is no vehicle identification number." if vin is None else vin.hint)
        if any(other.id != vehicle.id for other in kept.by_vin(connection, vehicle.vin)):
            hints.append("Another vehicle here has the same vehicle identification number.")
    if any(other.id != vehicle.id for other in kept.by_registration(connection, vehicle.registration)):
        hints.append("Another vehicle here has the same registration: has the plate moved, or is it there twice?")
    read = kept.odometers(connection, vehicle.id)
    for before, after in pairwise(read):
        if after.km < before.km:
            hints.append(
                f"The odometer showed {before.km} km on {before.read_on.isoformat()} and {after.km} km on "
                f"{after.read_on.isoformat()}: misread, or another instrument?"
            )
    return tuple(hint for hint in hints if hint)
