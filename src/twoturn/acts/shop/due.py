"""What is due: the vehicles whose belt comes up for renewal, by the jobs this shop has closed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from twoturn.acts.shop.jobs import HeldJob, held_job
from twoturn.acts.shop.shop import Shop
from twoturn.job.entries.vehicle import Odometer
from twoturn.job.entries.work import BeltFitted
from twoturn.job.order import Timeline
from twoturn.job.steps import step_numbers
from twoturn.plan.due import Due, next_due
from twoturn.store.records import jobs as kept
from twoturn.store.records import vehicles

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
    lines = []
    for row in _last_jobs(shop):
        found = due_of_job(shop, row)
        if found is not None:
            line = _line(shop, row.vehicle_id, found, today)
            if line is not None and line.on <= today + AHEAD:
                lines.append(line)
    return tuple(sorted(lines, key=lambda line: (line.on, line.registration)))


def due_of_job(shop: Shop, row: kept.Job) -> Due | None:
    """When the belt that a job fitted is due again; None where it fitted none, or its drive gives no interval."""
    key = ("due", row.id, row.last_hash)
    found: tuple[Due | None] = shop.answers.once(key, lambda: (_due(held_job(shop, row.id)),))
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


def _line(shop: Shop, vehicle_id: int, due: Due, today: date) -> DueLine | None:
    with shop.reading() as connection:
        vehicle = vehicles.vehicle(connection, vehicle_id)
        read = vehicles.odometers(connection, vehicle_id)
    by_km = None if due.km is None else day_of_distance(read, due.km)
    days = [day for day in (due.on, by_km) if day is not None]
    if not days:
        return None
    on = min(days)
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
