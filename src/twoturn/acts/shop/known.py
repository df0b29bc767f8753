"""What is known before anyone is asked: the vehicle, the drawer's tools, today's air, and what earlier jobs found."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import date, datetime
from typing import TYPE_CHECKING, Any

from twoturn.acts.shop.jobs import HeldJob, held_job
from twoturn.acts.shop.shop import Shop
from twoturn.job.asked.model import Known, KnownTool
from twoturn.job.entries.vehicle import Temperature
from twoturn.job.entries.work import BeltFitted
from twoturn.job.understand import value_at
from twoturn.quantity.conformity import Verdict
from twoturn.quantity.reading import Reading
from twoturn.quantity.show import show
from twoturn.store.records import jobs as kept
from twoturn.store.records import settings, tools, vehicles
from twoturn.words.numbers import count_words

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from twoturn.acts.prove import Proof

LOOKED_BACK = 4
"""How many earlier jobs of a drive are told of [-]."""
MEASURED = "measured"
"""Method of the checks that rest on a number that was measured."""
SHOP_AIR = "shop_air"
"""Setting that holds today's air of the shop: ``day`` and ``c``."""


def known_of(shop: Shop, held: HeldJob, judged: Callable[[Shop, HeldJob], Proof]) -> Known:
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
        earlier = _earlier_jobs(connection, held)
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
    return replace(known, **_of_earlier(shop, held, earlier, judged))


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


def _earlier_jobs(connection: Connection, held: HeldJob) -> tuple[kept.Job, ...]:
    """The last closed jobs by the same drive, newest first, without this one and without those begun later."""
    found = kept.jobs_of_drive(connection, held.drive_id, limit=40)
    closed = [job for job in found if job.closed_at is not None and job.id != held.row.id and job.entries]
    return tuple(closed[:LOOKED_BACK])


def _of_earlier(
    shop: Shop, held: HeldJob, earlier: tuple[kept.Job, ...], judged: Callable[[Shop, HeldJob], Proof]
) -> dict[str, Any]:
    """The last belt's arrow and where its teeth were known from, and the readings of earlier jobs by check."""
    if not earlier:
        return {}
    key = ("earlier", held.drive_id, tuple((job.id, job.entries) for job in earlier))

    def look() -> dict[str, Any]:
        proofs = [judged(shop, held_job(shop, job.id)) for job in earlier]
        belts = [entry for entry in proofs[0].job.file.entries if isinstance(entry, BeltFitted)]
        found: dict[str, Any] = {"earlier": earlier_words(proofs)}
        if belts:
            found |= {"arrow": belts[-1].arrow, "teeth_from": belts[-1].teeth_from}
        return found

    return shop.answers.once(key, look)


def earlier_words(proofs: Sequence[Proof]) -> dict[str, str]:
    """What earlier jobs read, in words, by id of the check; only readings that were proven count."""
    read: dict[str, list[Reading]] = {}
    for proof in proofs:
        for check in proof.assessment.checks:
            if check.verdict is Verdict.PROVEN and check.value is not None and check.method == MEASURED:
                read.setdefault(check.id, []).append(check.value)
    return {check_id: _words(values) for check_id, values in read.items()}


def _words(values: Sequence[Reading]) -> str:
    """One value with its U; of several, from the least to the greatest."""
    alike = [value for value in values if value.unit == values[0].unit]
    if len(alike) == 1:
        return f"The last job read {show(alike[0])} here."
    low, high = min(alike, key=lambda one: one.value), max(alike, key=lambda one: one.value)
    return f"The last {count_words(len(alike), 'job')} read {_plain(low)} to {show(high)} here."


def _plain(value: Reading) -> str:
    """The number alone, to the place that its U supports."""
    return show(value).partition(" ± ")[0]


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
