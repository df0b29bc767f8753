"""What a person typed or tapped, made into an entry: the raw row, or every fault with the field it is in."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from twoturn.errors import Fault, FileFaults
from twoturn.job.asked.model import Asked, Field, Given, Units
from twoturn.job.asked.typed_fields import FILES, Taken, Unclear, taken, texts_of
from twoturn.job.rows import entry_of_row

ENTRY_UNITS = Units()
"""The units in which entries take their numbers."""
ROW = "row."
"""What the fields of a row of fasteners begin with."""


@dataclass(frozen=True)
class Understood:
    """What stands in one field, as understood.

    Attributes
    ----------
    ok
        Whether the entry can take it.
    words
        "understood: 12.5 mm", or the sentence that says what is the matter; empty for an empty field.
    value
        What the entry would hold; None where there is nothing, or nothing that can be taken.
    """

    ok: bool
    words: str
    value: Any = None

    def as_json(self) -> dict[str, Any]:
        """Keys ``ok``, ``words``, ``value``."""
        return {"ok": self.ok, "words": self.words, "value": self.value}


def understood(field: Field, text: Given, units: Units = ENTRY_UNITS) -> Understood:
    """What a field holds, to show beside it before it counts.

    Parameters
    ----------
    field, text
        The field, and what stands in it.
    units
        The units a person uses: a number without a unit is in them.
    """
    try:
        texts = texts_of(text)
        if not texts:
            return Understood(not field.required, "")
        found = taken(field, texts, units)
    except Unclear as error:
        return Understood(False, f"{field.label}: found {error.found}; expected {error.expected.rstrip('. ')}.")
    return Understood(True, f"understood: {found.words}" if found.words else "", found.value)


def row_of(asked: Asked, given: Mapping[str, Given], units: Units = ENTRY_UNITS) -> dict[str, Any]:
    """The entry that an answer is, raw, as a job file holds it.

    Parameters
    ----------
    asked
        The question.
    given
        What stands in its fields, by their keys; what is not there is blank. Of a file also ``sha256``.
    units
        The units a person uses: a number without a unit is in them.

    Returns
    -------
    dict
        Keys and values without who and when; numbers typed in other units keep them.

    Raises
    ------
    FileFaults
        Every fault; ``key`` of each is the key of its field.
    """
    faults: list[Fault] = []
    texts = _texts(asked, given, faults)
    found: dict[str, Taken] = {}
    for field in asked.every_field:
        if _is_asked(field, texts):
            _take(asked, field, texts.get(field.key, ()), units, found, faults)
    if faults:
        raise FileFaults(faults)
    row = _row(asked, {key: one.value for key, one in found.items() if one.value is not None})
    if "sha256" in texts:
        row["sha256"] = texts["sha256"][0].lower()
    _check(asked, row)
    return row


def quick_row(asked: Asked) -> dict[str, Any]:
    """The entry of the one-tap answer.

    Raises
    ------
    FileFaults
        The question has no one-tap answer, or something is left to say in it.
    """
    if asked.quick is None:
        raise FileFaults([_fault(asked, asked.id, "one tap", "an answer in the fields of the question")])
    return row_of(asked, asked.quick_values)


def in_units(asked: Asked, units: Units) -> Asked:
    """The question as it is shown to someone who uses other units: a number filled in says which unit it is in."""
    shown = {field.key: field for field in asked.every_field if units.of(field.unit) != field.unit}
    if not shown:
        return asked
    values = {
        key: with_unit(value, shown[key].unit) if key in shown else value for key, value in asked.quick_values.items()
    }

    def told(group: tuple[Field, ...]) -> tuple[Field, ...]:
        return tuple(
            replace(field, value=with_unit(field.value, field.unit)) if field.key in shown else field for field in group
        )

    return replace(asked, fields=told(asked.fields), more=told(asked.more), quick_values=values)


def with_unit(value: Given, unit: str) -> Given:
    """A number filled in, with its unit behind it; anything else as it is."""
    if not isinstance(value, str):
        return value
    try:
        float(value)
    except ValueError:
        return value
    return f"{value} {unit}"


# the fields ----------------------------------------------------------------------------------------------------------
def _texts(asked: Asked, given: Mapping[str, Given], faults: list[Fault]) -> dict[str, tuple[str, ...]]:
    """What stands in the fields as texts; keys that no field has are refused."""
    known = [field.key for field in asked.every_field]
    known += ["sha256"] if any(field.shape in FILES for field in asked.every_field) else []
    texts = {}
    for key, value in given.items():
        if key not in known:
            faults.append(_fault(asked, str(key)[:80], "an unknown key", f"one of {', '.join(known)}"))
            continue
        try:
            told = texts_of(value)
        except Unclear as error:
            faults.append(_fault(asked, key, error.found, error.expected))
            continue
        if told:
            texts[key] = told
    return texts


def _is_asked(field: Field, texts: Mapping[str, tuple[str, ...]]) -> bool:
    """Whether a field is asked at all, by what stands in another one."""
    if field.only_if is None:
        return True
    key, values = field.only_if
    return bool(set(texts.get(key, ())) & set(values))


def _take(
    asked: Asked, field: Field, texts: tuple[str, ...], units: Units, found: dict[str, Taken], faults: list[Fault]
) -> None:  # fmt: skip
    if not texts:
        own_rows = asked.kind == "torque" and field.shape == "torque row"
        if field.required and not own_rows:
            faults.append(_fault(asked, field.key, "nothing", field.label.lower() or "an answer"))
        return
    try:
        found[field.key] = taken(field, texts, units)
    except Unclear as error:
        faults.append(_fault(asked, field.key, error.found, error.expected))


# the row -------------------------------------------------------------------------------------------------------------
def _row(asked: Asked, values: dict[str, Any]) -> dict[str, Any]:
    """Keys and values of the entry, where it stands last; tables of their own for keys with a point."""
    row: dict[str, Any] = {key: value for key, value in asked.fixed.items() if key not in ("done", "pass")}
    own = {key.removeprefix(ROW): value for key, value in values.items() if key.startswith(ROW)}
    for key, value in values.items():
        table, _, inner = key.partition(".")
        if not inner:
            row[key] = value
        elif table != "row":
            row.setdefault(table, {})[inner] = value
    if asked.kind == "torque" and "fastener" not in asked.fixed:
        row = _tightened(asked, row, own)
    return row | {key: asked.fixed[key] for key in ("done", "pass") if key in asked.fixed}


def _tightened(asked: Asked, row: dict[str, Any], own: dict[str, Any]) -> dict[str, Any]:
    """Fasteners to plan, or a row where some have values of their own: those to plan then have the plan's."""
    picked = row.pop("fastener", [])
    names = [picked] if isinstance(picked, str) else list(picked)
    if not own:
        if not names:
            raise FileFaults([_fault(asked, "fastener", "nothing", "what was tightened")])
        return {"kind": "torque", "fastener": names[0] if len(names) == 1 else names, "to_plan": True, **row}
    planned = {field.key.removeprefix(ROW): field for field in asked.more if field.key.startswith(ROW)}
    stages = {}
    for name in dict.fromkeys([*names, *own]):
        if name in own:
            stages[name] = own[name]
        elif planned[name].hint:
            stages[name] = _planned(asked, planned[name])
        else:
            expected = "its value as set, since the drive file gives none and others have one of their own"
            raise FileFaults([_fault(asked, f"{ROW}{name}", "nothing", expected)])
    return {"kind": "torque", "row": stages, **row}


def _planned(asked: Asked, field: Field) -> Any:
    """The stages of the plan, which the field of a fastener holds as its hint."""
    try:
        return taken(field, (field.hint,), ENTRY_UNITS).value
    except Unclear as error:
        raise FileFaults([_fault(asked, field.key, error.found, error.expected)]) from None


def _check(asked: Asked, row: Mapping[str, Any]) -> None:
    """Hold the row against the rules of its kind; faults get the keys of the fields."""
    try:
        entry_of_row(row, asked.title)
    except FileFaults as error:
        raise FileFaults([_in_field(asked, fault) for fault in error.faults]) from None


def _in_field(asked: Asked, fault: Fault) -> Fault:
    """A fault of an entry at the field it came from."""
    keys = [field.key for field in asked.every_field]
    whole = fault.key.partition("[")[0]
    near = next((key for key in keys if key in (fault.key, whole)), None)
    if near is None:
        near = next((key for key in keys if key.partition(".")[0] == whole.partition(".")[0]), fault.key)
    if asked.kind == "pointer" and near == "reads":
        near = next((key for key in ("widths", "off_mm") if key in keys), near)
    return _fault(asked, near, fault.found, fault.expected)


def _fault(asked: Asked, key: str, found: str, expected: str) -> Fault:
    return Fault(asked.title, None, key, found, expected)
