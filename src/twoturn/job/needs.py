"""What is required: the requirements of the drive file, and those that its tensioners imply."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Final, Literal

from twoturn.drive.model.tensioners import Hydraulic, Slide, Tensioner
from twoturn.drive.model.work import RequirementTable, State
from twoturn.drive.parts import Belt, Drive
from twoturn.errors import QuantityError
from twoturn.job.evidence import where
from twoturn.job.places import Belts, Places, check_slug
from twoturn.plan.model import Stage
from twoturn.plan.sequence import sequence_of
from twoturn.plan.wording import requirement_limits, requirement_what
from twoturn.quantity.conformity import Limits
from twoturn.quantity.units import find_unit
from twoturn.words.numbers import range_words, window_words
from twoturn.words.terms import DEFAULT_UNITS

AS_PRESCRIBED: Final = frozenset({"torque", "angle", "pointer", "mark", "pin", "hand twist"})
"""Quantities decided by simple acceptance unless the drive file says measured."""
AFTER_TURNS: Final = frozenset(
    {
        "pointer",
        "protrusion",
        "frequency",
        "tension",
        "mark",
        "cam phase",
        "pin",
        "pin depth",
        "deflection",
        "hand twist",
        "pump lift",
    }
)
"""Quantities that count after the turns by hand where the requirement names no state."""
SETTING: Final = frozenset({"pointer", "protrusion", "frequency", "tension", "deflection", "hand twist"})
"""Quantities that show a tensioner's setting."""
FASTENING: Final = frozenset({"torque", "angle"})

_STAGE_OF_STATE: Final[dict[str | None, Stage]] = {
    "as found": "strip",
    "as set": "set",
    "after turns": "prove",
    None: "look",
}


@dataclass(frozen=True)
class Need:
    """One thing that is required of a reading.

    Attributes
    ----------
    id, title, stage
        The check's slug, its words and its part of the work.
    quantity, state
        What must be read, and when; state None means at any time since the last reset.
    limits
        From where to where; None for a plain yes or no.
    text
        The requirement in words.
    place, shaft, span, belts
        Where.
    method, kind, source
        How it is decided, who demands it, where it stands.
    temperature_c, at_n, settle_min
        The conditions under which it holds.
    alternatives
        Id of the requirement that it may stand for and that may stand for it, where the drive file says so by
        ``instead_of``; None where it binds by itself.
    """

    id: str
    title: str
    stage: Stage
    quantity: str
    state: State | None
    limits: Limits | None
    text: str
    place: str | None
    shaft: str | None
    span: frozenset[str] | None
    belts: Belts
    method: Literal["as prescribed", "measured"]
    kind: Literal["maker", "workshop", "default"]
    source: str
    temperature_c: float | None = None
    at_n: float | None = None
    settle_min: float = 0.0

    alternatives: str | None = None


def needs_of(drive: Drive, places: Places) -> tuple[Need, ...]:
    """Everything a drive requires of readings, fasteners left out, in file order.

    Parameters
    ----------
    drive, places
        The drive, and who is meant by its names.
    """
    rows = [row for row in drive.file.requirement if row.quantity not in FASTENING]
    found = [_explicit(row, drive, places) for row in rows]
    for belt in drive.belts:
        for tensioner in belt.tensioners:
            found.extend(_window(tensioner, belt, found, places))
    return tuple(_with_own_ids(found))


def _explicit(row: RequirementTable, drive: Drive, places: Places) -> Need:
    place, shaft, span, belts = where(row.at, places)
    state = row.state or ("after turns" if row.quantity in AFTER_TURNS else None)
    unit = _symbol(row.unit or DEFAULT_UNITS.get(row.quantity, "-"))
    given = row.low is not None or row.high is not None
    title = requirement_what(row, drive)
    return Need(
        check_slug(row.id),
        title[:1].upper() + title[1:],
        _STAGE_OF_STATE[state],
        row.quantity,
        state,
        Limits(row.low, row.high, unit) if given else None,
        requirement_limits(row),
        place,
        shaft,
        span,
        belts,
        row.method or ("as prescribed" if row.quantity in AS_PRESCRIBED or not given else "measured"),
        row.kind,
        row.source or drive.source,
        row.temperature_c,
        row.at_n,
        _settle(row.quantity, belts, drive),
        _alternatives(row, drive),
    )


def _symbol(unit: str) -> str:
    """A unit as it is printed, ``deg`` as ``°``; what is no unit of measurement, such as teeth, as it stands."""
    try:
        return find_unit(unit).symbol
    except QuantityError:
        return unit


def _alternatives(row: RequirementTable, drive: Drive) -> str | None:
    """The id that a group of requirements shares, any one of which will do; None for a requirement that binds alone."""
    if row.instead_of is not None:
        return row.instead_of
    return row.id if any(other.instead_of == row.id for other in drive.file.requirement) else None


def _settle(quantity: str, belts: Belts, drive: Drive) -> float:
    """Time to let go by before a setting is read [min]: the longest of the tensioners on its belts."""
    if quantity not in SETTING:
        return 0.0
    times = [
        sequence_of(tensioner).settle_min for belt in drive.belts if belt.id in belts for tensioner in belt.tensioners
    ]
    return max(times, default=0.0)


def _window(tensioner: Tensioner, belt: Belt, given: list[Need], places: Places) -> Iterator[Need]:
    """The maker's window of a tensioner, where no requirement of its own replaces it."""
    quantity = "protrusion" if isinstance(tensioner, Hydraulic) and tensioner.window_mm else "pointer"
    window, unit = _window_of(tensioner)
    replaced = any(
        need.quantity == quantity and need.place in (tensioner.pulley, None) and need.state in (None, "after turns")
        for need in given
    )
    if window is None or replaced:
        return
    low, high = window
    text = window_words(low, high, unit) if quantity == "pointer" else range_words(low, high, unit)
    yield Need(
        own_id(quantity, tensioner, belt, places),
        f"{quantity.capitalize()} of the {tensioner.pulley}",
        "prove",
        quantity,
        "after turns",
        Limits(low, high, unit),
        text,
        tensioner.pulley,
        None,
        None,
        frozenset({belt.id}),
        "as prescribed" if quantity == "pointer" else "measured",
        "maker",
        places.drive.source,
        settle_min=sequence_of(tensioner).settle_min,
    )


def _window_of(tensioner: Tensioner) -> tuple[tuple[float, float] | None, str]:
    if isinstance(tensioner, Slide):
        return tensioner.window_mm, "mm"
    if isinstance(tensioner, Hydraulic) and tensioner.window_mm:
        return tensioner.window_mm, "mm"
    return tensioner.window_deg, "°"


def own_id(base: str, tensioner: Tensioner, belt: Belt, places: Places) -> str:
    """A check's slug on a tensioner: plain where the drive has one, else with the pulley and ``@`` and the belt."""
    if len(belt.tensioners) > 1:
        base = f"{base}.{check_slug(tensioner.pulley)}"
    return at_belt(base, belt, places)


def at_belt(base: str, belt: Belt, places: Places) -> str:
    """A check's slug on a belt: plain on the main belt, else with ``@`` and the belt, as the plan has it."""
    return base if belt.id == places.main else f"{base}@{check_slug(belt.id)}"


def _with_own_ids(needs: list[Need]) -> Iterator[Need]:
    """The needs with every slug once: a second one of the same slug gets a number."""
    seen: dict[str, int] = {}
    for need in needs:
        seen[need.id] = seen.get(need.id, 0) + 1
        yield need if seen[need.id] == 1 else replace(need, id=f"{need.id}-{seen[need.id]}")
