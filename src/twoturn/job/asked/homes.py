"""Where in the work a requirement is read: the step of the plan at which its question is asked."""

from __future__ import annotations

from typing import Any

from twoturn.job.asked.sheet import Sheet, base_of
from twoturn.job.needs import Need
from twoturn.plan.facts import METHOD_RECORDS
from twoturn.plan.model import Record, Step

AS_FOUND = "record-as-found"
PROVING = ("prove-timing", "prove-after-pump-timing")
DEFAULT_HOME = dict.fromkeys(
    ("pointer", "protrusion", "frequency", "tension", "deflection", "hand twist"), "prove-setting"
) | {"pump lift": "static-pump-timing"}
"""Where a reading belongs that the plan puts at no step of its own."""


def home_is(sheet: Sheet, need: Need, step: Step) -> bool:
    """Whether a requirement is read at a step."""
    return home_of(sheet, need) == step.id


def home_of(sheet: Sheet, need: Need) -> str:
    """Id of the step at which a requirement is read."""
    if need.id not in sheet.homes:
        sheet.homes[need.id] = _home_of(sheet, need)
    return sheet.homes[need.id]


def _home_of(sheet: Sheet, need: Need) -> str:
    if need.state == "as found":
        return _first(sheet, AS_FOUND)
    if need.quantity in ("mark", "pin", "pin depth", "cam phase"):
        steps = proving_steps(sheet, need.shaft)
        return steps[0] if steps else _first(sheet, "prove-timing")
    row = sheet.row_ids.get((need.id, need.quantity))
    told = [step.id for step in sheet.plan.steps if any(_asks(record, row) for record in step.records)]
    if told and not (need.quantity in DEFAULT_HOME and base_of(sheet.plan.step(told[0])) == "prove-timing"):
        return told[0]
    belts = [step.id for step in sheet.plan.steps if step.id.startswith(DEFAULT_HOME.get(need.quantity, "-"))]
    mine = [one for one in belts if sheet.belt(sheet.plan.step(one)).id in need.belts]
    return (mine or belts or told or [sheet.plan.steps[-1].id])[0]


def _asks(record: Record, row: str | None) -> bool:
    """Whether a record is the blank of a requirement, and not that of a wheel or fastener of the same name."""
    return record.id == row and record.kind in (*METHOD_RECORDS.values(), "measured")


def row_id(sheet: Sheet, need: Need) -> str:
    """The id of the requirement behind a need, as the plan has it; of a tensioner's own window its place."""
    return sheet.row_ids.get((need.id, need.quantity), need.place or "")


def _first(sheet: Sheet, step_id: str) -> str:
    return step_id if sheet.has_step(step_id) else sheet.plan.steps[0].id


def proving_steps(sheet: Sheet, shaft: str | None) -> tuple[str, ...]:
    """Ids of the steps at which the timing of a shaft is proven."""
    belts = sheet.places.belts_of_shaft(shaft) if shaft else frozenset()
    steps = [step for step in sheet.plan.steps if base_of(step) in PROVING]
    mine = [step.id for step in steps if sheet.belt(step).id in belts]
    return tuple(mine or [step.id for step in steps if sheet.belt(step) is sheet.facts.main])


def found_key(as_found: bool) -> dict[str, Any]:
    """The key of an entry that says whether it was read as found."""
    return {"as_found": True} if as_found else {}
