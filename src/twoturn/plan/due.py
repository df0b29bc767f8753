"""When the belt is due again: the schedule's interval counted from the day and the distance at which it was fitted."""

from __future__ import annotations

import calendar
from dataclasses import dataclass
from datetime import date

from twoturn.drive.model.work import IntervalTable
from twoturn.drive.parts import Drive
from twoturn.quantity.units import convert
from twoturn.words.numbers import list_words, plain


@dataclass(frozen=True)
class Due:
    """When a belt is due again, whichever comes first.

    Attributes
    ----------
    on
        The day; None where the schedule gives no months.
    km
        What the odometer then shows [km]; None where the schedule or the odometer is not known.
    after_km, after_months, after_hours
        The interval itself [km, months, h].
    severe
        The shorter interval under hard use, in words; empty where the schedule gives none.
    source
        Where the interval stands.
    """

    on: date | None
    km: float | None
    after_km: float | None
    after_months: float | None
    after_hours: float | None
    severe: str
    source: str

    def words(self, miles: bool = False) -> str:
        """When, in words: ``2031-03-02, or at 208 420 km, whichever comes first``; distances in miles if wanted."""
        said = []
        if self.on is not None:
            said.append(self.on.isoformat())
        if self.km is not None:
            said.append(f"at {distance_words(self.km, miles)}")
        elif self.after_km is not None:
            said.append(f"after {distance_words(self.after_km, miles)}")
        if self.after_hours is not None:
            said.append(f"after {plain(self.after_hours)} hours of running")
        first = ", whichever comes first" if len(said) > 1 else ""
        return list_words(said, "or").replace(" or at ", ", or at ") + first


def distance_words(km: float, miles: bool = False) -> str:
    """A distance [km] as a sheet prints it, ``118 420 km`` or ``73 583 mi``."""
    amount, unit = (convert(km, "km", "mi"), "mi") if miles else (km, "km")
    return f"{amount:,.0f} {unit}".replace(",", "\u00a0").replace(f" {unit}", f"\u00a0{unit}")


def next_due(drive: Drive, fitted: date, km: float | None = None) -> Due | None:
    """When the belt of a drive is due again.

    Parameters
    ----------
    drive
        The drive, whose schedule counts.
    fitted
        The day the belt was fitted.
    km
        What the odometer showed then [km]; None where unknown.

    Returns
    -------
    Due or None
        None where the drive file gives no interval.
    """
    interval = drive.file.interval
    if interval is None or not (interval.km or interval.months or interval.hours):
        return None
    return Due(
        on=None if interval.months is None else months_later(fitted, interval.months),
        km=None if interval.km is None or km is None else km + interval.km,
        after_km=interval.km,
        after_months=interval.months,
        after_hours=interval.hours,
        severe=_severe(interval),
        source=drive.source,
    )


def months_later(day: date, months: float) -> date:
    """The day so many whole months later [months]; where that month is too short, its last."""
    count = day.year * 12 + day.month - 1 + int(months)
    year, month = divmod(count, 12)
    return date(year, month + 1, min(day.day, calendar.monthrange(year, month + 1)[1]))


def _severe(interval: IntervalTable) -> str:
    hard = interval.severe
    if not hard:
        return ""
    amounts = (hard.get("km"), hard.get("months"), hard.get("hours"))
    units = ("km", "months", "hours of running")
    said = [
        distance_words(amount) if unit == "km" else f"{plain(amount)} {unit}"
        for amount, unit in zip(amounts, units, strict=True)
        if amount
    ]
    return f"after {list_words(said, 'or')}" if said else "shorter, by the schedule"
