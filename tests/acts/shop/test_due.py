"""What is due: by months, or by when the distance will have been run."""

from __future__ import annotations

from datetime import date

import pytest
from tests.acts.shop.conftest import Clock

from twoturn.acts.shop.due import day_of_distance, due_soon
from twoturn.acts.shop.shop import Shop
from twoturn.store.records.vehicles import Odometer


def read(km: int, on: date) -> Odometer:
    return Odometer(1, km, on, "Ida Brook")


def test_the_day_of_a_distance_at_the_pace_so_far() -> None:
    # by hand: 10000 km in 100 days is 100 km a day, so 5000 km more take 50 days
    half_year = [read(100_000, date(2026, 1, 1)), read(110_000, date(2026, 4, 11))]
    assert day_of_distance(half_year, 115_000) == date(2026, 5, 31)
    assert day_of_distance(half_year, 110_000) == date(2026, 4, 11)
    assert day_of_distance(half_year[:1], 115_000) is None
    assert day_of_distance([read(100, date(2026, 1, 1)), read(200, date(2026, 1, 20))], 300) is None
    assert day_of_distance([], 300) is None


def test_nothing_is_due_at_once_and_all_of_it_years_later(demo_shop: Shop, clock: Clock) -> None:
    assert due_soon(demo_shop) == ()
    clock.on(days=12 * 365)
    lines = due_soon(demo_shop)
    assert lines
    assert all(line.overdue for line in lines)
    assert [line.on for line in lines] == sorted(line.on for line in lines)


@pytest.mark.parametrize("early_days", [60, 119])
def test_a_belt_is_told_as_coming_up_four_months_ahead(demo_shop: Shop, clock: Clock, early_days: int) -> None:
    clock.on(days=12 * 365)
    first = due_soon(demo_shop)[0]
    clock.now = clock.now.replace(year=first.on.year, month=first.on.month, day=first.on.day)
    clock.on(days=-early_days)
    line = due_soon(demo_shop)[0]
    assert (line.registration, line.overdue) == (first.registration, False)
