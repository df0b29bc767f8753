"""Which question an entry answers, by its kind, its place and what else tells two questions of a step apart."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from twoturn.job.asked.model import Asked
from twoturn.job.asked.sheet import Sheet
from twoturn.job.entries.base import EntryBase
from twoturn.job.entries.found import Cured, FindingEntry, Photo
from twoturn.job.entries.read import Mark, PinIn, PinOut
from twoturn.job.entries.record import Remark
from twoturn.job.entries.vehicle import Temperature
from twoturn.job.entries.work import BeltFitted, Loosened, PartFitted, StepDone, Tool, TorqueEntry
from twoturn.job.resets import tightened

PLACED = ("kind", "done", "pass")
"""Keys of a question that say where it stands, not what it asks."""
CONDITIONS = ("force_n", "unit")
"""Keys of a question that an entry may hold otherwise and still answer it."""


def fits(asked: Asked, entry: EntryBase, sheet: Sheet) -> bool:
    """Whether an entry of the same step and round answers a question.

    Parameters
    ----------
    asked, entry
        The question, and the entry.
    sheet
        The job: who is meant by names.
    """
    if asked.kind != entry.kind:
        return False
    if bool(asked.fixed.get("as_found")) != bool(vars(entry).get("as_found")):  # getattr of what is not there is slow
        return False
    told = OWN_WAYS.get(entry.kind)
    return _as_settled(asked, entry, sheet) if told is None else told(asked, entry, sheet)


def _as_settled(asked: Asked, entry: EntryBase, sheet: Sheet) -> bool:
    """Whether an entry holds what is settled of a question; a place left out means the only one there is."""
    for key, wanted in asked.fixed.items():
        if key in PLACED or key in CONDITIONS:
            continue
        held = getattr(entry, {"class": "class_", "except": "except_"}.get(key, key), None)
        if key in ("at", "span"):
            if held is not None and not _same_place(str(wanted), str(held), sheet):
                return False
        elif bool(held) != wanted if isinstance(wanted, bool) else held not in (wanted, (wanted,)):
            return False
    return True


def _same_place(one: str, other: str, sheet: Sheet) -> bool:
    spans = [sheet.places.span(name) for name in (one, other)]
    if spans[0] is not None and spans[1] is not None:
        return spans[0][0] == spans[1][0]
    shafts = [sheet.places.shaft_of(name) for name in (one, other)]
    return one == other or (shafts[0] is not None and shafts[0] == shafts[1])


def _choices(asked: Asked, key: str) -> set[str]:
    return {choice.value for field in asked.every_field if field.key == key for choice in field.choices}


def _temperature(asked: Asked, entry: Temperature, _sheet: Sheet) -> bool:
    return entry.of == str(asked.fixed.get("of", "engine"))


def _tool(asked: Asked, entry: Tool, sheet: Sheet) -> bool:
    drawer = {tool.tool for tool in sheet.known.tools}
    named = asked.fixed.get("tool")
    return entry.tool == str(named) if named is not None else entry.tool not in drawer


def _torque(asked: Asked, entry: TorqueEntry, sheet: Sheet) -> bool:
    every = entry.fastener == ("all",)
    if "fastener" in asked.fixed:
        return every
    return bool(_choices(asked, "fastener") & set(tightened(entry, sheet.places)))


def _loosened(asked: Asked, entry: Loosened, _sheet: Sheet) -> bool:
    return bool(_choices(asked, "fastener") & set(entry.fastener))


def _mark(asked: Asked, entry: Mark, sheet: Sheet) -> bool:
    shafts = {sheet.places.shaft_of(name) or name for name in _choices(asked, "at")}
    return "all" in entry.at or bool(shafts & {sheet.places.shaft_of(name) or name for name in entry.at})


def _pin_in(asked: Asked, entry: PinIn, sheet: Sheet) -> bool:
    wanted = _choices(asked, "pin") or {str(asked.fixed.get("pin", ""))}
    return entry.use == asked.fixed["use"] and bool(wanted & set(sheet.places.pins_meant(entry.pin)))


def _pin_out(asked: Asked, entry: PinOut, sheet: Sheet) -> bool:
    return bool(_choices(asked, "pin") & set(sheet.places.pins_meant(entry.pin)))


def _finding(asked: Asked, entry: FindingEntry, _sheet: Sheet) -> bool:
    clears = entry.finding == ("all",)
    return clears if "finding" in asked.fixed else not clears


def _cured(asked: Asked, entry: Cured, _sheet: Sheet) -> bool:
    return str(asked.fixed["finding"]) in entry.finding


def _photo(asked: Asked, entry: Photo, _sheet: Sheet) -> bool:
    shows = next((field.value for field in asked.more if field.key == "shows"), None)
    return entry.shows in (None, shows)


def _remark(asked: Asked, entry: Remark, _sheet: Sheet) -> bool:
    text = next(field for field in asked.fields if field.key == "text")
    return entry.text.startswith(text.lead) if text.lead else entry.text == text.value


def _belt(asked: Asked, entry: BeltFitted, _sheet: Sheet) -> bool:
    return "belt" not in asked.fixed or entry.belt == asked.fixed["belt"]


def _part(asked: Asked, entry: PartFitted, _sheet: Sheet) -> bool:
    return bool(entry.part == asked.fixed["part"])


def _step(asked: Asked, entry: StepDone, _sheet: Sheet) -> bool:
    return bool((entry.step or entry.done) == asked.fixed["step"])


OWN_WAYS: dict[str, Callable[[Asked, Any, Sheet], bool]] = {
    "temperature": _temperature,
    "tool": _tool,
    "torque": _torque,
    "loosened": _loosened,
    "mark": _mark,
    "pin in": _pin_in,
    "pin out": _pin_out,
    "finding": _finding,
    "cured": _cured,
    "photo": _photo,
    "remark": _remark,
    "belt fitted": _belt,
    "part fitted": _part,
    "step done": _step,
}
