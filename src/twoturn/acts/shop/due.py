"""What is due: the vehicles whose belt comes up for renewal, by the jobs this shop has closed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

from twoturn.acts.shop.jobs import HeldJob, held_job
from twoturn.acts.shop.shop import Shop
from twoturn.errors import TwoTurnError
from twoturn.job.entries.vehicle import Odometer
from twoturn.job.entries.work import BeltFitted
from twoturn.job.order import Timeline
from twoturn.job.steps import step_numbers
from twoturn.plan.due import Due, next_due
from twoturn.store.faults import StoreError
from twoturn.store.records import jobs as kept
from twoturn.store.records import vehicles

if TYPE_CHECKING:
    from sqlalchemy import Connection

AHEAD = timedelta(days=120)
"""How far ahead a belt is told as coming up."""
LEAST_APART_DAYS = 30
"""How far apart two odometer readings must lie to tell how much a vehicle runs [days]."""


@dataclass(frozen=True)
class DueLine:
    """A vehicle whose belt is due, or will be soon.

    Attributes
    ----------
    vehicle_id, registration, model
        The vehicle.
    due
        When, by the schedule of the drive it was done by.
    on
        The day that comes first: by the schedule's months, or by when the distance will have been run.
    by_distance
        Whether that day was reckoned from what the odometer showed before.
    overdue
        Whether it has passed.
    """

    vehicle_id: int
    registration: str
    model: str | None
    due: Due
    on: date
    by_distance: bool
    overdue: bool

    def as_json(self) -> dict[str, Any]:
        """Keys ``vehicle_id``, ``registration``, ``model``, ``on``, ``by_distance``, ``overdue``, ``words``."""
        own = {key: getattr(self, key) for key in ("vehicle_id", "registration", "model", "by_distance", "overdue")}
        return own | {"on": self.on.isoformat(), "words": self.due.words()}


def due_soon(shop: Shop) -> tuple[DueLine, ...]:
    """The vehicles whose belt is due within four months or should have been renewed already, the earliest first."""
    today = shop.now().astimezone().date()
    found = [(row.vehicle_id, due) for row in _last_jobs(shop) if (due := due_of_job(shop, row)) is not None]
    with shop.reading() as connection:
        read = vehicles.every_odometer(connection)
        lines = [_line(connection, number, read.get(number, ()), due, today) for number, due in found]
    return tuple(sorted((line for line in lines if line is not None), key=lambda line: (line.on, line.registration)))


def due_of_job(shop: Shop, row: kept.Job) -> Due | None:
    """When the belt that a job fitted is due again; None where it fitted none, or its drive gives no interval.

    A job that cannot be understood says nothing here: its own page tells what is the matter.
    """

    def look() -> tuple[Due | None]:
        try:
            return (_due(held_job(shop, row.id)),)
        except StoreError:
            raise
        except TwoTurnError:
            return (None,)

    found: tuple[Due | None] = shop.dues.once((row.id, row.last_hash), look)
    return found[0]


def _due(held: HeldJob) -> Due | None:
    standing = [act.entry for act in Timeline(held.file.entries, step_numbers(held.drive)).acts]
    fitted = [entry for entry in standing if isinstance(entry, BeltFitted) and entry.entered is not None]
    if not fitted:
        return None
    read = [entry.km for entry in standing if isinstance(entry, Odometer)]
    moment = fitted[-1].entered
    assert moment is not None  # noqa: S101 - chosen so
    return next_due(held.drive, moment.date(), read[-1] if read else None)


def _last_jobs(shop: Shop) -> tuple[kept.Job, ...]:
    """The last closed job of every vehicle that has no job open."""
    with shop.reading() as connection:
        closed = kept.closed_jobs(connection, limit=2000)
        busy = {row.vehicle_id for row in kept.open_jobs(connection)}
    last: dict[int, kept.Job] = {}
    for row in closed:
        before = last.get(row.vehicle_id)
        if row.vehicle_id not in busy and (before is None or row.number > before.number):
            last[row.vehicle_id] = row
    return tuple(last.values())


def _line(
    connection: Connection, vehicle_id: int, read: Sequence[vehicles.Odometer], due: Due, today: date
) -> DueLine | None:
    """The line of a vehicle; None where it is not due for long, or no day can be told."""
    by_km = None if due.km is None else day_of_distance(read, due.km)
    days = [day for day in (due.on, by_km) if day is not None]
    if not days:
        return None
    on = min(days)
    if on > today + AHEAD:
        return None
    vehicle = vehicles.vehicle(connection, vehicle_id)
    return DueLine(vehicle.id, vehicle.registration, vehicle.model, due, on, on == by_km != due.on, on < today)


def day_of_distance(read: Sequence[vehicles.Odometer], km: float) -> date | None:
    """The day on which an odometer will show a distance, at the pace between its first and last reading.

    Parameters
    ----------
    read
        What the odometer showed, oldest first.
    km
        The distance [km].

    Returns
    -------
    date or None
        None where two readings far enough apart are missing, or the vehicle hardly runs.
    """
    if not read:
        return None
    first, last = read[0], read[-1]
    if last.km >= km:
        return last.read_on
    days = (last.read_on - first.read_on).days
    if days < LEAST_APART_DAYS or last.km <= first.km:
        return None
    ahead = (km - last.km) * days / (last.km - first.km)
    return None if ahead > 36500 else last.read_on + timedelta(days=round(ahead))
