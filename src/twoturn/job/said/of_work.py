"""What was done, as sentences: tools, tightening, turning, waiting, parts, belts, tensioners."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from twoturn.job.entries.work import (
    AdjusterMoved,
    BeltData,
    BeltFitted,
    Loosened,
    PartFitted,
    Tool,
    TorqueEntry,
    Turned,
    Waited,
)
from twoturn.job.said.words import amount, headed, named
from twoturn.plan.wording import stage_words
from twoturn.words.numbers import count_words, list_words, plain, range_words, turns_words

FASTENERS = "all fasteners"


def tool(entry: Tool) -> str:
    """``Torque wrench A: 5–60 N·m, class II A, calibrated 2025-10-14``."""
    has_range = entry.low_nm is not None or entry.high_nm is not None
    return headed(
        f"{'tool' if entry.type == 'other' else entry.type} {entry.tool}",
        range_words(entry.low_nm, entry.high_nm, "N·m") if has_range else None,
        entry.class_ and f"class {entry.class_}",
        f"calibrated {entry.calibrated.isoformat()}" if entry.calibrated else None,
        None if entry.valid_months == 12 else f"which holds {count_words(entry.valid_months, 'month')}",
        entry.number and f"number {entry.number}",
    )


def torque(entry: TorqueEntry) -> str:
    """``Tightened: coolant pump bolts 6 N·m (as set), tool A``."""
    if entry.row is not None:
        said = ", ".join(f"{name} {stage_words(stages)}" for name, stages in entry.row.items()) + " (as set)"
    elif entry.set is not None:
        stage = f"stage {entry.stage} at " if entry.stage else ""
        said = f"{named(entry.fastener or (), FASTENERS)} {stage}{stage_words(entry.set)} (as set)"
    else:
        said = named(entry.fastener or (), FASTENERS)
    return headed(
        "tightened to plan" if entry.to_plan else "tightened",
        said,
        f"tool {list_words(list(entry.tool))}" if entry.tool else None,
        None if entry.new is None else "new" if entry.new else "not new",
        "nothing moved" if entry.nothing_moved else None,
    )


def loosened(entry: Loosened) -> str:
    """``Loosened: roller nut``."""
    return headed("loosened", list_words(list(entry.fastener)), "nothing moved" if entry.nothing_moved else None)


def turned(entry: Turned) -> str:
    """``Turned by hand: two turns``."""
    back = _by(entry.turned_back, "turned back")
    turns = "" if entry.turns == 0 and back else turns_words(entry.turns)
    return headed("turned by hand", turns, entry.way, _by(entry.overshot, "overshot"), back)


def _by(said: bool | float, words: str) -> str:
    if isinstance(said, bool):
        return words if said else ""
    return f"{words} by {plain(said)}°" if said else ""


def waited(entry: Waited) -> str:
    """``Waited: five minutes``."""
    whole = entry.minutes == int(entry.minutes)
    return headed("waited", count_words(int(entry.minutes), "minute") if whole else f"{plain(entry.minutes)} minutes")


def belt_fitted(entry: BeltFitted) -> str:
    """``Belt fitted: 109 teeth, arrow with travel``."""
    return headed("belt fitted", entry.belt, *_belt(entry))


def part_fitted(entry: PartFitted) -> str:
    """``Part fitted: tensioner, number 12``."""
    what = entry.part if entry.count == 1 else f"{entry.count} × {entry.part}"
    where = entry.at and f"at {entry.at}"
    return headed("part fitted", what, where, entry.number and f"number {entry.number}", entry.belt, *_belt(entry))


def _belt(entry: BeltData) -> list[str | None]:
    counted = ", counted" if entry.teeth_from == "counted" else ""
    arrow = {None: None, "none": "no arrow on it"}.get(entry.arrow, f"arrow {entry.arrow}")
    return [
        count_words(entry.teeth, "tooth", "teeth") + counted if entry.teeth else None,
        amount(entry.width_mm, "mm", after=" wide"),
        arrow,
        entry.designation and f"printed {entry.designation}",
        entry.batch and f"batch {entry.batch}",
    ]


def adjuster_moved(entry: AdjusterMoved) -> str:
    """``Roller set to plan``."""
    seated = None if entry.tang_seated is None else "tang seated" if entry.tang_seated else "tang not seated"
    how = "set to plan" if entry.to_plan else "set" if entry.to else "moved"
    return headed(f"{entry.at or 'tensioner'} {how}", entry.to, entry.way, seated)


SENTENCES: dict[str, Callable[[Any], str]] = {
    "tool": tool,
    "torque": torque,
    "loosened": loosened,
    "turned": turned,
    "waited": waited,
    "belt fitted": belt_fitted,
    "part fitted": part_fitted,
    "adjuster moved": adjuster_moved,
}
