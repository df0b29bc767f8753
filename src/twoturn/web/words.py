"""How pages write times and numbers: the templates' filters."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, datetime
from typing import Any

from twoturn.web.job_words import bounds_in, capitalize_first

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def day(when: date | datetime | None) -> str:
    """A day as ``4 May 2026``, of a moment the one on this computer's wall clock; nothing for None."""
    if isinstance(when, datetime):
        when = local(when)
    return "" if when is None else f"{when.day} {MONTHS[when.month - 1]} {when.year}"


def moment(when: datetime | None) -> str:
    """A time as ``4 May 2026, 16:30``, one with a time zone by the clock on the wall; nothing for None."""
    here = when.astimezone() if when is not None and when.tzinfo is not None else when
    return "" if here is None else f"{day(here)}, {here:%H:%M}"


def size(count: int) -> str:
    """A count of bytes [bytes] as kB, MB or GB."""
    for unit, factor in (("GB", 10**9), ("MB", 10**6), ("kB", 10**3)):
        if count >= factor:
            return f"{count / factor:.3g} {unit}"
    return f"{count} bytes"


def thousands(number: int) -> str:
    """A whole number with thin gaps: 123 456 (narrow no-break blanks)."""
    return f"{number:,}".replace(",", "\u202f")


def local(when: datetime | None) -> datetime | None:
    """A moment on this computer's wall clock; one without a time zone is taken to be so already; nothing for None."""
    return when if when is None or when.tzinfo is None else when.astimezone()


def distance(km: float, unit: str, digits: int = 0) -> str:
    """A distance [km] in km or mi, to so many leading digits where that is more than 0: ``118 400 km``."""
    value = km if unit == "km" else km / 1.609344
    if digits and value:
        value = float(f"{value:.{digits}g}")
    return f"{thousands(round(value))} {unit}"


FILTERS: dict[str, Callable[..., Any]] = {
    "bounds_in": bounds_in,
    "capitalize_first": capitalize_first,
    "day": day,
    "distance": distance,
    "local": local,
    "moment": moment,
    "size": size,
    "thousands": thousands,
}
