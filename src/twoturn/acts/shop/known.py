"""What is known before anyone is asked: the vehicle, the drawer's tools, today's air, and what earlier jobs found."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, datetime
from typing import TYPE_CHECKING, Any

from twoturn.acts.shop.earlier import Judged, earlier_words
from twoturn.acts.shop.jobs import HeldJob, held_job
from twoturn.acts.shop.shop import Shop
from twoturn.job.asked.model import Known, KnownTool
from twoturn.job.entries.vehicle import Temperature
from twoturn.job.entries.work import BeltFitted
from twoturn.job.order import Timeline
from twoturn.job.steps import step_numbers
from twoturn.job.understand import value_at
from twoturn.store.records import jobs as kept
from twoturn.store.records import settings, tools, vehicles

if TYPE_CHECKING:
    from sqlalchemy import Connection

SHOP_AIR = "shop_air"
"""Setting that holds today's air of the shop: ``day`` and ``c``."""


def known_of(shop: Shop, held: HeldJob, judged: Judged) -> Known:
    """What is known of a job beforehand.

    Parameters
    ----------
    shop, held
        The record, and the job.
    judged
        Judges another job of the drive; its answer may be one of before.
    """
    with shop.reading() as connection:
        read = vehicles.odometers(connection, held.vehicle.id)
        air = settings.settings(connection).get(SHOP_AIR)
        drawer = known_tools(connection)
    vehicle = held.vehicle
    known = Known(
        registration=vehicle.registration or None,
        vin=vehicle.vin,
        model=vehicle.model,
        engine=vehicle.engine,
        fuel=vehicle.fuel,
        hybrid=vehicle.hybrid,
        stop_start=vehicle.stop_start,
        first_registered=vehicle.first_registered,
        customer=vehicle.customer,
        odometer_km=float(read[-1].km) if read else None,
        shop_air_c=_air_of(air, shop.now().astimezone().date()),
        tools=drawer,
    )
    earlier = earlier_words(shop, held.drive_id, judged, before=held.row.number)
    return replace(known, earlier=earlier, **_last_belt(shop, held))


def known_tools(connection: Connection) -> tuple[KnownTool, ...]:
    """The torque tools in use with their last calibration, those calibrated last first."""
    found, calibrated = [], tools.last_calibrations(connection)
    for tool in tools.tools(connection):
        if tool.active:
            last = calibrated.get(tool.id)
            found.append(
                KnownTool(
                    tool=tool.name,
                    low_nm=tool.low_nm,
                    high_nm=tool.high_nm,
                    calibrated=None if last is None else last.on,
                    valid_months=12 if last is None or last.valid_months is None else last.valid_months,
                    type=tool.type,
                    class_=tool.class_,
                    number=tool.number,
                )
            )
    return tuple(sorted(found, key=lambda one: (one.calibrated is None, -(one.calibrated or date.min).toordinal())))


def note_air(connection: Connection, entries: Sequence[Any], day: date) -> None:
    """Keep the shop's air of today where one of these entries, typed today, says it as a number."""
    for entry in entries:
        if entry.entered is not None and entry.entered.date() != day:
            continue
        if isinstance(entry, Temperature) and entry.of == "shop air" and not isinstance(entry.temperature_c, str):
            settings.put(connection, {SHOP_AIR: {"day": day.isoformat(), "c": float(entry.temperature_c)}})


def _air_of(air: Any, today: date) -> float | None:
    if isinstance(air, dict) and air.get("day") == today.isoformat() and isinstance(air.get("c"), int | float):
        return float(air["c"])
    return None


def _last_belt(shop: Shop, held: HeldJob) -> dict[str, Any]:
    """The arrow, and where the teeth were known from, of the belt that the last closed job before this one fitted."""
    with shop.reading() as connection:
        found = kept.jobs_of_drive(connection, held.drive_id)
    earlier = [job for job in found if job.closed_at is not None and job.number < held.row.number and job.entries]
    if not earlier:
        return {}

    def look() -> dict[str, Any]:
        last = held_job(shop, earlier[0].id)
        acts = Timeline(last.file.entries, step_numbers(last.drive)).acts
        belts = [act.entry for act in acts if isinstance(act.entry, BeltFitted)]
        return {"arrow": belts[-1].arrow, "teeth_from": belts[-1].teeth_from} if belts else {}

    return shop.answers.once(("last belt", earlier[0].id, earlier[0].entries), look)


def minutes_of(shop: Shop, drive_id: int) -> tuple[float, ...]:
    """Working times of this shop's closed jobs by a drive [min]: from the first entry to the last of the same day."""
    with shop.reading() as connection:
        found = tuple(
            job for job in kept.jobs_of_drive(connection, drive_id, limit=40) if job.closed_at and job.entries
        )
    key = ("minutes", drive_id, tuple((job.id, job.entries) for job in found))

    def look() -> tuple[float, ...]:
        spans = []
        for job in found:
            typed = [moment for entry in held_job(shop, job.id).entries if (moment := _typed(entry.content))]
            if typed and typed[0].date() == typed[-1].date() and typed[-1] > typed[0]:
                spans.append((typed[-1] - typed[0]).total_seconds() / 60)
        return tuple(spans)

    return shop.answers.once(key, look)


def _typed(content: dict[str, Any]) -> datetime | None:
    said = value_at(content, ("entered",))
    try:
        return None if said is None else datetime.fromisoformat(str(said)).replace(tzinfo=None)
    except ValueError:
        return None
