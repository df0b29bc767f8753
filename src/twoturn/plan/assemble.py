"""From a drive and a vehicle to the plan: the steps in order, the drive file's own steps put in, the lists."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from difflib import get_close_matches

from twoturn.drive.model.work import RequirementTable, StepTable
from twoturn.drive.parts import Drive
from twoturn.errors import Fault, FileFaults
from twoturn.plan.facts import Facts
from twoturn.plan.lists import fluids, minutes, pins, special_tools, torque_tools
from twoturn.plan.model import Plan, PlanCaution, Record, Step, Value
from twoturn.plan.order import CATALOGUE, place_of
from twoturn.plan.parts import parts
from twoturn.plan.stages.arrival import arrival
from twoturn.plan.stages.before import before
from twoturn.plan.stages.finish import finish
from twoturn.plan.stages.fit import fit, thread
from twoturn.plan.stages.look import look
from twoturn.plan.stages.prove import final_torque, prove, pump_timing, setting_step
from twoturn.plan.stages.strip import strip
from twoturn.plan.stages.tension import first_round, hubs, later_rounds
from twoturn.plan.vehicle import VehicleFacts
from twoturn.plan.wording import slug
from twoturn.words.numbers import list_words


def make_plan(
    drive: Drive,
    vehicle: VehicleFacts | None = None,
    shop_times_min: Sequence[float] | None = None,
    file_name: str = "",
) -> Plan:
    """The plan for a drive and, where it is known, a vehicle.

    Parameters
    ----------
    drive
        The drive, with coordinates or without.
    vehicle
        What is known of the vehicle; unknown facts make conditional steps.
    shop_times_min
        Working times of this shop's earlier jobs of the kind [min].
    file_name
        Name of the drive file, for the faults.

    Returns
    -------
    Plan
        Steps in the order of the work, and the lists laid out before it.

    Raises
    ------
    FileFaults
        A ``[[step]]`` of the drive file that follows an unknown step or takes an id in use.
    """
    facts = Facts(drive, vehicle or VehicleFacts())
    steps = _with_own(facts, _with_every_requirement(facts, list(_steps(facts))), file_name or drive.name)
    tools, notes = torque_tools(drive)
    return Plan(
        drive=drive.name,
        source=drive.source,
        vehicle=facts.vehicle.words,
        steps=tuple(steps),
        parts=parts(facts),
        torque_tools=tools,
        tools=special_tools(facts),
        pins=pins(drive),
        fluids=fluids(drive),
        minutes=minutes(shop_times_min),
        notes=(*_notes(facts), *notes),
    )


def step_order(drive: Drive) -> tuple[str, ...]:
    """Ids of every step that a plan for this drive may have, in order; nothing is taken for granted of the vehicle.

    Quicker than a plan: nothing is computed from the geometry.

    Raises
    ------
    FileFaults
        A ``[[step]]`` of the drive file that cannot be placed.
    """
    facts = Facts(drive, VehicleFacts(), geometry=False)
    return tuple(step.id for step in _with_own(facts, list(_steps(facts)), drive.name))


def _steps(facts: Facts) -> Iterator[Step]:
    yield from before(facts)
    yield from arrival(facts)
    yield from strip(facts)
    yield from look(facts)
    yield from fit(facts)
    for belt in facts.inner:
        yield thread(facts, belt)
        yield from first_round(facts, belt)
    yield thread(facts, facts.main)
    yield from first_round(facts, facts.main)
    yield from hubs(facts)
    for belt in (*facts.inner, facts.main):
        yield from later_rounds(facts, belt)
    yield from prove(facts, facts.main)
    for belt in facts.inner:
        yield from setting_step(facts, belt)
        yield from final_torque(facts, belt)
    yield from pump_timing(facts)
    for belt in facts.outer:
        yield thread(facts, belt)
        yield from first_round(facts, belt)
        yield from later_rounds(facts, belt)
        yield from prove(facts, belt)
    yield from finish(facts)


def _with_every_requirement(facts: Facts, steps: list[Step]) -> list[Step]:
    """Put each requirement that no step shows yet where it can be met: none may get lost."""
    shown = {value.id for step in steps for value in step.values}
    for requirement in facts.drive.file.requirement:
        if requirement.id in shown:
            continue
        wanted = (requirement,)
        home = _home(requirement)
        at = next((index for index, step in enumerate(steps) if step.id in home), len(steps) - 1)
        values = (*steps[at].values, *facts.requirement_values(wanted))
        records = (*steps[at].records, *facts.requirement_records(wanted))
        steps = [*steps[:at], replace(steps[at], values=values, records=records), *steps[at + 1 :]]
    return steps


def _home(requirement: RequirementTable) -> tuple[str, ...]:
    if requirement.quantity in ("torque", "angle"):
        return ("fit-covers",)
    if requirement.quantity == "compression":
        return ("arrival-checks", "check-after-break")
    return ("record-as-found",) if requirement.state == "as found" else ("prove-timing",)


def _notes(facts: Facts) -> list[str]:
    notes = []
    if facts.drive.is_list:
        notes.append("This drive file has no coordinates: tooth counts between marks are not computed.")
    if not facts.vehicle.words:
        notes.append("Nothing is known of the vehicle: steps that depend on it begin with “If”.")
    if not facts.drive.file.fastener:
        notes.append("The drive file lists no fasteners: take every torque from the vehicle maker's data.")
    if len(facts.drive.belts) > 1 and not facts.belt_order_given:
        notes.append("Which belt lies outside is not in the drive file: [access] belts_off = […] settles it.")
    return notes


@dataclass(frozen=True)
class OwnFault:
    """A fault of one of the drive file's own steps: its place in the list from 0 [-], its key, found and expected."""

    index: int
    key: str
    found: str
    expected: str


def own_step_faults(drive: Drive) -> list[OwnFault]:
    """What is wrong with the drive file's own steps: an id in use, or one put behind a step that no plan has."""
    taken = {step.id for step in _steps(Facts(drive, VehicleFacts(), geometry=False))}
    faults = []
    for index, table in enumerate(drive.file.step):
        own_id = _own_id(table, index + 1)
        if own_id in taken or own_id in CATALOGUE:
            faults.append(OwnFault(index, "id", f'"{own_id}"', "an id that no other step has"))
        if table.after not in taken and not _known(table.after):
            near = get_close_matches(table.after, [*taken, *CATALOGUE], n=3, cutoff=0.4)
            right = "the id of a step of the plan" + (f", such as {list_words(near, 'or')}" if near else "")
            faults.append(OwnFault(index, "after", f'"{table.after}"', right))
        if table.fastener is not None and all(item.id != table.fastener for item in drive.file.fastener):
            faults.append(OwnFault(index, "fastener", f'"{table.fastener}"', "the id of a [[fastener]]"))
        taken.add(own_id)
    return faults


def _with_own(facts: Facts, steps: list[Step], file_name: str) -> list[Step]:
    """Put the drive file's own steps behind the steps they name."""
    found = own_step_faults(facts.drive)
    if found:
        raise FileFaults([Fault(file_name, None, f"step[{f.index + 1}].{f.key}", f.found, f.expected) for f in found])
    for number, table in enumerate(facts.drive.file.step, 1):
        steps = _put(steps, table.after, _own(facts, table, _own_id(table, number), steps))
    return steps


def _known(step_id: str) -> bool:
    return step_id.partition("@")[0] in CATALOGUE


def _own_id(table: StepTable, number: int) -> str:
    return table.id or f"own-{number}-{slug(' '.join(table.text.split()[:4]))}"


def _put(steps: list[Step], after: str, own: Step) -> list[Step]:
    """Behind the step named (and behind own steps that follow it already); where it does not apply, at its place."""
    at = next((index for index, step in enumerate(steps) if step.id == after), None)
    if at is None:
        rank = place_of(after)
        at = max((i for i, step in enumerate(steps) if not step.own and place_of(step.id) < rank), default=-1)
    at += 1
    while at < len(steps) and steps[at].own:
        at += 1
    stage = steps[at - 1].stage if at else steps[0].stage
    return [*steps[:at], replace(own, stage=stage), *steps[at:]]


def _own(facts: Facts, table: StepTable, own_id: str, steps: list[Step]) -> Step:
    fastener = facts.fastener(table.fastener)
    bolts = (fastener,) if fastener else ()
    values: tuple[Value, ...] = facts.torque_values(bolts)
    text = table.text.rstrip(". ")
    head, _, rest = text.partition(". ")
    cautions = (PlanCaution("drive", table.caution),) if table.caution else ()
    return Step(
        own_id,
        steps[0].stage,
        head,
        (rest + ".",) if rest else (),
        "the drive file brings this step",
        cautions=cautions,
        tools=("torque tool",) if bolts else (),
        values=values,
        records=(*facts.torque_records(bolts), Record("step done", "Done")),
        own=True,
    )
