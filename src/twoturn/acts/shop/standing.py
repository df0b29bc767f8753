"""What the lines of the open jobs depend on, asked in one go: where it is as before, no line is worked out anew."""

from __future__ import annotations

from collections.abc import Hashable, Mapping, Sequence
from typing import TYPE_CHECKING

from twoturn.acts.shop.known import SHOP_AIR, known_tools
from twoturn.acts.shop.shop import Shop
from twoturn.store.files import path_of
from twoturn.store.records import evidence, settings, vehicles
from twoturn.store.records import jobs as kept

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from twoturn.store.records.jobs import Job


def standings(shop: Shop, rows: Sequence[Job]) -> Mapping[int, Hashable]:
    """What the line of each job depends on, by number of the job: all that :func:`job_view` looks at, and its row.

    Parameters
    ----------
    shop
        The record.
    rows
        The jobs, as they stand.
    """
    with shop.reading() as connection:
        shared = _shared(shop, connection)
        cars = vehicles.some(connection, {row.vehicle_id for row in rows})
        read = vehicles.odometers_of(connection, {row.vehicle_id for row in rows})
        files = evidence.of_jobs(connection, {row.id for row in rows})
    there = {file.sha256: path_of(shop.place, file.sha256).is_file() for held in files.values() for file in held}
    return {
        row.id: (
            row,
            cars.get(row.vehicle_id),
            read.get(row.vehicle_id, ()),
            tuple((file, there[file.sha256]) for file in files.get(row.id, ())),
            shared,
        )
        for row in rows
    }


def _shared(shop: Shop, connection: Connection) -> Hashable:
    """What all jobs know beforehand: today's air, the drawer, and what was closed."""
    air = repr(settings.settings(connection).get(SHOP_AIR))
    today = shop.now().astimezone().date()
    return air, today, known_tools(connection), kept.closed_in_all(connection)
