"""Vehicles and what their odometers showed."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from typing import Any

from sqlalchemy import Connection, Select, insert, update

from twoturn.store.records.rows import all_of, chosen, columns_of, one_of, values_of
from twoturn.store.tables import ODOMETER, VEHICLE
from twoturn.vehicle.registration import registration_key


@dataclass(frozen=True)
class Vehicle:
    """A vehicle as the workshop knows it.

    Attributes
    ----------
    id
        Number in this record; whatever stands here is ignored by :func:`add`.
    registration
        As the plate shows it, in capitals.
    vin, model, engine, fuel, customer, note
        Texts, None where unknown.
    hybrid, stop_start
        None where unknown.
    first_registered
        The day, None where unknown.
    """

    id: int
    registration: str
    vin: str | None = None
    model: str | None = None
    engine: str | None = None
    fuel: str | None = None
    hybrid: bool | None = None
    stop_start: bool | None = None
    first_registered: date | None = None
    customer: str | None = None
    note: str | None = None


@dataclass(frozen=True)
class Odometer:
    """What an odometer showed.

    Attributes
    ----------
    vehicle_id
        Of which vehicle.
    km
        Distance [km].
    read_on
        The day.
    by
        Who wrote it down.
    """

    vehicle_id: int
    km: int
    read_on: date
    by: str


def add(connection: Connection, new: Vehicle) -> Vehicle:
    """A new vehicle; its number is in the answer."""
    values = values_of(new, VEHICLE) | {"find": _find(new)}
    number = connection.execute(insert(VEHICLE).values(values)).inserted_primary_key
    return vehicle(connection, number[0] if number else 0)


def change(connection: Connection, changed: Vehicle) -> None:
    """Keep ``changed`` in place of the vehicle of its number."""
    vehicle(connection, changed.id)
    values = values_of(changed, VEHICLE) | {"find": _find(changed)}
    connection.execute(update(VEHICLE).where(VEHICLE.c.id == changed.id).values(values))


def vehicle(connection: Connection, vehicle_id: int) -> Vehicle:
    """The vehicle of that number.

    Raises
    ------
    NotFound
        There is none.
    """
    return one_of(connection, Vehicle, chosen(Vehicle, VEHICLE, "id"), f"vehicle number {vehicle_id}", id=vehicle_id)


def by_registration(connection: Connection, registration: str) -> tuple[Vehicle, ...]:
    """Vehicles of that registration, however it is typed, the newest first (one may move to another vehicle)."""
    key = registration_key(registration)
    query = columns_of(Vehicle, VEHICLE).where(VEHICLE.c.find.contains(key.casefold(), autoescape=True))
    found = all_of(connection, Vehicle, query.order_by(VEHICLE.c.id.desc()))
    return tuple(one for one in found if registration_key(one.registration) == key)


def by_vin(connection: Connection, vin: str) -> tuple[Vehicle, ...]:
    """Vehicles of that vehicle identification number, the newest first."""
    query = columns_of(Vehicle, VEHICLE).where(VEHICLE.c.vin == vin).order_by(VEHICLE.c.id.desc())
    return all_of(connection, Vehicle, query)


def search(connection: Connection, words: str, limit: int = 50) -> tuple[Vehicle, ...]:
    """Vehicles that hold every word of ``words`` in registration, VIN, model, engine, customer or note; newest first.

    Small and capital letters are alike, and blanks and dashes of a registration do not matter.
    """
    query = columns_of(Vehicle, VEHICLE)
    for word in words.split():
        query = query.where(VEHICLE.c.find.contains(word.casefold(), autoescape=True))
    return all_of(connection, Vehicle, query.order_by(VEHICLE.c.id.desc()).limit(limit))


def _find(vehicle: Vehicle) -> str:
    """The text that is searched; SQLite alone would not see that Ä and ä are alike."""
    plain = registration_key(vehicle.registration)
    parts = (vehicle.registration, plain, vehicle.vin, vehicle.model, vehicle.engine, vehicle.customer, vehicle.note)
    return "\n".join(part for part in parts if part).casefold()


def add_odometer(connection: Connection, read: Odometer) -> None:
    """One more reading."""
    connection.execute(insert(ODOMETER).values(values_of(read, ODOMETER)))


def every_odometer(connection: Connection) -> dict[int, list[Odometer]]:
    """Readings of all vehicles by number of the vehicle, oldest first."""
    found: dict[int, list[Odometer]] = {}
    for read in all_of(
        connection, Odometer, columns_of(Odometer, ODOMETER).order_by(ODOMETER.c.read_on, ODOMETER.c.id)
    ):
        found.setdefault(read.vehicle_id, []).append(read)
    return found


def some(connection: Connection, vehicle_ids: Collection[int]) -> dict[int, Vehicle]:
    """Vehicles by their numbers; a number that is not there is left out."""
    query = columns_of(Vehicle, VEHICLE).where(VEHICLE.c.id.in_(sorted(vehicle_ids)))
    return {found.id: found for found in all_of(connection, Vehicle, query)}


def odometers_of(connection: Connection, vehicle_ids: Collection[int]) -> dict[int, tuple[Odometer, ...]]:
    """Readings of some vehicles by number of the vehicle, oldest first."""
    query = columns_of(Odometer, ODOMETER).where(ODOMETER.c.vehicle_id.in_(sorted(vehicle_ids)))
    found: dict[int, tuple[Odometer, ...]] = {}
    for read in all_of(connection, Odometer, query.order_by(ODOMETER.c.read_on, ODOMETER.c.id)):
        found[read.vehicle_id] = (*found.get(read.vehicle_id, ()), read)
    return found


def odometers(connection: Connection, vehicle_id: int) -> tuple[Odometer, ...]:
    """Readings of a vehicle, oldest first."""
    return all_of(connection, Odometer, _odometers(), vehicle_id=vehicle_id)


@lru_cache(maxsize=1)
def _odometers() -> Select[Any]:
    return chosen(Odometer, ODOMETER, "vehicle_id").order_by(ODOMETER.c.read_on, ODOMETER.c.id)
