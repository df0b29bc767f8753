"""The facts a plan is made from: the drive, the vehicle, and what follows from both."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from twoturn.drive.model.tensioners import SettingStep, Tensioner
from twoturn.drive.model.work import FastenerTable, PinTable, RequirementTable
from twoturn.drive.parts import Belt, Drive, Pulley, Shaft
from twoturn.mechanics.belt import belt_at_rest
from twoturn.mechanics.rest.known import BeltAtRest
from twoturn.plan.model import PlanCaution, Record, Value
from twoturn.plan.sequence import sequence_of
from twoturn.plan.sorting import sort_fasteners
from twoturn.plan.vehicle import VehicleFacts
from twoturn.plan.wording import (
    fastener_name,
    fastener_words,
    requirement_limits,
    requirement_what,
    shaft_name,
    slug,
)
from twoturn.pluck.of_drive import expected_notes
from twoturn.words.cautions import caution
from twoturn.words.numbers import turns_words
from twoturn.words.terms import DEFAULT_UNITS, other_way, way_of_sense

SETTING_QUANTITIES = ("pointer", "protrusion", "frequency", "tension", "deflection", "hand twist")
TIMING_QUANTITIES = ("mark", "cam phase", "pin")
LOOK_QUANTITIES = ("play", "offset", "runout", "width")
METHOD_RECORDS = {
    "pointer": "pointer",
    "protrusion": "protrusion",
    "frequency": "pluck",
    "tension": "pluck",
    "deflection": "deflection",
    "hand twist": "twist",
    "pump lift": "pump lift",
    "mark": "mark",
    "pin": "pin in",
    "pin depth": "pin in",
    "cam phase": "capture",
}


@dataclass(frozen=True)
class Facts:
    """A drive and a vehicle, asked what the plan needs to know.

    Attributes
    ----------
    drive, vehicle
        What is asked.
    geometry
        False where only the order of the steps is wanted: what geometry adds is then left out.
    """

    drive: Drive
    vehicle: VehicleFacts
    geometry: bool = True

    @cached_property
    def rests(self) -> dict[str, BeltAtRest]:
        """Every belt with coordinates at rest at the reference temperature, by its id; empty without geometry."""
        if not self.geometry:
            return {}
        return {belt.id: belt_at_rest(self.drive, belt) for belt in self.drive.belts if belt.has_coordinates}

    @cached_property
    def reachable_notes(self) -> list[str]:
        """The spans that can be plucked, each with the note to expect of it, cold, where the drive tells one."""
        access = self.drive.file.access
        notes = {
            frozenset(row.span.name.split(":")): row for row in expected_notes(self.drive, list(self.rests.values()))
        }
        found = []
        for name in access.reachable if access else ():
            row = notes.get(frozenset(name.split(":")))
            known = row is not None and row.low_hz is not None and row.high_hz is not None
            told = f", {row.low_hz:.3g} to {row.high_hz:.3g} Hz" if row is not None and known else ""
            found.append(name.replace(":", " to ") + told)
        return found

    @property
    def turn_way(self) -> str:
        """The crankshaft's running direction as a way to turn."""
        return way_of_sense(self.drive.crank_sense)

    @property
    def back_way(self) -> str:
        """The way the crankshaft must not be turned with the belt on."""
        return other_way(self.turn_way)

    @property
    def after_turns(self) -> int:
        """Turns [-] by hand before the final readings count."""
        return self.drive.file.timing.after_turns

    @property
    def turns(self) -> str:
        """Those turns in words."""
        return turns_words(self.after_turns)

    @property
    def fuel(self) -> str | None:
        """The engine's fuel, by the vehicle or else by the drive file."""
        return self.vehicle.fuel or self.drive.file.engine.fuel

    @cached_property
    def main(self) -> Belt:
        """The belt that ties a camshaft to the crankshaft; else the first one."""
        crank = self.drive.crankshaft.id
        for belt in self.drive.belts:
            roles = {pulley.role for pulley in belt.pulleys}
            if belt.driver.shaft == crank and "camshaft" in roles:
                return belt
        return self.drive.belts[0]

    @cached_property
    def inner(self) -> tuple[Belt, ...]:
        """Further belts that come off after the main one and go on before it, in the order they go on."""
        order = self._belts_off()
        after = order[order.index(self.main.id) + 1 :]
        return tuple(self._belt(belt_id) for belt_id in reversed(after))

    @cached_property
    def outer(self) -> tuple[Belt, ...]:
        """Further belts that come off before the main one and go on after it, in the order they go on."""
        order = self._belts_off()
        before = order[: order.index(self.main.id)]
        return tuple(self._belt(belt_id) for belt_id in reversed(before))

    @property
    def belt_order_given(self) -> bool:
        """Whether the drive file says in which order several belts come off."""
        return bool(self.drive.file.access.remarks.get("belts_off"))

    def _belts_off(self) -> list[str]:
        every = [belt.id for belt in self.drive.belts]
        given = self.drive.file.access.remarks.get("belts_off")
        if isinstance(given, list) and sorted(map(str, given)) == sorted(every):
            return [str(belt_id) for belt_id in given]
        return [belt_id for belt_id in every if belt_id != self.main.id] + [self.main.id]

    def _belt(self, belt_id: str) -> Belt:
        return next(belt for belt in self.drive.belts if belt.id == belt_id)

    def at(self, step_id: str, belt: Belt) -> str:
        """A step's id on a belt: the plain one on the main belt, else with ``@`` and the belt."""
        return step_id if belt is self.main else f"{step_id}@{slug(belt.id)}"

    def belt_words(self, belt: Belt) -> str:
        """The belt as the plan calls it: "the timing belt" where there is one, else by its id."""
        if len(self.drive.belts) == 1 or belt.id.endswith("belt"):
            return "the belt" if len(self.drive.belts) == 1 else f"the {belt.id}"
        return f"the {belt.id} belt"

    @property
    def in_oil(self) -> bool:
        """Whether any belt runs in oil."""
        return any(belt.table.in_oil for belt in self.drive.belts)

    def cautions(self, *ids: str) -> tuple[PlanCaution, ...]:
        """Cautions by their ids, in the words that fit a dry belt or one in oil."""
        return tuple(PlanCaution(caution_id, caution(caution_id, self.in_oil)) for caution_id in dict.fromkeys(ids))

    # shafts -----------------------------------------------------------------

    @cached_property
    def phased(self) -> tuple[Shaft, ...]:
        """The shafts that must agree with the crankshaft, without it."""
        return tuple(shaft for shaft in self.drive.shafts if shaft.phased and shaft.role != "crankshaft")

    def name(self, shaft: Shaft) -> str:
        """A shaft as the plan calls it."""
        return shaft_name(self.drive, shaft)

    def on_belt(self, belt: Belt) -> tuple[Shaft, ...]:
        """The shafts on a belt, each once, in belt order."""
        return tuple(self.drive.shaft(shaft_id) for shaft_id in dict.fromkeys(p.shaft for p in belt.pulleys))

    @cached_property
    def springy(self) -> tuple[Shaft, ...]:
        """The shafts to hold before the belt leaves them."""
        return tuple(shaft for shaft in self.drive.shafts if shaft.table and shaft.table.hold_before_belt_off)

    @cached_property
    def unpinned(self) -> tuple[Shaft, ...]:
        """The springy shafts that no pin or bar holds: they need holders."""
        held = {pin.shaft for pin in self.pins if pin.purpose == "hold"}
        return tuple(shaft for shaft in self.springy if shaft.id not in held)

    @cached_property
    def phasers(self) -> tuple[Shaft, ...]:
        """The shafts with variable timing."""
        return tuple(shaft for shaft in self.drive.shafts if shaft.table and shaft.table.phaser)

    def with_hub(self, *hubs: str) -> tuple[Shaft, ...]:
        """The phased shafts, crankshaft left out, whose sprocket sits on such a hub and on a belt."""
        toothed = {pulley.shaft for belt in self.drive.belts for pulley in belt.pulleys if pulley.toothed}
        return tuple(
            shaft for shaft in self.drive.shafts if shaft.hub in hubs and shaft in self.phased and shaft.id in toothed
        )

    def wheels(self, role: str) -> tuple[Pulley, ...]:
        """The wheels of a role on any belt."""
        return tuple(pulley for belt in self.drive.belts for pulley in belt.pulleys if pulley.role == role)

    # pins -------------------------------------------------------------------

    @cached_property
    def rods(self) -> tuple[PinTable, ...]:
        """Pins that check a balance shaft: only their depth tells a shaft half a turn out."""
        return tuple(pin for pin in self.drive.file.pin if self._role(pin.shaft) == "balance shaft")

    @cached_property
    def pins(self) -> tuple[PinTable, ...]:
        """All other pins and bars."""
        return tuple(pin for pin in self.drive.file.pin if pin not in self.rods)

    def _role(self, shaft_id: str) -> str:
        return next((shaft.role for shaft in self.drive.shafts if shaft.id == shaft_id), "")

    # requirements -----------------------------------------------------------

    def belt_of(self, place: str | None) -> Belt:
        """The belt a requirement's place lies on; the main one where it names none or several."""
        if place:
            for belt in (self.main, *(other for other in self.drive.belts if other is not self.main)):
                known = {belt.id, *(p.id for p in belt.pulleys), *(p.shaft for p in belt.pulleys)}
                if all(part in known for part in place.split(":")):
                    return belt
        return self.main

    def requirements(
        self, *quantities: str, belt: Belt | None = None, states: tuple[str | None, ...] = (None, "after turns")
    ) -> tuple[RequirementTable, ...]:
        """Requirements of some quantities, of one belt where given, in some states."""
        return tuple(
            requirement
            for requirement in self.drive.file.requirement
            if requirement.quantity in quantities
            and requirement.state in states
            and (belt is None or self.belt_of(requirement.at) is belt)
        )

    def requirement_values(self, requirements: tuple[RequirementTable, ...]) -> tuple[Value, ...]:
        """Requirements as values to reach, each with its source."""
        return tuple(
            Value(
                requirement_what(requirement, self.drive),
                requirement_limits(requirement),
                self.source(requirement.source),
                requirement.id,
            )
            for requirement in requirements
        )

    def requirement_records(self, requirements: tuple[RequirementTable, ...]) -> tuple[Record, ...]:
        """The blanks that go with requirements."""
        return tuple(_requirement_record(requirement, self.drive) for requirement in requirements)

    def source(self, given: str | None) -> str:
        """A value's own source, or the drive's."""
        return given or self.drive.source

    # fasteners --------------------------------------------------------------

    @cached_property
    def fasteners(self) -> dict[str, tuple[FastenerTable, ...]]:
        """Fasteners by the place of the work they belong to."""
        return sort_fasteners(self.drive)

    def fastener(self, fastener_id: str | None) -> FastenerTable | None:
        """The fastener of that id, None when the file has none."""
        return next((item for item in self.drive.file.fastener if item.id == fastener_id), None)

    def torque_values(self, fasteners: tuple[FastenerTable, ...]) -> tuple[Value, ...]:
        """Fasteners as values to reach; a torque requirement of its own for one stands behind it."""
        values = []
        for item in fasteners:
            values.append(Value(fastener_name(item), fastener_words(item), self.drive.source, item.id))
            wanted = tuple(
                requirement
                for requirement in self.drive.file.requirement
                if requirement.quantity in ("torque", "angle") and requirement.at == item.id
            )
            values.extend(self.requirement_values(wanted))
        return tuple(values)

    def torque_records(self, fasteners: tuple[FastenerTable, ...]) -> tuple[Record, ...]:
        """The blanks that go with fasteners: which tool, to the plan."""
        return tuple(Record("torque", item.id, "text", id=item.id) for item in fasteners)

    # tensioners -------------------------------------------------------------

    def named_by(self, act: SettingStep, tensioner: Tensioner) -> FastenerTable | None:
        """The fastener an act of setting names; an empty name (usual sequence): the one that locks the tensioner."""
        if act.fastener:
            return self.fastener(act.fastener)
        locking = [item for item in self.fasteners["tensioner"] if item.locks == tensioner.pulley]
        return locking[0] if locking and act.fastener is not None else None

    def tightened(self, acts: tuple[SettingStep, ...], tensioner: Tensioner) -> tuple[FastenerTable, ...]:
        """The fasteners that acts of setting tighten to their value, in order, each once."""
        named = [self.named_by(act, tensioner) for act in acts if not act.light and not act.loosen]
        known = self.fasteners["tensioner"]
        return tuple({item.id: item for item in named if item is not None and item in known}.values())

    def final_fasteners(self, belt: Belt) -> tuple[FastenerTable, ...]:
        """The tensioner's fasteners that get their value only after the proof, or that no act of setting tightens."""
        late: list[FastenerTable] = []
        done: set[str] = set()
        for tensioner in belt.tensioners:
            sequence = sequence_of(tensioner)
            late += self.tightened(sequence.final, tensioner)
            done |= {item.id for one in sequence.rounds for item in self.tightened(one.acts, tensioner)}
        rest = [item for item in self.fasteners["tensioner"] if self._locks_on(item, belt)]
        late += [item for item in rest if item.id not in done]
        return tuple({item.id: item for item in late}.values())

    def _locks_on(self, fastener: FastenerTable, belt: Belt) -> bool:
        pulleys = {tensioner.pulley for tensioner in belt.tensioners}
        named = any(act.fastener == fastener.id for tensioner in belt.tensioners for act in tensioner.setting)
        return fastener.locks in pulleys or named


def _requirement_record(requirement: RequirementTable, drive: Drive) -> Record:
    kind = METHOD_RECORDS.get(requirement.quantity, "measured")
    what = requirement_what(requirement, drive)
    by_eye = requirement.quantity in ("hand twist", "mark", "pin") or (
        requirement.quantity == "pointer" and requirement.method != "measured"
    )
    if by_eye:
        return Record(kind, f"{what}: as required", "tick", id=requirement.id)
    unit = requirement.unit or DEFAULT_UNITS.get(requirement.quantity, "")
    return Record(kind, what, "number", unit, requirement.id)
