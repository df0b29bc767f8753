"""How pages write times and numbers: the templates' filters."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, datetime
from typing import Any

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def day(when: date | datetime | None) -> str:
    """A day as ``4 May 2026``; nothing for None."""
    return "" if when is None else f"{when.day} {MONTHS[when.month - 1]} {when.year}"


def moment(when: datetime | None) -> str:
    """A time as ``4 May 2026, 16:30``; nothing for None."""
    return "" if when is None else f"{day(when)}, {when:%H:%M}"


def size(count: int) -> str:
    """A count of bytes [bytes] as kB, MB or GB."""
    for unit, factor in (("GB", 10**9), ("MB", 10**6), ("kB", 10**3)):
        if count >= factor:
            return f"{count / factor:.3g} {unit}"
    return f"{count} bytes"


def thousands(number: int) -> str:
    """A whole number with thin gaps: 123 456 (narrow no-break blanks)."""
    return f"{number:,}".replace(",", "\u202f")


FILTERS: dict[str, Callable[..., Any]] = {"day": day, "moment": moment, "size": size, "thousands": thousands}
