"""Every question of a job, step by step: what each step of the plan asks, and what the entries answer already."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace

from twoturn.drive.parts import Drive
from twoturn.job.asked import of_readings, of_record, of_timing, of_work
from twoturn.job.asked.answers import with_answers
from twoturn.job.asked.homes import AS_FOUND, PROVING, home_of, row_id
from twoturn.job.asked.model import Asked, Known
from twoturn.job.asked.sheet import Sheet, base_of
from twoturn.job.entries.base import EntryBase
from twoturn.plan.model import Plan, Record, Step
from twoturn.plan.sequence import sequence_of

Records = tuple[Record, ...]
Asks = Callable[[Sheet, Step, Records], Iterator[Asked]]
NO_LEAVING = frozenset({"identify-vehicle", "hand-over"})
"""Steps that nobody leaves out."""


def asked(
    drive: Drive, plan: Plan, entries: Sequence[EntryBase], known: Known | None = None
) -> Mapping[str, tuple[Asked, ...]]:
    """Every question of a job.

    Parameters
    ----------
    drive, plan
        The drive, and the plan of this job.
    entries
        All entries of the record so far, in order.
    known
        What vehicle, drawer and earlier jobs say already.

    Returns
    -------
    Mapping
        The questions of each step of the plan, by its id, in the order in which they are answered; each with the
        entries that answer it in the round its step is in. Ids of questions stay the same in every round.
    """
    sheet = Sheet(drive, plan, tuple(entries), known or Known())
    return with_answers(sheet, {step.id: tuple(_unlike(_of_step(sheet, step))) for step in plan.steps})


def _unlike(questions: Iterator[Asked]) -> Iterator[Asked]:
    """Every id once: a second one of the same name gets a number behind it."""
    seen: dict[str, int] = {}
    for one in questions:
        seen[one.id] = seen.get(one.id, 0) + 1
        yield one if seen[one.id] == 1 else replace(one, id=f"{one.id}-{seen[one.id]}")


def _of_step(sheet: Sheet, step: Step) -> Iterator[Asked]:
    """The questions of a step: what is done before what is read, photos and signatures last."""
    yield from _by_records(sheet, step, FIRST)
    yield from _settled(sheet, step)
    yield from _by_records(sheet, step, DONE)
    yield from _read(sheet, step)
    yield from _by_records(sheet, step, LAST)
    yield from _step_done(sheet, step)


def _by_records(sheet: Sheet, step: Step, asks: Mapping[str, Asks]) -> Iterator[Asked]:
    """What the records of a step ask, kind by kind."""
    for kind, ask in asks.items():
        records = tuple(record for record in step.records if record.kind == kind)
        if kind == "remark":
            records = (*records, *_written_down(sheet, step))
        if records:
            yield from ask(sheet, step, records)


def _written_down(sheet: Sheet, step: Step) -> Records:
    """Numbers of a step that nothing is decided by: litres drained, pressure held, how far the crankshaft was moved."""
    measured = [one for one in step.records if one.kind == "measured" and one.id not in sheet.places.pins]
    if not measured or base_of(step) == "look-at-old-belt":
        return ()
    needs = {row_id(sheet, need) for need in sheet.needs}
    return tuple(record for record in measured if record.id not in needs)


def _settled(sheet: Sheet, step: Step) -> Iterator[Asked]:
    """The wait that a step asks for."""
    base = base_of(step)
    if base == "prove-setting":
        needs = [need for need in sheet.needs if home_of(sheet, need) == step.id]
        waits = [sequence_of(tensioner).settle_min for tensioner in sheet.belt(step).tensioners]
        minutes = max([*waits, *(need.settle_min for need in needs)], default=0.0)
        if minutes:
            yield of_work.waited(sheet, step, minutes, [need.id for need in needs if need.settle_min])
    elif any(record.kind == "waited" for record in step.records):
        yield of_work.waited(sheet, step, sheet.drive.file.fluids.fuel_wait_min)


def _read(sheet: Sheet, step: Step) -> Iterator[Asked]:
    """What is looked at and measured at a step."""
    base = base_of(step)
    seen = tuple(record for record in step.records if record.kind == "mark")
    if seen or base in PROVING or base == AS_FOUND:
        yield from of_timing.marks(sheet, step, seen)
    put_in = tuple(record for record in step.records if record.kind in ("pin in", "measured"))
    yield from of_timing.pins(sheet, step, put_in)
    if base == AS_FOUND:
        yield from of_readings.as_found(sheet, step)
    yield from of_readings.needed_readings(sheet, step)
    if base == "look-at-old-belt" and not any(need.quantity == "width" for need in sheet.needs):
        yield of_readings.reading(sheet, step, "width", None, None)


def _step_done(sheet: Sheet, step: Step) -> Iterator[Asked]:
    """That the step is done, or left; where its other entries say so, only leaving it is asked for."""
    said = tuple(record.what for record in step.records if record.kind == "step done")
    others = any(record.kind != "step done" for record in step.records)
    if base_of(step) not in NO_LEAVING:
        yield of_record.step_done(sheet, step, said, by_its_acts=others and not said)


FIRST: dict[str, Asks] = {
    "vehicle": of_record.vehicle,
    "odometer": of_record.odometer,
    "decided": of_record.decided,
    "tool": of_work.tools,
    "temperature": of_record.temperatures,
}
DONE: dict[str, Asks] = {
    "finding": of_record.findings,
    "loosened": of_work.loosened,
    "part fitted": of_work.part_fitted,
    "belt fitted": of_work.belt_fitted,
    "adjuster moved": of_work.adjuster,
    "torque": of_work.torque,
    "turned": of_work.turned,
    "remark": of_record.remarks,
}
LAST: dict[str, Asks] = {
    "capture": of_readings.capture,
    "pin out": of_timing.pins_out,
    "photo": of_record.photos,
    "moved at end": of_record.last_question,
    "signed": of_record.signed,
}
"""What the records of a plan's step become, by the kind of entry: before the rest, the work, and last."""
