"""What was tapped and typed for a list drive, understood: numbers with comma or point, a fault a field."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from twoturn.acts.list_offered import HOURS, NO_MARK, PHASED, SETTINGS, WHEELS
from twoturn.errors import TwoTurnError
from twoturn.quantity.parse import parse_number

MOST_WHEELS, MOST_FASTENERS = 20, 30


@dataclass(frozen=True)
class Wheel:
    """One wheel on the belt: name, role, teeth; how its place is proven (mark at an hour of the clock, pin).

    ``mark_said`` tells a wheel of which somebody said that it has no mark from one that nobody said it of.
    """

    name: str
    role: str
    teeth: int | None
    mark_hour: int | None = None
    pin: str = ""
    pin_mm: float | None = None
    mark_said: bool = False


@dataclass(frozen=True)
class Bolt:
    """One fastener: torque [N·m], further angle [°], whether it is renewed, whether it holds a setting."""

    name: str
    thread: str
    torque_nm: float | None
    angle_deg: float | None = None
    count: int = 1
    single_use: bool = False
    holds: bool = False


@dataclass(frozen=True)
class ListAnswers:
    """All answers; what was not answered is None or empty."""

    name: str
    source: str
    crank_turns: str
    belt_teeth: int | None
    wheels: tuple[Wheel, ...]
    kind: str
    setting: str
    tightens: str
    wait_min: int
    after_turns: int
    bolts: tuple[Bolt, ...]
    interference: str
    fuel: str
    km: float | None
    months: float | None


@dataclass
class Reader:
    """Reads answers one by one and keeps a sentence for each that is not understood.

    Attributes
    ----------
    faults
        Sentence by field, such as ``wheels.1.teeth``.
    """

    faults: dict[str, str] = field(default_factory=dict)

    def number(self, data: Mapping[str, Any], key: str, place: str, low: float, high: float) -> float | None:
        """A number from ``low`` to ``high`` [as typed], or None where nothing was typed."""
        typed = str(data.get(key) if data.get(key) is not None else "").strip()
        if not typed:
            return None
        try:
            value = parse_number(typed, (low, high))
        except TwoTurnError as error:
            self.faults[place + key] = error.sentence
            return None
        if not low <= value <= high:
            self.faults[place + key] = f"{typed[:20]} is out of range; allowed: {low:g} to {high:g}."
            return None
        return value

    def whole(self, data: Mapping[str, Any], key: str, place: str, low: int, high: int) -> int | None:
        """A whole number from ``low`` to ``high`` [-], or None where nothing was typed."""
        value = self.number(data, key, place, low, high)
        if value is not None and value != int(value):
            self.faults[place + key] = f"{value:g} is not a whole number; allowed: {low} to {high}."
            return None
        return None if value is None else int(value)


def text_of(data: Mapping[str, Any], key: str, longest: int = 120) -> str:
    """A text on one line, cut at ``longest`` [characters]."""
    value = data.get(key)
    return "" if value is None else " ".join(str(value).split())[:longest]


def answers_of(data: Mapping[str, Any]) -> tuple[ListAnswers, dict[str, str]]:
    """Answers as a page sends them, and a sentence for each field that is not understood.

    Parameters
    ----------
    data
        Keys as in :class:`ListAnswers`; ``wheels`` and ``bolts`` are lists of tables. Numbers may be typed texts.
    """
    read = Reader()
    kind = text_of(data, "kind")
    ways = [way.id for way in SETTINGS.get(kind, ())]
    setting = text_of(data, "setting")
    answers = ListAnswers(
        name=text_of(data, "name"),
        source=text_of(data, "source"),
        crank_turns=text_of(data, "crank_turns"),
        belt_teeth=read.whole(data, "belt_teeth", "", 20, 500),
        wheels=_wheels(_rows(data, "wheels")[:MOST_WHEELS], read),
        kind=kind,
        setting=setting if setting in ways else (ways[0] if ways else ""),
        tightens=text_of(data, "tightens"),
        wait_min=read.whole(data, "wait_min", "", 0, 600) or 0,
        after_turns=read.whole(data, "after_turns", "", 1, 20) or 2,
        bolts=tuple(_bolt(row, f"bolts.{at}.", read) for at, row in enumerate(_rows(data, "bolts")[:MOST_FASTENERS])),
        interference=text_of(data, "interference"),
        fuel=text_of(data, "fuel"),
        km=read.number(data, "km", "", 1000, 1_000_000),
        months=read.number(data, "months", "", 1, 600),
    )
    return answers, read.faults


def _rows(data: Mapping[str, Any], key: str) -> Sequence[Mapping[str, Any]]:
    rows = data.get(key)
    return [row for row in rows if isinstance(row, Mapping)] if isinstance(rows, list) else []


def _wheels(rows: Sequence[Mapping[str, Any]], read: Reader) -> tuple[Wheel, ...]:
    """The wheels, the crankshaft's first; a second one of a name gets a number."""
    found: list[Wheel] = []
    for at, row in enumerate(rows):
        place = f"wheels.{at}."
        name = text_of(row, "name", 60) or "wheel"
        role = "crankshaft" if at == 0 else WHEELS.get(name, "idler")
        same = sum(wheel.name == name or wheel.name.startswith(f"{name} ") for wheel in found if wheel.role == role)
        unmarked = row.get("mark_hour") == NO_MARK
        hour = None if unmarked else read.whole(row, "mark_hour", place, HOURS[0], HOURS[-1])
        found.append(
            Wheel(
                f"{name} {same + 1}" if same else name,
                role,
                read.whole(row, "teeth", place, 6, 200),
                hour if role in PHASED else None,
                text_of(row, "pin") if role in PHASED else "",
                read.number(row, "pin_mm", place, 1, 40),
                unmarked or hour is not None,
            )
        )
    return tuple(found)


def _bolt(row: Mapping[str, Any], place: str, read: Reader) -> Bolt:
    return Bolt(
        name=text_of(row, "name", 60),
        thread=text_of(row, "thread", 20),
        torque_nm=read.number(row, "torque_nm", place, 0.5, 1000),
        angle_deg=read.number(row, "angle_deg", place, 1, 720),
        count=read.whole(row, "count", place, 1, 60) or 1,
        single_use=row.get("single_use") is True,
        holds=row.get("holds") is True,
    )
