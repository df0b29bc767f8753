"""Questions on what is done: tools, belt, tensioner, fasteners, turns, pins out, parts, waiting."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TypeVar

from twoturn.drive.model.work import FastenerTable
from twoturn.drive.parts import Belt
from twoturn.job.asked.drawer import is_ready
from twoturn.job.asked.fields import (
    NEW_WORDS,
    NOTE,
    belt_fields,
    number,
    same,
    tick,
    turned_fields,
    yes_no,
)
from twoturn.job.asked.model import Asked, Choice, Field, KnownTool
from twoturn.job.asked.sheet import Sheet, base_of, quick_of
from twoturn.job.asked.typed_numbers import stages_text
from twoturn.job.entries.work import Tool
from twoturn.job.needs import at_belt, own_id
from twoturn.job.places import check_slug
from twoturn.plan.model import Record, Step
from twoturn.plan.sequence import sequence_of
from twoturn.plan.stages.prove import turns_needed
from twoturn.plan.wording import fastener_name, stage_words
from twoturn.words.numbers import list_words, plain, turns_words

AFTER_PROOF = ("final-torque", "fit-covers")
"""Steps after the proof: what is tightened there must not move anything."""
Records = tuple[Record, ...]


def tools(sheet: Sheet, step: Step, _records: Records) -> Iterator[Asked]:
    """Each torque tool of the drawer, or one to describe; what the drawer knows comes with the first torque."""
    why = "Every torque is judged by its tool's range and calibration."
    entered = sheet.tools_entered
    left = _torques(sheet.drive.file.fastener)
    for one in entered:
        left -= _held(one, left)
    wanted = chosen_tools(sheet) if left or not entered else ()
    for tool in sheet.known.tools:
        fields = _tool_fields(tool)
        yield sheet.ask(
            step, "tool", f"Torque tool {tool.tool}", {"tool": tool.tool}, fields[:3], more=fields[3:],
            name=tool.tool, needed=tool in wanted and not is_ready(tool),
            quick=_tool_words(tool), quick_values=quick_of(fields), why=why,
        )  # fmt: skip
    name = Field("tool", "Its letter or name", "text", value=None if entered or sheet.known.tools else "A")
    fields = _tool_fields(KnownTool("A"))
    yield sheet.ask(
        step, "tool", "Another torque tool" if entered or sheet.known.tools else "Torque tool", {},
        (name, *fields[:3]), more=fields[3:], needed=bool(left) and not sheet.known.tools, why=why,
    )  # fmt: skip


def _tool_fields(tool: KnownTool) -> tuple[Field, ...]:
    day = tool.calibrated.isoformat() if tool.calibrated else None
    types = same(("torque wrench", "torque screwdriver", "angle gauge", "other"))
    classes = same(("I A", "I B", "I C", "I D", "I E", "II A", "II B", "II C", "II D", "II E", "II F", "II G"))
    torque = tool.type != "angle gauge"
    drawer = "from the drawer" if tool.low_nm or day else ""
    low = None if tool.low_nm is None else f"{tool.low_nm:g}"
    high = None if tool.high_nm is None else f"{tool.high_nm:g}"
    return (
        Field("low_nm", "Range from", "number", "N·m", value=low, from_where=drawer, required=torque, low=0, high=5000),
        Field("high_nm", "to", "number", "N·m", value=high, from_where=drawer, required=torque, low=0, high=5000),
        Field("calibrated", "Calibrated on", "date", value=day, from_where=drawer, required=torque),
        Field("type", "What it is", "choice", choices=types, value=tool.type, required=False),
        Field("class", "Type and class by ISO 6789", "choice", choices=classes, value=tool.class_, required=False),
        Field("valid_months", "Calibration holds, months", "whole", value=str(tool.valid_months), required=False,
              low=1, high=60),
        Field("number", "Serial or certificate number", "text", value=tool.number, required=False),
        NOTE,
    )  # fmt: skip


def _tool_words(tool: KnownTool) -> str | None:
    if tool.low_nm is None or tool.high_nm is None or tool.calibrated is None:
        return None
    return f"{tool.tool}: {tool.low_nm:g} to {tool.high_nm:g} N·m, calibrated {tool.calibrated.isoformat()}"


def chosen_tools(sheet: Sheet) -> tuple[KnownTool, ...]:
    """The fewest tools of the drawer that hold every torque of this drive, the usual one first; all where none do."""
    return _fewest(sheet.known.tools, _torques(sheet.drive.file.fastener)) or sheet.known.tools[:1]


T = TypeVar("T", KnownTool, Tool)


def _fewest(tools: Iterable[T], torques: set[float]) -> tuple[T, ...]:
    """The fewest tools that hold as many of the torques as any do."""
    ready = [tool for tool in tools if tool.low_nm is not None and tool.high_nm is not None]
    left, picked = set(torques), []
    while left:
        best = max(ready, key=lambda tool: len(_held(tool, left)), default=None)
        if best is None or not _held(best, left):
            break
        picked.append(best)
        left -= _held(best, left)
    return tuple(picked)


def _torques(fasteners: Iterable[FastenerTable]) -> set[float]:
    """Every torque of some fasteners [N·m]."""
    return {stage.torque_nm for item in fasteners for stage in item.stages if stage.torque_nm}


def _held(tool: KnownTool | Tool, torques: Iterable[float]) -> set[float]:
    """The torques that lie in the range of a tool [N·m]."""
    return {one for one in torques if (tool.low_nm or 0.0) <= one <= (tool.high_nm or 0.0)}


def tool_field(sheet: Sheet, fasteners: Iterable[FastenerTable]) -> Field:
    """With which tool: the one of this job or of the drawer that holds the torques is filled in."""
    torques = _torques(fasteners)
    entered = _fewest(sheet.tools_entered, torques)
    held = {one for tool in entered for one in _held(tool, torques)}
    usual = [tool for tool in chosen_tools(sheet) if _held(tool, torques)] or list(chosen_tools(sheet))
    here = bool(entered) and held == torques
    picked = [tool.tool for tool in entered] if here else [tool.tool for tool in usual]
    value = tuple(picked or [tool.tool for tool in sheet.tools_entered[-1:]])
    names = dict.fromkeys([*(tool.tool for tool in sheet.tools_entered), *(tool.tool for tool in sheet.known.tools)])
    return Field(
        "tool", "Tool", "many", choices=same(names), value=value or None,
        from_where="as entered in this job" if here else "the usual one of the drawer" if usual else "",
        required=bool(torques), or_typed=True,
    )  # fmt: skip


def belt_fitted(sheet: Sheet, step: Step, _records: Records) -> Iterator[Asked]:
    """The belt put on: teeth, print or count, arrow."""
    if base_of(step) != "thread-belt":  # asked where it goes on; beside the old one only its print is looked at
        return
    belt = sheet.belt(step)
    asked, more = belt_fields(belt.table.teeth, sheet.known.arrow, sheet.known.teeth_from)
    named = {"belt": belt.id} if len(sheet.drive.belts) > 1 else {}
    arrow = "no arrow on it" if sheet.known.arrow == "none" else "arrow with travel"
    values = quick_of((*asked, *more), arrow="none" if sheet.known.arrow == "none" else "with travel")
    how = "counted" if values.get("teeth_from") == "counted" else "printed on it"
    yield sheet.ask(
        step, "belt fitted", f"{sheet.facts.belt_words(belt).capitalize()} on", named, asked, more=more,
        needed=True, quick=f"{belt.table.teeth} teeth {how}, {arrow}", quick_values=values,
        why=f"This drive takes {belt.table.teeth} teeth; the arrow points along travel.",
        checks=(at_belt("teeth", belt, sheet.places), at_belt("arrow", belt, sheet.places)),
    )  # fmt: skip


def adjuster(sheet: Sheet, step: Step, records: Records) -> Iterator[Asked]:
    """The tensioner set by its sequence."""
    for record in records:
        tensioner, belt = sheet.places.tensioners[record.id]
        tang = yes_no("tang_seated", "Tang in its seat", required=False)
        free = (
            Field("to", "Set to", "text", required=False, hint="where it was not set by the sequence"),
            Field("way", "Turned", "choice", choices=same(("clockwise", "counter-clockwise")), required=False),
            NOTE,
        )
        to_plan = tick("to_plan", "set by the whole sequence of this step", "yes")
        fields = (to_plan, *((tang,) if tensioner.tang else ()))
        yield sheet.ask(
            step, "adjuster moved", f"The {record.id} set", {"at": record.id}, fields, more=free, name=record.id,
            needed=True, quick="set to plan", quick_values=quick_of(fields),
            checks=(own_id("tensioner", tensioner, belt, sheet.places),
                    *((own_id("tang", tensioner, belt, sheet.places),) if tensioner.tang else ())),
        )  # fmt: skip


def torque(sheet: Sheet, step: Step, records: Records) -> Iterator[Asked]:
    """The fasteners of a step: to plan with one tap, or ticked off one by one, or with the values set."""
    ids = tuple(dict.fromkeys(record.id for record in records if record.id in sheet.places.fasteners))
    if base_of(step) == "fit-covers":
        ids = (*ids, *_homeless(sheet, ids))
    if ids:
        yield _tightened(sheet, step, ids, {})
    if base_of(step) == "fit-covers" and len(sheet.places.fasteners) > 1:
        yield _every_fastener(sheet, step)


def _homeless(sheet: Sheet, here: tuple[str, ...]) -> tuple[str, ...]:
    """Fasteners that only a requirement names, and those that no step of the plan tightens."""
    told = {record.id for step in sheet.plan.steps for record in step.records if record.kind == "torque"}
    listed = [name for name in sheet.places.fasteners if name not in told and name not in here]
    rows = [row.at for row in sheet.drive.file.requirement if row.quantity in ("torque", "angle") and row.at]
    return tuple(dict.fromkeys([*listed, *(name for name in rows if name not in sheet.places.fasteners)]))


def _tightened(sheet: Sheet, step: Step, ids: tuple[str, ...], fixed: dict[str, object]) -> Asked:
    tables = [sheet.places.fasteners.get(name, FastenerTable(id=name)) for name in ids]
    stages = [stage_words(table.stages) or "value of the vehicle maker" for table in tables]
    row = Field(
        "fastener", "Tightened to plan", "torque row",
        choices=tuple(Choice(table.id, f"{fastener_name(table)}: {said}") for table, said in zip(tables, stages,
                                                                                               strict=True)),
        value=ids, hint="untick what is not tightened yet",
    )  # fmt: skip
    own = tuple(
        Field(f"row.{table.id}", "Reached" if len(tables) == 1 else f"Reached, {table.id}", "stages", "N·m",
              required=False, hint=stages_text(table.stages))
        for table in tables
    )  # fmt: skip
    unmoved = _nothing_moved(sheet, step, tables)
    fields = (row, tool_field(sheet, tables), *unmoved, *_new_ones(tables))
    more = (*own, NOTE)
    once = _serving_once(tables)
    return sheet.ask(
        step, "torque", f"Tightened: {list_words(list(ids))}", fixed, fields, more=more, needed=True,
        quick=_to_plan_words(fields[1], bool(unmoved), once),
        quick_values=quick_of((*fields, *more), **({"new": "yes"} if once else {})),
        checks=tuple(f"torque-{check_slug(name)}" for name in ids),
    )  # fmt: skip


def _serving_once(tables: list[FastenerTable]) -> list[str]:
    return [table.id for table in tables if table.single_use]


def _new_ones(tables: list[FastenerTable]) -> tuple[Field, ...]:
    """Of fasteners that serve once: are they new?"""
    once = _serving_once(tables)
    return (yes_no("new", f"New: {list_words(once)}", required=False, hint="serves once"),) if once else ()


def _nothing_moved(sheet: Sheet, step: Step, tables: list[FastenerTable]) -> tuple[Field, ...]:
    """After the proof: did what the fasteners hold stay where it was?"""
    holds = any(table.locks is not None or table.id in sheet.places.tensioner_fasteners for table in tables)
    if base_of(step) not in AFTER_PROOF or not holds:
        return ()
    return (tick("nothing_moved", "nothing they hold moved while they were tightened", "yes"),)


def _to_plan_words(tool: Field, unmoved: bool, once: list[str]) -> str:
    names = list(tool.value) if isinstance(tool.value, tuple) else []
    said = f", {'tools' if len(names) > 1 else 'tool'} {list_words(names)}" if names else ""
    new = f"{NEW_WORDS}{list_words(once)}" if once else ""
    return f"to plan{said}{', nothing moved' if unmoved else ''}{new}"


def _every_fastener(sheet: Sheet, step: Step) -> Asked:
    """All fasteners of the job in one go, each tightened at its step."""
    tables = list(sheet.places.fasteners.values())
    fields = (
        tool_field(sheet, tables),
        tick("nothing_moved", "nothing moved after the last turns by hand", "yes"),
        *_new_ones(tables),
    )
    once = _serving_once(tables)
    said = _to_plan_words(fields[0], True, once)
    return sheet.ask(
        step, "torque", "All torques of this job, each tightened at its step", {"fastener": "all", "to_plan": True},
        fields, more=(NOTE,), name="all", quick=f"all {said}",
        quick_values=quick_of(fields, **({"new": "yes"} if once else {})),
        why="For a job that is typed in one go; whoever ticks off step by step leaves this.",
        checks=tuple(f"torque-{check_slug(table.id)}" for table in tables),
    )  # fmt: skip


def turned(sheet: Sheet, step: Step, _records: Records) -> Iterator[Asked]:
    """The turns by hand of a step."""
    if base_of(step) == "static-pump-timing":
        yield _turned_back_for_gauge(sheet, step)
        return
    turns = _turns(sheet, step)
    way = sheet.facts.turn_way
    asked, more = turned_fields(f"{turns:g}", "as the plan says")
    on = _turned_belts(sheet, step)
    settling = base_of(step) == "turn-to-settle"
    checks = () if settling else [at_belt("two-turns", belt, sheet.places) for belt in on]
    yield sheet.ask(
        step, "turned", f"Turned {turns_words(turns)} {way} by hand", {}, asked, more=more, needed=True,
        quick=f"{turns_words(turns)} done", quick_values=quick_of(asked), checks=checks,
        why="The belt seats itself." if settling else "Readings count only after the turns by hand.",
    )  # fmt: skip


def _turned_belts(sheet: Sheet, step: Step) -> list[Belt]:
    belt = sheet.belt(step)
    return [belt, *sheet.facts.inner] if belt is sheet.facts.main else [belt]


def _turns(sheet: Sheet, step: Step) -> float:
    belt = sheet.belt(step)
    if base_of(step) != "turn-to-settle":
        return float(turns_needed(sheet.facts, belt))
    number = int(step.id.partition("@")[0].partition(".")[2] or 1)
    rounds = [sequence_of(tensioner).rounds for tensioner in belt.tensioners]
    return float(max([one[number - 1].turns for one in rounds if len(one) > number], default=0.0) or 2.0)


def _turned_back_for_gauge(sheet: Sheet, step: Step) -> Asked:
    """The one turning back that is allowed: to set the gauge of a pump to zero."""
    fields = (Field("turns", "Turns", "number", "turns", value="0", low=0, high=100),)
    return sheet.ask(
        step, "turned", "Crankshaft turned back until the gauge stood still", {"turned_back": True}, fields,
        more=(NOTE,), needed=True, quick="done", quick_values=quick_of(fields), why="Allowed in this step only.",
    )  # fmt: skip


def waited(sheet: Sheet, step: Step, minutes: float | None, checks: Iterable[str] = ()) -> Asked:
    """Time let go by, and the ids of the checks whose readings need it."""
    value = None if not minutes else f"{minutes:g}"
    fields = (number("minutes", "Waited", "min", value, within=(0, 1e5)),)
    quick = f"waited {plain(minutes)} min" if minutes else None
    return sheet.ask(
        step, "waited", "Waited", {}, fields, more=(NOTE,), quick=quick, quick_values=quick_of(fields),
        needed=bool(checks), checks=checks, why="The tensioner settles before it is read." if checks else "",
    )  # fmt: skip


def loosened(sheet: Sheet, step: Step, records: Records) -> Iterator[Asked]:
    """Fasteners loosened; of a tensioner let off, those that hold it."""
    ids: list[str] = []
    for record in records:
        if record.id in sheet.places.fasteners:
            ids.append(record.id)
        else:
            ids += [item.id for item in sheet.drive.file.fastener if item.locks == record.id]
    if ids:
        names = tuple(dict.fromkeys(ids))
        fields = (Field("fastener", "Loosened", "many", choices=same(names), value=names),)
        yield sheet.ask(
            step, "loosened", f"Loosened: {list_words(list(names))}", {}, fields, more=(NOTE,),
            quick="loosened", quick_values=quick_of(fields),
        )  # fmt: skip


def part_fitted(sheet: Sheet, step: Step, records: Records) -> Iterator[Asked]:
    """A part fitted, with its number."""
    pump = base_of(step) == "renew-pump-and-seals"
    part = "coolant pump" if pump else "tensioner and rollers"
    fields = (Field("number", records[0].what, "text", required=False),)
    yield sheet.ask(
        step, "part fitted", f"New: {part}", {"part": part}, fields, more=(NOTE,), quick="fitted", quick_values={}
    )
