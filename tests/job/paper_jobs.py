"""Careful paper jobs: what a good technician writes down for each of the six invented engines, imperfections and all.

The entries are the ones ``twoturn open`` asks for; a careful man fills in what he reads. His readings scatter as they
do: the pointer stands a little off the notch, a mark is judged in quarters of a tooth, a gauge reads with its error.
All of it is simulated from a seed; no phone and no scope.
"""

from __future__ import annotations

import random
from dataclasses import dataclass
from datetime import datetime
from functools import cache
from typing import Any

from twoturn.acts.drive_files import shipped_drives
from twoturn.drive.load import read_drive
from twoturn.drive.parts import Drive
from twoturn.job.entries.base import EntryBase
from twoturn.job.entries.union import KINDS
from twoturn.job.needs import needs_of
from twoturn.job.places import Places
from twoturn.job.template import BLANK, template_entries

ENGINES = (
    "alder-one-cam",
    "birch-two-cams",
    "cedar-common-rail",
    "damson-rotary-pump",
    "elder-balance-shafts",
    "fir-vee-six",
)
WHEN = datetime(2026, 3, 2, 8, 10)


@cache
def engine(name: str) -> Drive:
    return read_drive(shipped_drives()[name], name)


@dataclass(frozen=True)
class Care:
    """How good the work and the readings are; the defaults are a careful man's."""

    overshoots: float = 0.15
    second_man: float = 0.2
    corrections: float = 0.1
    reset_and_again: float = 0.15
    mark_quarter: float = 0.15
    typed_at_the_end: float = 0.3


def careful_job(drive: Drive, rng: random.Random, care: Care | None = None) -> list[EntryBase]:
    """Entries of one careful paper job."""
    care = care or Care()
    rows = [filled(dict(line.keys), drive, rng, care) for line in template_entries(drive, "x")]
    rows = [row for row in rows if row is not None]
    if rng.random() < care.corrections:
        rows = with_correction(rows)
    if rng.random() < care.reset_and_again:
        rows = with_second_round(rows)
    if rng.random() < care.second_man:
        half = len(rows) // 2
        rows[half] = {**rows[half], "by": "B. Second"}
    rows[0] |= {"by": "A. First", "entered": WHEN}
    if rng.random() < care.typed_at_the_end:
        head, tail = rows[:1], rows[1:]
        rows = [*head, *typed_at_the_end(tail, rng)]
    return [made(row) for row in signed(rows)]


def made(row: dict[str, Any]) -> EntryBase:
    return make_entry(**row)


def make_entry(kind: str, **keys: Any) -> EntryBase:
    """One entry from its keys as a job file writes them (``pass_``, ``class_`` and ``except_`` without underscore)."""
    return KINDS[kind].model_validate({"kind": kind, **{key.rstrip("_"): value for key, value in keys.items()}})


def signed(rows: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Who and when carried on from entry to entry, as the reader of a job file does."""
    by, entered, out = None, None, []
    for row in rows:
        by, entered = row.get("by", by), row.get("entered", entered)
        out.append({**row, "by": by, "entered": entered})
    return out


def typed_at_the_end(rows: list[dict[str, Any]], rng: random.Random) -> list[dict[str, Any]]:
    """The entries of different steps in any order, those of one step as they were done (he goes by his paper plan)."""
    groups: dict[object, list[dict[str, Any]]] = {}
    for row in rows:
        groups.setdefault((row.get("pass", 1), row.get("done")), []).append(row)
    order = list(groups.values())
    corrected = any("replaces" in row for row in rows)
    if not corrected:
        rng.shuffle(order)
    order.sort(key=lambda group: group[0].get("pass", 1))  # the second round is typed after the first
    return [row for group in order for row in group]


def with_correction(rows: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """An odometer typed wrongly and corrected."""
    at = next(index for index, row in enumerate(rows) if row["kind"] == "odometer")
    wrong = {**rows[at], "km": 18400, "id": "odo"}
    return [*rows[:at], wrong, *rows[at + 1 :], {**rows[at], "replaces": "odo"}]


def with_second_round(rows: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """The setting was not liked: set again from the tensioner on, everything after it in a second round."""
    start = next((n for n, row in enumerate(rows) if str(row.get("done", "")) == "set-tensioner"), None)
    end = next((n for n, row in enumerate(rows) if str(row.get("done", "")) == "prove-setting"), None)
    if start is None or end is None:
        return rows
    while end < len(rows) and rows[end].get("done") == "prove-setting":
        end += 1
    again = [{**row, "pass": 2} for row in rows[start:]]
    return [*rows[:end], *again]


def filled(row: dict[str, Any], drive: Drive, rng: random.Random, care: Care) -> dict[str, Any] | None:
    kind = row["kind"]
    fill = FILLERS.get(kind)
    if fill is not None:
        given = fill(row, drive, rng, care)
        if given is None:
            return None
        row |= given
    row.pop("entered", None)
    assert BLANK not in row.values(), row
    return row


def need_at(row: dict[str, Any], drive: Drive, quantity: str) -> tuple[float, float]:
    """Limits of a requirement, for a man who sets to the middle."""
    for need in needs_of(drive, Places(drive)):
        if need.quantity == quantity and need.place in (row.get("at"), row.get("span")) and need.limits is not None:
            low = need.limits.low if need.limits.low is not None else (need.limits.high or 0.0) - 1
            high = need.limits.high if need.limits.high is not None else low + 20
            return low, high
    raise AssertionError((quantity, row))


def set_to_middle(row: dict[str, Any], drive: Drive, rng: random.Random, quantity: str) -> float:
    low, high = need_at(row, drive, quantity)
    return rng.gauss((low + high) / 2, (high - low) / 10)


def vehicle(row: dict[str, Any], drive: Drive, rng: random.Random, care: Care) -> dict[str, Any]:
    return {"registration": "XX 1234", "by": "A. First", "fuel": row["fuel"] if row["fuel"] != BLANK else "petrol"}


def tool(row: dict[str, Any], drive: Drive, rng: random.Random, care: Care) -> dict[str, Any]:
    return {"low_nm": 5, "high_nm": 250, "calibrated": "2025-09-01"}


def temperature(row: dict[str, Any], drive: Drive, rng: random.Random, care: Care) -> dict[str, Any] | None:
    if row["of"] == "shop air" if "of" in row else False:
        return {"temperature_c": round(rng.uniform(12, 27), 1)} if rng.random() < 0.6 else None
    return {"temperature_c": "overnight"}


def belt(row: dict[str, Any], drive: Drive, rng: random.Random, care: Care) -> dict[str, Any]:
    found = next(belt for belt in drive.belts if belt.id == row.get("belt", drive.belts[0].id))
    return {"teeth": found.table.teeth, "arrow": rng.choice(["with travel", "with travel", "none"])}


def turned(row: dict[str, Any], drive: Drive, rng: random.Random, care: Care) -> dict[str, Any]:
    turns = 2 if row["turns"] == BLANK else row["turns"]
    if turns and rng.random() < care.overshoots:
        return {"turns": 2 * turns, "overshot": True}
    return {"turns": turns}


def mark(row: dict[str, Any], drive: Drive, rng: random.Random, care: Care) -> dict[str, Any]:
    quarter = rng.random() < care.mark_quarter
    return {"reads": "quarter", "way": rng.choice(["early", "late"])} if quarter else {"reads": "on"}


def pin_in(row: dict[str, Any], drive: Drive, rng: random.Random, care: Care) -> dict[str, Any]:
    if "depth_mm" not in row:
        return {}
    shaft = next(pin.shaft for pin in drive.file.pin if pin.id == row["pin"])
    low, _ = need_at({"at": shaft}, drive, "pin depth")
    return {"depth_mm": round(low + rng.uniform(2, 8), 1)}


def pointer(row: dict[str, Any], drive: Drive, rng: random.Random, care: Care) -> dict[str, Any]:
    """By eye: in the notch, or so many degrees off it; the work itself is good to a third of the window."""
    _, high = need_at(row, drive, "pointer")
    off = rng.gauss(0, high / 3.5)
    if abs(off) < 1:
        return {"reads": "in the notch"}
    return {"reads": "past" if off > 0 else "short", "off_deg": round(abs(off), 1)}


def deflection(row: dict[str, Any], drive: Drive, rng: random.Random, care: Care) -> dict[str, Any]:
    value = set_to_middle(row, drive, rng, "deflection") + rng.gauss(0, 0.1)
    return {"deflection_mm": round(value, 1), "instrument": "belt gauge"}


def protrusion(row: dict[str, Any], drive: Drive, rng: random.Random, care: Care) -> dict[str, Any]:
    return {"protrusion_mm": round(set_to_middle(row, drive, rng, "protrusion") + rng.gauss(0, 0.05), 2)}


def pump_lift(row: dict[str, Any], drive: Drive, rng: random.Random, care: Care) -> dict[str, Any]:
    low, high = need_at(row, drive, "pump lift")
    return {"lift_mm": round((low + high) / 2 + rng.gauss(0, (high - low) / 8), 2)}


def nothing(row: dict[str, Any], drive: Drive, rng: random.Random, care: Care) -> None:
    return None


def fixed(**keys: Any) -> Any:
    def fill(row: dict[str, Any], drive: Drive, rng: random.Random, care: Care) -> dict[str, Any]:
        return keys

    return fill


FILLERS: dict[str, Any] = {
    "vehicle": vehicle,
    "odometer": fixed(km=118400),
    "tool": tool,
    "temperature": temperature,
    "belt fitted": belt,
    "turned": turned,
    "mark": mark,
    "pin in": pin_in,
    "pointer": pointer,
    "deflection": deflection,
    "protrusion": protrusion,
    "pump lift": pump_lift,
    "pluck": nothing,
    "capture": nothing,
    "moved at end": fixed(moved=False),
}
