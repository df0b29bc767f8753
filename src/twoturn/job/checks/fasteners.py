"""Checks of the fasteners: set to the stages prescribed, with a tool fit for it and in calibration on the day."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Final

from twoturn.drive.model.work import FastenerTable, RequirementTable, Stage
from twoturn.fastener.torque_tools import CALIBRATION_MONTHS, TorqueTool, choose_tool, unfit
from twoturn.job.checks.base import Case, Check, sentence
from twoturn.job.entries.record import LastQuestion
from twoturn.job.entries.work import Loosened, Tool, TorqueEntry
from twoturn.job.order import Act
from twoturn.job.places import check_slug
from twoturn.job.resets import tightened
from twoturn.plan.wording import fastener_name, stage_words
from twoturn.quantity.conformity import Limits, Verdict, accept_simple, worst
from twoturn.quantity.units import convert, find_unit
from twoturn.words.numbers import list_words, range_words, with_unit

TORQUE_SHARE: Final = 0.10
"""Default limits of a torque: ± this share of it (common practice, printed as a default)."""
ANGLE_DEG: Final = 10.0
"""Default limits of an angle [°]: ± this (common practice, printed as a default)."""


NOT_TOLD_NEW: Final = "It serves once, and no entry says that it is a new one."
"""Note of a single-use fastener; its verdict rests on how it was tightened."""
TOOL_WORDS: Final = {"torque wrench": "wrench", "torque screwdriver": "screwdriver"}


@dataclass(frozen=True)
class Wanted:
    """One stage of a fastener with its limits.

    Attributes
    ----------
    stage
        The stage as the drive file gives it.
    limits
        What is allowed; None for a turn loose, which only has to be done.
    is_default
        True where the limits are the usual ones, not the maker's.
    """

    stage: Stage
    limits: Limits | None
    is_default: bool


@dataclass(frozen=True)
class Tightening:
    """A fastener tightened in one entry."""

    act: Act
    stages: tuple[Stage, ...] | None
    first: int
    tools: tuple[str, ...]
    new: bool | None


def check_fasteners(case: Case) -> list[Check]:
    """One check for each fastener that the drive file lists, or that a requirement names.

    Parameters
    ----------
    case
        The job.
    """
    rows = [row for row in case.drive.file.requirement if row.quantity in ("torque", "angle")]
    listed = list(case.drive.file.fastener)
    known = {fastener.id for fastener in listed}
    extra = dict.fromkeys(row.at for row in rows if row.at is not None and row.at not in known)
    listed.extend(FastenerTable(id=name) for name in extra)
    return [_check(fastener, [row for row in rows if row.at == fastener.id], case) for fastener in listed]


def wanted_stages(fastener: FastenerTable, rows: list[RequirementTable]) -> tuple[Wanted, ...]:
    """The stages of a fastener with their limits; a requirement of its own replaces the last stage of its quantity.

    Parameters
    ----------
    fastener
        The fastener.
    rows
        Requirements on its torque and angle.
    """
    stages = [_default(stage) for stage in fastener.stages]
    for row in rows:
        if row.low is None and row.high is None:
            continue
        key, unit = ("torque_nm", "N·m") if row.quantity == "torque" else ("angle_deg", "°")
        limits = _in_unit(row, unit)
        at = next((n for n in reversed(range(len(stages))) if getattr(stages[n].stage, key) is not None), None)
        if at is None:
            middle = _middle(limits)
            stages.append(Wanted(Stage(**{key: middle}), limits, False))  # type: ignore[arg-type]
        else:
            stages[at] = replace(stages[at], limits=limits, is_default=row.kind == "default")
    return tuple(stages)


def _in_unit(row: RequirementTable, unit: str) -> Limits:
    given = find_unit(row.unit or unit).symbol
    low, high = (None if end is None else convert(end, given, unit) for end in (row.low, row.high))
    return Limits(low, high, unit)


def _middle(limits: Limits) -> float:
    given = [limit for limit in (limits.low, limits.high) if limit is not None]
    return max(sum(given) / len(given), 1e-6)


def _default(stage: Stage) -> Wanted:
    if stage.torque_nm is not None:
        half = TORQUE_SHARE * stage.torque_nm
        return Wanted(stage, Limits(stage.torque_nm - half, stage.torque_nm + half, "N·m"), True)
    if stage.angle_deg is not None:
        return Wanted(stage, Limits(stage.angle_deg - ANGLE_DEG, stage.angle_deg + ANGLE_DEG, "°"), True)
    return Wanted(stage, None, True)


def _check(fastener: FastenerTable, rows: list[RequirementTable], case: Case) -> Check:
    wanted = wanted_stages(fastener, rows)
    said = stage_words(stage.stage for stage in wanted)
    defaults = " (limits ± 10 %, ± 10°: default)" if any(one.is_default for one in wanted) else ""
    check = Check(
        f"torque-{check_slug(fastener.id)}",
        f"Tightening: {fastener_name(fastener)}",
        "set",
        True,
        Verdict.NOT_SHOWN,
        None,
        f"{_limits_words(wanted) or said}{defaults}" if wanted else None,
        "No entry says that it was tightened.",
        f"Tighten it ({said}) and enter the value and the tool." if said else "Enter how it was tightened.",
        source=case.source,
        kind="maker",
        method="as prescribed",
    )
    if not wanted:
        why = "The drive file gives no torque for it."
        return check.but(why=why, next="Take the value from the vehicle maker's data into the drive file.")
    valid, void = _standing(fastener, case)
    if not valid:
        again = f"{'fit a new one and tighten it' if fastener.single_use else 'tighten it again'}: {said}"
        return check if void is None else check.but(why=void[0], next=sentence(void[1] + again))
    return _judged(check, fastener, wanted, valid, case)


def _limits_words(wanted: tuple[Wanted, ...]) -> str:
    if all(one.is_default for one in wanted):
        return stage_words(one.stage for one in wanted)
    words = [
        stage_words([one.stage])
        if one.is_default or one.limits is None
        else range_words(one.limits.low, one.limits.high, one.limits.unit)
        for one in wanted
    ]
    return ", then ".join(words)


def _standing(fastener: FastenerTable, case: Case) -> tuple[list[Tightening], tuple[str, str] | None]:
    """The tightenings that still hold, in their order; where none does, why the last one does not, and what helps."""
    valid, void = [], None
    for act in case.timeline.acts:
        entry = act.entry
        if not isinstance(entry, TorqueEntry) or fastener.id not in tightened(entry, case.places):
            continue
        later = next((other for other in _undone_by(fastener, case) if not case.state.before(other[0], act)), None)
        if later is None or later[0] is act:
            valid.append(_tightening(act, entry, fastener))
            continue
        untold = isinstance(later[0].entry, LastQuestion) and later[0].entry.what is None
        told = "was" if case.state.before(act, later[0]) and not untold else "may have been"
        why = f"It {told} let go again after it was tightened: entry {later[0].number} ({later[1]})."
        void = (why, f"Correct entry {later[0].number} so that it says what was moved, or: " if untold else "")
    return _in_order(valid, case), void


def _undone_by(fastener: FastenerTable, case: Case) -> Iterator[tuple[Act, str]]:
    """What lets a fastener go: loosening it; of a tensioner's also moving the tensioner or fitting the belt."""
    holds_tensioner = fastener.locks in case.places.tensioners
    belts = case.places.belts_of(fastener.locks) if fastener.locks else frozenset()
    for act in case.timeline.acts:
        entry = act.entry
        if isinstance(entry, Loosened) and fastener.id in entry.fastener:
            yield act, "loosened"
    for reset in case.state.resets:
        entry = reset.act.entry
        if isinstance(entry, LastQuestion):
            if fastener.locks is not None and reset.belts & belts and _may_mean(entry.what, fastener, holds_tensioner):
                yield reset.act, reset.what
        elif entry.kind in ("adjuster moved", "belt fitted") and holds_tensioner and reset.belts & belts:
            yield reset.act, reset.what


def _may_mean(what: str | None, fastener: FastenerTable, holds_tensioner: bool) -> bool:
    """Whether what was moved at the end may be this fastener: it is named, or nothing is."""
    if what is None:
        return True
    names = [fastener.id, fastener.locks] if holds_tensioner else [fastener.id]
    return any(name is not None and name.lower() in what.lower() for name in names)


def _tightening(act: Act, entry: TorqueEntry, fastener: FastenerTable) -> Tightening:
    tools = entry.tool or ()
    if entry.row is not None:
        return Tightening(act, entry.row[fastener.id], 0, tools, entry.new)
    first = (entry.stage or 1) - 1
    return Tightening(act, None if entry.to_plan else entry.set, first, tools, entry.new)


def _in_order(valid: list[Tightening], case: Case) -> list[Tightening]:
    """In the order of the work as far as it can be told, else of the list."""
    out: list[Tightening] = []
    for item in valid:
        at = next((n for n, other in enumerate(out) if case.state.before(item.act, other.act)), len(out))
        out.insert(at, item)
    return out


def _judged(
    check: Check, fastener: FastenerTable, wanted: tuple[Wanted, ...], valid: list[Tightening], case: Case
) -> Check:
    done: dict[int, tuple[Stage, Tightening]] = {}
    over: list[str] = []
    for item in valid:
        stages = item.stages if item.stages is not None else tuple(one.stage for one in wanted)
        for number, stage in enumerate(stages, item.first):
            if number >= len(wanted):
                over.append(f"{stage_words([stage])} is a stage more than prescribed")
                continue
            done[number] = (stage, item)
            over.extend(_too_far(stage, wanted[number]))
    said = stage_words(done[number][0] for number in sorted(done))
    check = check.but(
        reading=", ".join([said, *_tool_words(done, _tools(case))]),
        entries=tuple(dict.fromkeys(item.act.number for item in valid)),
        notes=(*check.notes, NOT_TOLD_NEW) if fastener.single_use and all(item.new is None for item in valid) else (),
    )
    wrong = [_wrong(done[number][0], wanted[number]) for number in sorted(done)]
    bad = [text for text in wrong if text] + over
    used = next((item for item in valid if fastener.single_use and item.new is False), None)
    if used is not None:
        bad.insert(0, "It is for single use, and the old one was used again")
    if bad:
        again = "Renew it" if fastener.single_use else "Loosen it"
        return check.but(verdict=Verdict.NOT_MET, why=sentence(bad[0]), next=f"{again}, then tighten it as prescribed.")
    missing = [number for number in range(len(wanted)) if number not in done]
    if missing:
        said = list_words([stage_words([wanted[number].stage]) for number in missing])
        return check.but(why=f"A stage is not entered: {said}.", next=f"Enter it: {said}, with the tool.")
    return _with_tools(check, wanted, done, case)


def _too_far(stage: Stage, wanted: Wanted) -> list[str]:
    """A torque or angle beyond the upper limit stays wrong until the fastener is loosened, whatever comes after."""
    value = _amount(stage, wanted)
    if (
        value is None
        or wanted.limits is None
        or wanted.limits.high is None
        or value <= wanted.limits.high + wanted.limits.slack
    ):
        return []
    allowed = range_words(wanted.limits.low, wanted.limits.high, wanted.limits.unit)
    return [f"{stage_words([stage])[:1].upper()}{stage_words([stage])[1:]} is above {allowed}"]


def _wrong(stage: Stage, wanted: Wanted) -> str:
    if _kind(stage) != _kind(wanted.stage):
        return f"Entered is {stage_words([stage])}; prescribed is {stage_words([wanted.stage])}"
    value = _amount(stage, wanted)
    if value is None or wanted.limits is None or accept_simple(value, wanted.limits) is Verdict.PROVEN:
        return ""
    allowed = range_words(wanted.limits.low, wanted.limits.high, wanted.limits.unit)
    return f"Set to {with_unit(value, wanted.limits.unit, 2)}; allowed: {allowed}"


def _kind(stage: Stage) -> str:
    return "torque" if stage.torque_nm is not None else "angle" if stage.angle_deg is not None else "loosen"


def _amount(stage: Stage, wanted: Wanted) -> float | None:
    """The number of a stage in the unit of its limits; None where it is of another kind."""
    if _kind(stage) != _kind(wanted.stage):
        return None
    return stage.torque_nm if stage.torque_nm is not None else stage.angle_deg


def _with_tools(
    check: Check, wanted: tuple[Wanted, ...], done: dict[int, tuple[Stage, Tightening]], case: Case
) -> Check:
    """Every torque set with a tool that is described, fit for it and in calibration on the day."""
    tools = _tools(case)
    for number in sorted(done):
        stage, item = done[number]
        if stage.torque_nm is None:
            continue
        told = [name for name in item.tools if name in tools]
        if not item.tools:
            return check.but(
                why="The entry does not say with which tool.", next="Enter the tool it was tightened with."
            )
        if not told:
            why = f"The tool {list_words(list(item.tools))} is not described."
            return check.but(why=why, next="Enter the tool: its range and the day of its calibration.")
        reasons = [_unfit(tools[name], stage.torque_nm, item.act) for name in told]
        if all(reasons):
            return check.but(why=next(filter(None, reasons)), next=_use(tools.values(), stage.torque_nm, item.act))
    limits = [one.limits for one in wanted if one.limits is not None]
    return check.but(
        verdict=worst([Verdict.PROVEN]),
        why=f"{check.reading}: as prescribed.",
        next="",
        limits=limits[-1] if limits else None,
    )


def _use(described: Iterable[Tool], torque_nm: float, act: Act) -> str:
    """What to tighten with instead: the described tool that suits the torque best, where one shows it."""
    fit = [_torque_tool(entry) for entry in described if not _unfit(entry, torque_nm, act)]
    best = choose_tool(torque_nm, fit)
    if best is None:
        return "Use a tool that is fit and in calibration."
    return f"Use tool {best.name}: {best.low_nm:g} to {best.high_nm:g} N·m, in calibration."


def _tool_words(done: dict[int, tuple[Stage, Tightening]], tools: dict[str, Tool]) -> list[str]:
    """The torque tools named, as a sheet prints them: ``wrench A``; an angle gauge beside them sets no torque."""
    named = dict.fromkeys(name for stage, item in done.values() if stage.torque_nm is not None for name in item.tools)
    said = []
    for name in named:
        kind = tools[name].type if name in tools else "other"
        word = TOOL_WORDS.get(kind, "tool")
        if kind != "angle gauge":
            said.append(name if word in name.lower() else f"{word}\u00a0{name}")
    return said


def _tools(case: Case) -> dict[str, Tool]:
    return {act.entry.tool: act.entry for act in case.timeline.acts if isinstance(act.entry, Tool)}


def _unfit(entry: Tool, torque_nm: float, act: Act) -> str:
    """Why a tool does not show a torque; empty when it does."""
    if entry.low_nm is None or entry.high_nm is None:
        return f"The range of tool {entry.tool} is not entered."
    if entry.type not in ("torque wrench", "torque screwdriver"):
        return f"Tool {entry.tool} is no torque tool."
    if act.entry.entered is None:
        return "The day it was tightened is not entered."
    reasons = unfit(_torque_tool(entry), torque_nm, act.entry.entered.date())
    return reasons[0] if reasons else ""


def _torque_tool(entry: Tool) -> TorqueTool:
    """A tool whose range is entered, as the standard knows it."""
    assert entry.low_nm is not None  # noqa: S101 - narrows the types
    assert entry.high_nm is not None  # noqa: S101
    due = None if entry.calibrated is None else _months_on(entry.calibrated, entry.valid_months)
    if entry.valid_months == CALIBRATION_MONTHS:
        due = None
    return TorqueTool(entry.tool, entry.low_nm, entry.high_nm, entry.class_ or "II A", entry.calibrated, due)


def _months_on(day: date, months: int) -> date:
    """The day so many months on [-], or the last one of its month where that is shorter."""
    year, month = day.year + (day.month - 1 + months) // 12, (day.month - 1 + months) % 12 + 1
    last = date(year + month // 12, month % 12 + 1, 1) - timedelta(days=1)
    return date(year, month, min(day.day, last.day))
