"""From a drive and a vehicle to the plan: the steps in order, the drive file's own steps put in, the lists."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from difflib import get_close_matches

from twoturn.drive.model.work import StepTable
from twoturn.drive.parts import Drive
from twoturn.errors import Fault, FileFaults
from twoturn.plan.facts import Facts
from twoturn.plan.lists import fluids, minutes, parts, pins, special_tools, torque_tools
from twoturn.plan.model import Plan, PlanCaution, Record, Step, Value
from twoturn.plan.order import CATALOGUE, place_of
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
    steps = _with_own(facts, list(_steps(facts)), file_name or drive.name)
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


def _with_own(facts: Facts, steps: list[Step], file_name: str) -> list[Step]:
    """Put the drive file's own steps behind the steps they name."""
    taken = {step.id for step in steps}
    own_ids = [_own_id(table, number) for number, table in enumerate(facts.drive.file.step, 1)]
    faults = []
    for number, (table, own_id) in enumerate(zip(facts.drive.file.step, own_ids, strict=True), 1):
        key = f"step[{number}]"
        if own_id in taken:
            faults.append(Fault(file_name, None, f"{key}.id", f'"{own_id}"', "an id no other step has"))
        if table.after not in taken and not _known(table.after):
            near = get_close_matches(table.after, [*taken, *CATALOGUE], n=3, cutoff=0.4)
            right = "the id of a step of the plan" + (f", such as {', '.join(near)}" if near else "")
            faults.append(Fault(file_name, None, f"{key}.after", f'"{table.after}"', right))
            continue
        if own_id not in taken:
            steps = _put(steps, table.after, _own(facts, table, own_id, steps))
            taken.add(own_id)
    if faults:
        raise FileFaults(faults)
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
        records=(*facts.torque_records(bolts), Record("step", "Done")),
        own=True,
    )
