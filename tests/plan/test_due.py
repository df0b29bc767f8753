"""When a belt is due again: months and kilometres counted from the day it was fitted."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.plan.plan_drives import demo

from twoturn.plan.due import distance_words, months_later, next_due

FITTED = date(2026, 3, 2)


def test_from_the_day_and_the_distance_at_which_it_was_fitted() -> None:
    """The invented Alder 8: 90 000 km or 60 months (its drive file); common practice: counted from fitting."""
    due = next_due(demo("alder-one-cam"), FITTED, 118420)
    assert due is not None
    assert (due.on, due.km) == (date(2031, 3, 2), 208420)
    assert due.words() == "2031-03-02, or at 208\u00a0420\u00a0km, whichever comes first"
    assert due.words(miles=True) == "2031-03-02, or at 129\u00a0506\u00a0mi, whichever comes first"


def test_without_an_odometer_the_distance_counts_from_now() -> None:
    due = next_due(demo("alder-one-cam"), FITTED)
    assert due is not None
    assert due.words() == "2031-03-02 or after 90\u00a0000\u00a0km, whichever comes first"


def test_hours_and_hard_use_are_told() -> None:
    hours = next_due(demo("damson-rotary-pump"), FITTED, 1000)
    hard = next_due(demo("cedar-common-rail"), FITTED, 1000)
    assert hours is not None
    assert hard is not None
    assert "after 2500 hours of running" in hours.words()
    assert hard.severe == "after 100\u00a0000\u00a0km or 60 months"


def test_a_drive_without_an_interval_gives_nothing() -> None:
    drive = demo("alder-one-cam")
    bare = drive.file.model_copy(update={"interval": None})
    assert next_due(type(drive)(**{**vars(drive), "file": bare}), FITTED, 1000) is None


@pytest.mark.parametrize(
    ("day", "months", "later"),
    [
        (date(2024, 2, 29), 12, date(2025, 2, 28)),
        (date(2024, 2, 29), 48, date(2028, 2, 29)),
        (date(2025, 8, 31), 6, date(2026, 2, 28)),
        (date(2025, 12, 1), 1, date(2026, 1, 1)),
        (date(2025, 12, 1), 1.9, date(2026, 1, 1)),
    ],
)
def test_months_by_the_calendar(day: date, months: float, later: date) -> None:
    assert months_later(day, months) == later


@given(st.dates(date(1990, 1, 1), date(2090, 1, 1)), st.integers(0, 240))
def test_a_month_has_28_to_31_days(day: date, months: int) -> None:
    gone = months_later(day, months) - day
    assert timedelta(days=30.4 * months - 4) <= gone <= timedelta(days=30.5 * months + 4)


def test_distances_are_grouped_and_do_not_break() -> None:
    """One mile is 1.609344 km (international mile, 1959)."""
    assert distance_words(1234567.4) == "1\u00a0234\u00a0567\u00a0km"
    assert distance_words(160.9344, miles=True) == "100\u00a0mi"
