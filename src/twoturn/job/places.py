"""Who is meant: names in entries and requirements, found in the drive."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cached_property

from twoturn.drive.model.tensioners import Tensioner
from twoturn.drive.model.work import FastenerTable, PinTable
from twoturn.drive.parts import Belt, Drive, Pulley
from twoturn.plan.facts import Facts
from twoturn.plan.sorting import sort_fasteners
from twoturn.plan.vehicle import VehicleFacts
from twoturn.plan.wording import pin_id
from twoturn.words.terms import span_id

Belts = frozenset[str]


def check_slug(name: str) -> str:
    """A name as it stands in the id of a check: small letters, digits and hyphens."""
    return re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-") or "x"


@dataclass(frozen=True)
class Places:
    """A drive, asked who is meant.

    Attributes
    ----------
    drive
        The drive.
    """

    drive: Drive

    @cached_property
    def every_belt(self) -> Belts:
        """Ids of all belts."""
        return frozenset(belt.id for belt in self.drive.belts)

    @cached_property
    def main(self) -> str:
        """Id of the main belt: the one that ties a camshaft to the crankshaft, as the plan has it."""
        return Facts(self.drive, VehicleFacts()).main.id

    @cached_property
    def pulleys(self) -> dict[str, tuple[Pulley, Belt]]:
        """Every pulley with its belt, by id."""
        return {pulley.id: (pulley, belt) for belt in self.drive.belts for pulley in belt.pulleys}

    @cached_property
    def shaft_ids(self) -> frozenset[str]:
        """Ids of all shafts."""
        return frozenset(shaft.id for shaft in self.drive.shafts)

    @cached_property
    def fasteners(self) -> dict[str, FastenerTable]:
        """Fasteners by id."""
        return {fastener.id: fastener for fastener in self.drive.file.fastener}

    @cached_property
    def pins(self) -> dict[str, PinTable]:
        """Pins by id (one made from the shaft where the file gives none)."""
        return {pin_id(pin): pin for pin in self.drive.file.pin}

    @cached_property
    def tensioners(self) -> dict[str, tuple[Tensioner, Belt]]:
        """Tensioners with their belt, by the id of their pulley."""
        return {tensioner.pulley: (tensioner, belt) for belt in self.drive.belts for tensioner in belt.tensioners}

    @cached_property
    def tensioner_fasteners(self) -> frozenset[str]:
        """Ids of the fasteners that hold a tensioner's setting."""
        return frozenset(fastener.id for fastener in sort_fasteners(self.drive)["tensioner"])

    def belt(self, belt_id: str | None) -> Belt | None:
        """The belt of that id; the only one where none is named."""
        if belt_id is None:
            return self.drive.belts[0] if len(self.drive.belts) == 1 else None
        return next((belt for belt in self.drive.belts if belt.id == belt_id), None)

    def shaft_of(self, name: str) -> str | None:
        """The shaft that a pulley's or shaft's name means."""
        if name in self.pulleys:
            return self.pulleys[name][0].shaft
        return name if name in self.shaft_ids else None

    def pulley_of(self, name: str, *, marked: bool = False) -> tuple[Pulley, Belt] | None:
        """The pulley that a pulley's or shaft's name means: of a shaft the first toothed one, or the marked one."""
        if name in self.pulleys:
            return self.pulleys[name]
        found = [pair for pair in self.pulleys.values() if pair[0].shaft == name and pair[0].toothed]
        if marked:
            found.sort(key=lambda pair: pair[0].table.mark_deg is None)
        return found[0] if found else None

    def is_place(self, name: str) -> bool:
        """Whether a name means anything in this drive: a pulley, shaft, belt, fastener, pin, or a span of pulleys."""
        if self.span(name) is not None:
            return True
        known = (self.pulleys, self.shaft_ids, self.every_belt, self.fasteners, self.pins)
        return any(name in group for group in known)

    def span(self, name: str) -> tuple[frozenset[str], Belt] | None:
        """The two ends of a span and its belt; None when no belt has such neighbours."""
        ends = span_id(name).split(":")
        for belt in self.drive.belts:
            ids = [pulley.id for pulley in belt.pulleys]
            for one, other in zip(ids, ids[1:] + ids[:1], strict=True):
                if len(ends) == 2 and {one, other} == set(ends):
                    return frozenset(ends), belt
        return None

    def belts_of_shaft(self, shaft: str) -> Belts:
        """Belts a shaft is turned by: those it sits on, else those of the shaft it is linked to."""
        own = frozenset(belt.id for belt in self.drive.belts for pulley in belt.pulleys if pulley.shaft == shaft)
        return own or self._belts_by_link(shaft, frozenset())

    def _belts_by_link(self, shaft: str, seen: frozenset[str]) -> Belts:
        found: Belts = frozenset()
        for link in self.drive.file.link:
            other = {link.from_: link.to, link.to: link.from_}.get(shaft)
            if other is not None and other not in seen:
                own = frozenset(belt.id for belt in self.drive.belts for p in belt.pulleys if p.shaft == other)
                found |= own or self._belts_by_link(other, seen | {shaft})
        return found or self.every_belt

    def belts_of(self, name: str | None) -> Belts:
        """Belts that a place touches; all of them where the name does not say."""
        if name is None:
            return self.every_belt
        if name in self.every_belt:
            return frozenset({name})
        span = self.span(name)
        if span is not None:
            return frozenset({span[1].id})
        if name in self.pulleys and self.pulleys[name][0].role != "crankshaft":
            return frozenset({self.pulleys[name][1].id})
        shaft = self.shaft_of(name)
        if shaft is not None:
            return self.belts_of_shaft(shaft)
        if name in self.fasteners:
            return self.belts_of(self.fasteners[name].locks)
        if name in self.pins:
            return self.belts_of_shaft(self.pins[name].shaft)
        return self.every_belt

    def pins_meant(self, names: tuple[str, ...]) -> tuple[str, ...]:
        """Ids of the pins that ids, shafts or ``"all"`` mean; a name that means none stands for itself."""
        found: list[str] = []
        for name in names:
            if name == "all":
                found.extend(self.pins)
            elif name in self.pins:
                found.append(name)
            else:
                found.extend([pin for pin, table in self.pins.items() if table.shaft == name] or [name])
        return tuple(dict.fromkeys(found))

    def tensioner_of(self, name: str | None) -> tuple[Tensioner, Belt] | None:
        """The tensioner that a pulley, a belt or nothing (the only one) means."""
        if name is None:
            return next(iter(self.tensioners.values())) if len(self.tensioners) == 1 else None
        if name in self.tensioners:
            return self.tensioners[name]
        on_belt = [pair for pair in self.tensioners.values() if pair[1].id == name]
        return on_belt[0] if len(on_belt) == 1 else None

    def marked_shafts(self) -> tuple[str, ...]:
        """Shafts that carry a timing mark, each once, in belt order."""
        found = [pulley.shaft for pulley, _ in self.pulleys.values() if pulley.table.mark_deg is not None]
        return tuple(dict.fromkeys(found))
