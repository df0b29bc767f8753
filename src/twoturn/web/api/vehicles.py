"""Vehicles by the API: found, kept, changed, and what their odometers showed."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from twoturn.acts.shop import vehicles as acts
from twoturn.store.records.vehicles import Odometer, Vehicle
from twoturn.web.api.bounds import Asked, Day, Line, Lines, Name, Query, Told
from twoturn.web.api.endpoint import Call, endpoint
from twoturn.web.api.texts import texts_of

MOST_KM = 3_000_000


class VehicleSent(Asked):
    """A vehicle as it is to be kept; what is left out is not known."""

    registration: Annotated[Name, Field(description="as the plate shows it")]
    vin: Annotated[Line | None, Field(description="vehicle identification number; a failed check digit is a hint")] = (
        None
    )
    model: Line | None = None
    engine: Line | None = None
    fuel: Annotated[Line | None, Field(description="petrol, diesel or gas")] = None
    hybrid: bool | None = None
    stop_start: bool | None = None
    first_registered: Day | None = None
    customer: Line | None = None
    note: Lines | None = None


class NewVehicle(VehicleSent):
    """A vehicle to keep, with what its odometer shows today."""

    odometer_km: Annotated[int | None, Field(ge=0, le=MOST_KM)] = None


class Read(Asked):
    """What an odometer showed."""

    km: Annotated[int, Field(ge=0, le=MOST_KM)]
    read_on: Annotated[Day | None, Field(description="today where left out")] = None


class Words(Query):
    """Which vehicles."""

    words: Annotated[
        str, Field(max_length=200, description="in registration, VIN, model, engine, customer or note")
    ] = ""


class VehicleTold(Told):
    """What is known of a vehicle."""

    vehicle: Vehicle
    odometers: Annotated[tuple[Odometer, ...], Field(description="what its odometer showed, newest first")]
    km_per_year: Annotated[float | None, Field(description="distance it runs in a year [km]")]
    jobs: Annotated[tuple[acts.VehicleJob, ...], Field(description="newest first")]
    hints: Annotated[tuple[str, ...], Field(description="sentences on what looks odd")]


@endpoint("GET", "/api/vehicles", "viewer")
def find_vehicles(call: Call, query: Words) -> tuple[Vehicle, ...]:
    """Vehicles that hold every word, the newest first; at most 50."""
    return acts.find_vehicles(call.shop, query.words)


@endpoint("POST", "/api/vehicles", "trainee", status=201)
def keep_vehicle(call: Call, body: NewVehicle) -> acts.SavedVehicle:
    """Keep a new vehicle; the answer has sentences on what looks odd."""
    texts = texts_of(body, {"odometer_km": "odometer"})
    return acts.save_vehicle(call.shop, call.actor, texts)


@endpoint("GET", "/api/vehicles/{vehicle:int}", "viewer")
def show_vehicle(call: Call) -> VehicleTold:
    """A vehicle with its odometer readings and its jobs."""
    found = acts.vehicle_page(call.shop, call.number("vehicle"))
    return VehicleTold(**{name: getattr(found, name) for name in VehicleTold.model_fields})


@endpoint("PUT", "/api/vehicles/{vehicle:int}", "trainee")
def change_vehicle(call: Call, body: VehicleSent) -> acts.SavedVehicle:
    """Keep a vehicle in place of what was known of it; what is left out is forgotten."""
    return acts.save_vehicle(call.shop, call.actor, texts_of(body), call.number("vehicle"))


@endpoint("POST", "/api/vehicles/{vehicle:int}/odometers", "trainee", status=204)
def add_odometer(call: Call, body: Read) -> None:
    """Add a reading of a vehicle's odometer."""
    texts = texts_of(body, {"km": "odometer"})
    acts.add_odometer(call.shop, call.actor, call.number("vehicle"), texts, acts.METRIC)


ENDPOINTS = (find_vehicles, keep_vehicle, show_vehicle, change_vehicle, add_odometer)
