"""Vehicles: found, new, changed, and what is known of each."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from twoturn.acts.shop.forms import FormRefused
from twoturn.web.forms.once import new_key, once
from twoturn.web.forms.read import texts
from twoturn.web.page import Page
from twoturn.web.security.sessions import Visit
from twoturn.web.show import show
from twoturn.web.workers import in_thread

if TYPE_CHECKING:
    from twoturn.job.asked.model import Units
    from twoturn.store.records.vehicles import Vehicle


async def vehicles(request: Request) -> Response:
    """Vehicles that hold the words asked for; the newest when none are asked for."""
    from twoturn.acts.shop.vehicles import find_vehicles

    words = request.query_params.get("words", "")[:200]
    found = await in_thread(find_vehicles, request.state.visit.shop, words)
    return show(request, "vehicles/vehicles.html", words=words, found=found)


async def vehicle_new(request: Request) -> Response:
    """The form of a new vehicle; a registration asked for is filled in."""
    return _form(request, {"registration": request.query_params.get("registration", "")[:40]})


async def vehicle_add(request: Request) -> Response:
    """Keep a new vehicle."""
    from twoturn.acts.shop.vehicles import save_vehicle

    visit, form = request.state.visit, await texts(request)
    units = _units(visit)
    try:
        saved = await once(request, form, lambda: save_vehicle(visit.shop, visit.actor, form, units=units))
    except FormRefused as error:
        return _form(request, form, error=error)
    return RedirectResponse(f"/vehicles/{saved.vehicle.id}", 303)


async def vehicle(request: Request) -> Response:
    """What is known of a vehicle."""
    return _page(request)


async def vehicle_change(request: Request) -> Response:
    """The form of a vehicle, filled in."""
    from twoturn.acts.shop.vehicles import vehicle_page

    number = request.path_params["vehicle"]
    return _form(request, _typed(vehicle_page(request.state.visit.shop, number).vehicle), number)


async def vehicle_save(request: Request) -> Response:
    """Keep a vehicle as changed."""
    from twoturn.acts.shop.vehicles import save_vehicle

    visit, form, number = request.state.visit, await texts(request), request.path_params["vehicle"]
    try:
        await in_thread(save_vehicle, visit.shop, visit.actor, form, number)
    except FormRefused as error:
        return _form(request, form, number, error)
    return RedirectResponse(f"/vehicles/{number}", 303)


async def odometer_add(request: Request) -> Response:
    """One more reading of the odometer."""
    from twoturn.acts.shop.vehicles import add_odometer

    visit, form, number = request.state.visit, await texts(request), request.path_params["vehicle"]
    try:
        await once(request, form, lambda: add_odometer(visit.shop, visit.actor, number, form, _units(visit)))
    except FormRefused as error:
        return _page(request, form, error)
    return RedirectResponse(f"/vehicles/{number}", 303)


def _page(request: Request, typed: Mapping[str, str] | None = None, error: FormRefused | None = None) -> Response:
    from twoturn.acts.shop.vehicles import odometer_wanted, vehicle_page

    visit = request.state.visit
    return show(
        request,
        "vehicles/vehicle.html",
        422 if error else 200,
        seen=vehicle_page(visit.shop, request.path_params["vehicle"]),
        typed=typed or {},
        error=error,
        wanted=odometer_wanted(_units(visit)),
        key=new_key(),
    )


def _form(
    request: Request, typed: Mapping[str, str], number: int | None = None, error: FormRefused | None = None
) -> Response:
    from twoturn.acts.shop.vehicles import FUELS, odometer_wanted

    return show(
        request,
        "vehicles/form.html",
        422 if error else 200,
        number=number,
        typed=typed,
        error=error,
        faults=error.fields if error else {},
        fuels=FUELS,
        wanted=odometer_wanted(_units(request.state.visit)),
        key=typed.get("key") or new_key(),
    )


def _units(visit: Visit) -> Units:
    from twoturn.acts.shop.settings import units_here

    return units_here(visit.shop, visit.units)


def _typed(vehicle: Vehicle) -> dict[str, str]:
    """A vehicle as the fields of its form hold it."""
    said = {True: "yes", False: "no"}
    plain = ("registration", "vin", "model", "engine", "fuel", "customer", "note")
    found = {name: getattr(vehicle, name) or "" for name in plain}
    found |= {name: said.get(getattr(vehicle, name), "") for name in ("hybrid", "stop_start")}
    day = vehicle.first_registered
    return found | {"first_registered": "" if day is None else day.isoformat()}


PAGES = (
    Page("/vehicles", vehicles, "viewer"),
    Page("/vehicles/new", vehicle_new, "trainee"),
    Page("/vehicles/new", vehicle_add, "trainee", ("POST",)),
    Page("/vehicles/{vehicle:int}", vehicle, "viewer"),
    Page("/vehicles/{vehicle:int}/change", vehicle_change, "trainee"),
    Page("/vehicles/{vehicle:int}/change", vehicle_save, "trainee", ("POST",)),
    Page("/vehicles/{vehicle:int}/odometer", odometer_add, "trainee", ("POST",)),
)
