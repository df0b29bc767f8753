"""A new job file: every entry the drive asks for, in the order of the plan, as lines to fill in."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from twoturn.drive.parts import Belt, Drive
from twoturn.job.file import FORMAT
from twoturn.job.needs import SETTING, Need, needs_of
from twoturn.job.places import Places
from twoturn.plan import make_plan
from twoturn.plan.facts import Facts
from twoturn.plan.model import Step
from twoturn.plan.sequence import sequence_of
from twoturn.plan.stages.prove import turns_needed
from twoturn.plan.vehicle import VehicleFacts

BLANK = "…"
"""What stands where a person writes: the file is refused until it is replaced."""
WIDTH = 100
"""Where a remark is wrapped [characters]."""
QUANTITY_ENTRY: dict[str, tuple[str, dict[str, Any], str]] = {
    "pointer": ("pointer", {"reads": BLANK}, "at"),
    "protrusion": ("protrusion", {"protrusion_mm": BLANK}, "at"),
    "frequency": ("pluck", {"file": BLANK}, "span"),
    "tension": ("pluck", {"file": BLANK}, "span"),
    "deflection": ("deflection", {"deflection_mm": BLANK}, "at"),
    "hand twist": ("twist", {"as_prescribed": True}, "at"),
    "pump lift": ("pump lift", {"lift_mm": BLANK}, "at"),
    "cam phase": ("capture", {"file": BLANK}, ""),
}


@dataclass(frozen=True)
class Line:
    """An entry to fill in: its keys and a remark behind it."""

    keys: dict[str, Any]
    remark: str = ""


def job_template(drive: Drive, named: str, entered: str) -> str:
    """The text of a new job file: its head, and every entry the drive asks for, commented out.

    Parameters
    ----------
    drive
        The drive.
    named
        How the job file names it: a path or the name of a shipped drive.
    entered
        Date and time that the first entry proposes, as TOML writes it.

    Returns
    -------
    str
        A whole valid job file without entries yet.
    """
    head = [
        f"## Job file: {drive.name}.",
        "## One [[entry]] a fact. Take one # away from the lines of what was done, and write over every … there.",
        "## by and entered stand in the first entry; later ones need them only when they change.",
        "## Everything may be typed at the end: done says at which step of the plan it was done.",
        "## docs/job-file.md has every kind of entry; twoturn plan has the steps.",
        "",
        f"format = {FORMAT}",
        f"drive = {_toml(named)}",
    ]
    blocks = [_block(line) for line in template_entries(drive, entered)]
    return "\n".join(head) + "\n\n" + "\n\n".join(blocks) + "\n"


def template_entries(drive: Drive, entered: str) -> tuple[Line, ...]:
    """The entries of a new job file, in the order of the plan.

    Parameters
    ----------
    drive
        The drive.
    entered
        Date and time that the first entry proposes.
    """
    writer = _Writer(drive, entered)
    return tuple(line for step in make_plan(drive).steps for line in writer.of(step))


class _Writer:
    """Writes the entries of one step after the other."""

    def __init__(self, drive: Drive, entered: str) -> None:
        self.drive = drive
        self.entered = entered
        self.places = Places(drive)
        self.needs = needs_of(drive, self.places)
        self.facts = Facts(drive, VehicleFacts())

    def of(self, step: Step) -> Iterator[Line]:
        """The entries of a step."""
        base = step.id.partition("@")[0].partition(".")[0]
        for line in self._lines(base, step):
            done = {} if base == "identify-vehicle" else {"done": step.id}
            yield Line({**line.keys, **done}, line.remark)

    def _lines(self, base: str, step: Step) -> Iterator[Line]:
        writer = getattr(self, "_" + base.replace("-", "_"), None)
        own = [] if writer is None else list(writer(step))
        tightened = list(self._tightened(base, step))
        last = base == "static-pump-timing"  # measured again once the flange is tight
        yield from [*tightened, *own] if last else [*own, *tightened]

    def _tightened(self, base: str, step: Step) -> Iterator[Line]:
        torques = tuple(dict.fromkeys(record.id for record in step.records if record.kind == "torque" and record.id))
        if torques:
            keys: dict[str, Any] = {"kind": "torque", "fastener": _one(torques), "to_plan": True, "tool": "A"}
            if base == "final-torque":
                keys["nothing_moved"] = True
            yield Line(keys, _values(step))

    def _identify_vehicle(self, step: Step) -> Iterator[Line]:
        fuel = self.drive.file.engine.fuel or BLANK
        yield Line(
            {"kind": "vehicle", "by": BLANK, "entered": _Bare(self.entered), "registration": BLANK, "fuel": fuel},
            step.title,
        )
        yield Line({"kind": "odometer", "km": BLANK})

    def _lay_out_parts(self, step: Step) -> Iterator[Line]:
        yield Line({"kind": "tool", "tool": "A", "low_nm": BLANK, "high_nm": BLANK, "calibrated": BLANK}, step.title)

    def _cool_and_temperature(self, _step: Step) -> Iterator[Line]:
        yield Line({"kind": "temperature", "of": "shop air", "temperature_c": BLANK}, "asked once a day")
        yield Line({"kind": "temperature", "temperature_c": BLANK}, '"overnight", "hand-warm", "hot" or a number')

    def _check_what_stays(self, _step: Step) -> Iterator[Line]:
        yield Line(
            {"kind": "finding", "finding": "all", "present": False}, 'except = ["leak-oil"] names what is not clear'
        )

    def _pins_in(self, step: Step) -> Iterator[Line]:
        for pin in dict.fromkeys(record.id for record in step.records if record.id):
            if self._holds(pin):
                yield Line({"kind": "pin in", "pin": pin, "use": "hold"}, "goes in by hand; it is counted out again")

    def _pins_out(self, _step: Step) -> Iterator[Line]:
        if any(map(self._holds, self.places.pins)):
            yield Line({"kind": "pin out", "pin": "all"}, "counted")

    def _holds(self, pin: str) -> bool:
        """Whether a pin holds its shaft; one that checks goes in when the timing is proven, and out again."""
        return pin in self.places.pins and self.places.pins[pin].purpose == "hold"

    def _thread_belt(self, step: Step) -> Iterator[Line]:
        belt = self._belt(step)
        named = {"belt": belt.id} if len(self.drive.belts) > 1 else {}
        yield Line(
            {"kind": "belt fitted", **named, "teeth": BLANK, "arrow": BLANK},
            f'{belt.table.teeth} teeth; arrow "with travel" or "none"',
        )

    def _set_tensioner(self, step: Step) -> Iterator[Line]:
        for tensioner in self._belt(step).tensioners:
            yield Line({"kind": "adjuster moved", "at": tensioner.pulley, "to_plan": True}, step.title)

    def _finish_setting(self, step: Step) -> Iterator[Line]:
        yield from self._set_tensioner(step)

    def _turn_to_settle(self, step: Step) -> Iterator[Line]:
        yield Line({"kind": "turned", "turns": BLANK}, step.title)

    def _turn_by_hand(self, step: Step) -> Iterator[Line]:
        turns = turns_needed(self.facts, self._belt(step))
        yield Line({"kind": "turned", "turns": turns}, "overshot = true, turned_back = true where it was so")

    def _turn_after_pump_timing(self, step: Step) -> Iterator[Line]:
        yield from self._turn_by_hand(step)

    def _prove_timing(self, step: Step) -> Iterator[Line]:
        marks = tuple(dict.fromkeys(record.id for record in step.records if record.kind == "mark" and record.id))
        marks = tuple(mark for mark in marks if self.places.shaft_of(mark) is not None)
        if marks:
            yield Line(
                {"kind": "mark", "at": _one(marks), "reads": BLANK}, '"on", "quarter", "half", "one"; way = "late"'
            )
        pins = [record.id for record in step.records if record.id in self.places.pins]
        for pin in dict.fromkeys(pins):
            deep = self._is_rod(pin)
            depth = {"depth_mm": BLANK} if deep else {}
            yield Line(
                {"kind": "pin in", "pin": pin, "use": "check", "freely": True, **depth}, "by hand, then out again"
            )
        for need in self.needs:
            if need.quantity == "cam phase" and step.id == "prove-timing":
                yield self._reading(need)

    def _prove_after_pump_timing(self, step: Step) -> Iterator[Line]:
        yield from self._prove_timing(step)

    def _is_rod(self, pin: str) -> bool:
        role = self.drive.shaft(self.places.pins[pin].shaft).role
        return role == "balance shaft" or any(
            need.quantity == "pin depth" and need.shaft == self.places.pins[pin].shaft for need in self.needs
        )

    def _prove_setting(self, step: Step) -> Iterator[Line]:
        belt = self._belt(step)
        waits = [sequence_of(tensioner).settle_min for tensioner in belt.tensioners]
        settle = max([*waits, *(need.settle_min for need in self.needs if belt.id in need.belts)], default=0.0)
        if settle:
            yield Line({"kind": "waited", "minutes": settle})
        wanted = [need for need in self.needs if need.quantity in SETTING and need.belts == {belt.id}]
        for need in wanted:
            yield self._reading(need)
        if not wanted:
            for tensioner in belt.tensioners:
                if tensioner.kind in ("double eccentric", "sprung arm", "slide"):
                    yield Line(
                        {"kind": "pointer", "at": tensioner.pulley, "reads": BLANK}, '"in the notch", "short", "past"'
                    )

    def _static_pump_timing(self, _step: Step) -> Iterator[Line]:
        yield Line({"kind": "turned", "turns": 0, "turned_back": True}, "allowed in this step only")
        for need in self.needs:
            if need.quantity == "pump lift":
                yield self._reading(need)

    def _crank_injection_off(self, _step: Step) -> Iterator[Line]:
        if self.drive.file.timing.cam_edges:
            yield Line({"kind": "capture", "file": BLANK}, "recording of crank and cam sensors, made with the starter")

    def _hand_over(self, _step: Step) -> Iterator[Line]:
        yield Line(
            {"kind": "moved at end", "moved": BLANK}, "after the last turns, was anything moved, or turned back?"
        )
        for need in self.needs:
            if need.quantity not in SETTING and need.quantity not in (
                "mark",
                "pin",
                "pin depth",
                "pump lift",
                "cam phase",
            ):
                keys = {"kind": "measured", "quantity": need.quantity, "value": BLANK, "u": BLANK}
                yield Line({**keys, **({"at": need.place} if need.place else {})}, f"{need.title}: {need.text}")
        yield Line({"kind": "signed", "role": "technician"})

    def _reading(self, need: Need) -> Line:
        kind, keys, place = QUANTITY_ENTRY[need.quantity]
        where = {place: need.place} if place and need.place else {}
        row: dict[str, Any] = {"kind": kind, **where}
        row |= keys
        if need.quantity == "deflection" and need.at_n:
            row["force_n"] = need.at_n
        return Line(row, f"{need.title}: {need.text}")

    def _belt(self, step: Step) -> Belt:
        return self.places.belt(step.belt or None) or self.facts.main


@dataclass(frozen=True)
class _Bare:
    """A value that TOML writes without quotation marks."""

    text: str


def _one(names: tuple[str, ...]) -> str | list[str]:
    return names[0] if len(names) == 1 else list(names)


def _values(step: Step) -> str:
    return "; ".join(f"{value.what}: {value.value}" for value in step.values if value.id)


def _toml(value: Any) -> str:
    if isinstance(value, _Bare):
        return value.text
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int | float):
        return f"{value:g}"
    if isinstance(value, list):
        return "[" + ", ".join(_toml(item) for item in value) + "]"
    if value == BLANK:
        return BLANK
    text = str(value).replace("\\", "\\\\").replace('"', '\\"')
    return f'"{text}"'


def _block(line: Line) -> str:
    remark = "".join(f"## {row}\n" for row in textwrap.wrap(line.remark, WIDTH, break_on_hyphens=False))
    rows = ["[[entry]]", *(f"{key} = {_toml(value)}" for key, value in line.keys.items())]
    return remark + "\n".join(f"# {row}" for row in rows)
