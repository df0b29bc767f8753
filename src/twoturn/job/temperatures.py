"""Temperatures as entered: a number, "overnight", "hand-warm" or "hot"; "overnight" is the shop's air of that day."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from functools import cached_property
from typing import Final

from twoturn.job.entries.vehicle import U_MEASURED_K, U_OVERNIGHT_UNANSWERED_K, WORDS, Temperature
from twoturn.job.order import Act, Timeline
from twoturn.quantity.reading import Reading

LIKE_K: Final = 15.0
"""How far [K] the engine may be from the temperature a requirement names (common practice, no source)."""


@dataclass(frozen=True)
class Temperatures:
    """Temperatures of a job.

    Attributes
    ----------
    timeline
        The entries that stand.
    """

    timeline: Timeline

    @cached_property
    def _entries(self) -> tuple[tuple[Act, Temperature], ...]:
        return tuple((act, act.entry) for act in self.timeline.acts if isinstance(act.entry, Temperature))

    def shop(self, day: date | None) -> Reading | None:
        """The shop's air on a day: as answered that day, else as answered last; None when nobody was asked."""
        asked = [entry for _, entry in self._entries if entry.of == "shop air"]
        same = [entry for entry in asked if entry.entered is not None and entry.entered.date() == day]
        for entry in reversed(same or ([] if day else asked)):
            if not isinstance(entry.temperature_c, str):
                return Reading(entry.temperature_c, U_MEASURED_K, "°C", source="shop air")
        return None

    def read(self, entry: Temperature) -> Reading:
        """What a temperature entry means [°C]."""
        if not isinstance(entry.temperature_c, str):
            return Reading(entry.temperature_c, U_MEASURED_K, "°C", source="measured")
        value, u = WORDS[entry.temperature_c]
        if entry.temperature_c == "overnight":
            shop = self.shop(entry.entered.date() if entry.entered else None)
            value, u = (value, U_OVERNIGHT_UNANSWERED_K) if shop is None else (shop.value, u)
        return Reading(value, u, "°C", source=entry.temperature_c)

    def at(self, act: Act) -> tuple[Reading, ...]:
        """The engine's temperature [°C] when ``act`` was done: the last one entered before it.

        None where none was entered; several where their order cannot be told.
        """
        engine = [(one, entry) for one, entry in self._entries if entry.of == "engine"]
        known = [(one, entry) for one, entry in engine if not self.timeline.before(act, one)]
        last = [pair for pair in known if not any(self.timeline.before(pair[0], other[0]) for other in known)]
        return tuple(self.read(entry) for _, entry in last)
