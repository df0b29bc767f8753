"""Boxes of the paper plan entered in one sending: all of them or none, and every fault with the box it is in."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from twoturn.acts.shop.boxes import Box, boxes
from twoturn.acts.shop.entries import Added, add_entries
from twoturn.acts.shop.forms import FormRefused
from twoturn.acts.shop.job_view import JobView, job_view
from twoturn.acts.shop.people import Actor, may
from twoturn.acts.shop.sent_again import all_the_same, content_of, view_before, written
from twoturn.acts.shop.shop import Shop
from twoturn.drive.faults import shown
from twoturn.errors import Fault, FileFaults, TwoTurnError
from twoturn.job.asked.drawer import tool_rows
from twoturn.job.asked.model import Given, Units
from twoturn.job.asked.typed import in_units, row_of

METRIC = Units()


@dataclass(frozen=True)
class Filled:
    """What was ticked and typed of the paper.

    Attributes
    ----------
    ticked
        Ids of the boxes that are ticked.
    typed
        What was typed, by id of the box and key of the square.
    units
        The units in which numbers without a unit were typed.
    waited_s
        How long it has waited on the device before it was sent [s].
    """

    ticked: frozenset[str] = frozenset()
    typed: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    units: Units = METRIC
    waited_s: float = 0.0

    def squares(self, box_id: str) -> dict[str, str]:
        """What was typed in a box, without what is blank."""
        return {key: text.strip() for key, text in self.typed.get(box_id, {}).items() if text.strip()}

    @property
    def ids(self) -> tuple[str, ...]:
        """The boxes in which anything stands."""
        return tuple(dict.fromkeys([*sorted(self.ticked), *(one for one in self.typed if self.squares(one))]))


class BoxesRefused(FormRefused):
    """Boxes that cannot be as they are: nothing was written. ``fields`` has a sentence for each, by its id."""


def enter_boxes(
    shop: Shop, actor: Actor, job_id: int, filled: Filled, key: str, after: int | None = None
) -> Added:  # fmt: skip
    """Enter what was ticked and typed, step by step, all of it or nothing, once for each key.

    Parameters
    ----------
    shop, actor, job_id
        The record, who enters it, and in which job.
    filled, key
        What was ticked and typed, and the key of the sending.
    after
        Number of the last entry that the page knew.

    Raises
    ------
    KeyMissing, KeyReused, KeyInFlight
        As :func:`~twoturn.acts.shop.entries.add_entries`.
    BoxesRefused
        Every box at fault, with its title.
    TwoTurnError
        Nothing is ticked or typed.
    """
    before = written(shop, job_id, key)
    view = view_before(shop, job_id, before[0]) if before else job_view(shop, job_id)
    rows = _rows(view, actor, filled)
    raw = [row for row, _ in rows]
    if before and all_the_same(raw, before):
        raw = [content_of(one) for one in before]
    try:
        return add_entries(shop, actor, job_id, raw, key, after, waited_s=filled.waited_s)
    except FileFaults as error:
        raise _at_boxes(error, rows, len(view.lines)) from None


Rows = list[tuple[dict[str, Any], Box]]


def _rows(view: JobView, actor: Actor, filled: Filled) -> Rows:
    """The entries, each with its box: step by step, within a step in the order in which its questions are answered.

    Raises
    ------
    BoxesRefused
        Every box at fault.
    """
    open_ones = {box.id: box for box in boxes(view)}
    wanted = filled.ids
    if not wanted:
        raise TwoTurnError("nothing is ticked and nothing typed", next_step="tick what is ticked on the paper")
    faults = {one: _gone(view, one) for one in wanted if one not in open_ones}
    rows: Rows = []
    for box in (open_ones[one.id] for found in view.asked.values() for one in found if one.id in open_ones):
        if box.id not in wanted:
            continue
        try:
            rows += [(row, box) for row in _of_box(box, actor, filled, _tools_typed(rows))]
        except FileFaults as error:
            faults[box.id] = _sentence(box, error.faults)
    if faults:
        order = [*(one for one in open_ones if one in faults), *faults]
        raise BoxesRefused({one: faults[one] for one in dict.fromkeys(order)})
    return _with_tools(rows, view)


def _of_box(box: Box, actor: Actor, filled: Filled, tools: tuple[str, ...]) -> Iterator[dict[str, Any]]:
    """The entries of one box: one, or one for each reading."""
    ticked, typed = box.id in filled.ticked, filled.squares(box.id)
    known = {square.key: square for square in box.squares}
    faults = [_fault(box, key[:80], shown(text), "a square of this box") for key, text in typed.items()
              if key not in known]  # fmt: skip
    if ticked and box.asked.quick is None:
        faults.append(_fault(box, box.id, "a tick", "what stands in its squares"))
    if box.asked.kind == "signed" and not may(actor, "hand over"):
        faults.append(_fault(box, box.id, f"the signature of a {actor.role}", "that of a technician or a lead"))
    if box.asked.kind == "torque" and not ticked:
        faults.append(_fault(box, "tool", "a tool, and no tick", "a tick where it is tightened to plan"))
    if faults:
        raise FileFaults(faults)
    asked = in_units(box.asked, filled.units)
    for reading in sorted({1 if ticked else known[next(iter(typed))].reading, *(known[one].reading for one in typed)}):
        mine = {known[key].field.key: text for key, text in typed.items() if known[key].reading == reading}
        given: dict[str, Given] = dict(asked.quick_values if ticked else asked.filled)
        given |= {key: _joined(box, key, given.get(key), text) for key, text in mine.items()}
        if box.asked.kind == "torque" and tools and not given.get("tool"):
            given["tool"] = tools
        yield row_of(asked, given, filled.units)


def _joined(box: Box, key: str, said: Given, text: str) -> Given:
    """What is typed counts over what the tick says; a text goes behind the tick's own, several are told by commas."""
    shape = next(square.field.shape for square in box.squares if square.field.key == key)
    if shape == "many":
        return tuple(part.strip() for part in text.split(",") if part.strip())
    if shape == "text" and isinstance(said, str) and said:
        return text if text.startswith(said) else f"{said}; {text}"
    return text


def _tools_typed(rows: Rows) -> tuple[str, ...]:
    """The torque tools described further up on the same paper."""
    return tuple(dict.fromkeys(str(row["tool"]) for row, _ in rows if row.get("kind") == "tool"))


def _with_tools(rows: Rows, view: JobView) -> Rows:
    """Before the first torque that names a tool of the drawer, the entry that describes it."""
    described = set(_tools_typed(rows))
    found: Rows = []
    for row, box in rows:
        for tool in tool_rows(row, view.proof.job.file.entries, view.known):
            if tool["tool"] not in described:
                described.add(tool["tool"])
                found.append((tool, box))
        found.append((row, box))
    return found


# faults --------------------------------------------------------------------------------------------------------------
def _fault(box: Box, key: str, found: str, expected: str) -> Fault:
    return Fault(box.asked.title, None, key, found, expected)


def _sentence(box: Box, faults: list[Fault]) -> str:
    """What is the matter with a box; a square is named where there are several."""
    labels = {square.field.key: square.label for square in box.squares} if len(box.squares) > 1 else {}
    said = [
        (f"{labels[one.key]}: " if one.key in labels else "")
        + f"found {one.found}; expected {one.expected.rstrip('. ')}"
        for one in faults
    ]
    return f"{box.name[0].upper()}{box.name[1:]}: {'; '.join(said)}."


def _gone(view: JobView, box_id: str) -> str:
    """What to say of a box that is open no more."""
    asked = next((one for found in view.asked.values() for one in found if one.id == box_id), None)
    if asked is None:
        return f"{shown(box_id[:80])} is no box of this job any more: leave it out, and look at the job."
    words = asked.words[-1] if asked.words else "it is entered"
    return f"{asked.title}: entered meanwhile ({words.rstrip('.')}): leave this box out."


def _at_boxes(error: FileFaults, rows: Rows, known: int) -> TwoTurnError:
    """Faults of entries, told at the boxes they came from; as they are where that cannot be told."""
    found: dict[str, tuple[Box, list[Fault]]] = {}
    for fault in error.faults:
        number, _, rest = fault.key.removeprefix("entry[").partition("]")
        at = int(number) - 1 - known if number.isdigit() else -1
        if not 0 <= at < len(rows):
            return error
        box = rows[at][1]
        found.setdefault(box.id, (box, []))[1].append(replace(fault, key=rest.lstrip(".")))
    return BoxesRefused({box.id: _sentence(box, faults) for box, faults in found.values()})
