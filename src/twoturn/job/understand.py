"""One entry as written, a TOML table or a JSON object, held against the rules of its kind; faults are collected."""

from __future__ import annotations

import difflib
import math
from collections.abc import Iterator, Sequence
from typing import Any

from pydantic import BaseModel, ValidationError

from twoturn.drive.faults import FaultList, shown
from twoturn.drive.toml_bare import PLACEHOLDER
from twoturn.errors import TwoTurnError
from twoturn.job.canonical import canonical_json
from twoturn.job.entries.base import EntryBase
from twoturn.job.entries.union import KINDS

DEPTH = 8
"""How deep the keys of an entry are looked through [-]; none goes deeper than four."""


def entry_of(index: int, row: dict[str, Any], faults: FaultList) -> EntryBase | None:
    """The entry that a row of keys and values is; None, with its faults noted, where it is none.

    Parameters
    ----------
    index
        Its place, counted from 0.
    row
        Keys and values as written.
    faults
        Where its faults are noted, at ``("entry", index, ...)``.
    """
    kind = row.get("kind")
    model = KINDS.get(kind) if isinstance(kind, str) else None
    if model is None:
        near = difflib.get_close_matches(kind.lower(), KINDS, n=1, cutoff=0.5) if isinstance(kind, str) else []
        expected = (
            f'a kind of entry, perhaps "{near[0]}"' if near else "one of " + ", ".join(f'"{name}"' for name in KINDS)
        )
        faults.add(("entry", index, "kind"), shown(kind), expected)
        return None
    for path, number in _endless(row):
        faults.add(("entry", index, *path), f"{number}", expected_at(path, model))
        return None
    dots = tuple(_placeholders(row))
    for path in dots:
        faults.add(
            ("entry", index, *path), shown(value_at(row, path)), f"{expected_at(path, model)}, not dots or a blank"
        )
    try:
        canonical_json(row)
        return model.model_validate(row)
    except ValidationError as error:
        for fault in error.errors(include_url=False):
            if _path(fault["loc"], row) not in dots:
                _note(index, row, model, fault, faults)
    except (TwoTurnError, RecursionError) as error:
        found = error.message if isinstance(error, TwoTurnError) else "lists or tables nested hundreds deep"
        faults.add(("entry", index), found, "texts, numbers and dates that the record can keep")
    return None


def _placeholders(value: Any, path: tuple[str | int, ...] = ()) -> Iterator[tuple[str | int, ...]]:
    """Every text of an entry that is only dots, question marks or blanks: still to be written."""
    if isinstance(value, str) and PLACEHOLDER.fullmatch(value):
        yield path
    inner = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    if len(path) < DEPTH:
        for key, item in inner:
            if isinstance(key, str) and PLACEHOLDER.fullmatch(key):
                yield path
            yield from _placeholders(item, (*path, key))


def _endless(value: Any, path: tuple[str | int, ...] = ()) -> Iterator[tuple[tuple[str | int, ...], float]]:
    """Every nan and inf of an entry, with the keys that lead to it."""
    if isinstance(value, float) and not math.isfinite(value):
        yield path, value
    inner = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    if len(path) < DEPTH:
        for key, item in inner:
            yield from _endless(item, (*path, key))


def _note(index: int, row: dict[str, Any], model: type[EntryBase], fault: Any, faults: FaultList) -> None:
    path = _path(fault["loc"], row)
    where = ("entry", index, *path)
    if fault["type"] == "twoturn":
        words = fault["ctx"]
        faults.add((*where, words["key"]) if words["key"] else where, words["found"], words["expected"])
    elif fault["type"] == "extra_forbidden":
        keys = known_keys(_model_at(path[:-1], model))
        near = difflib.get_close_matches(str(path[-1]).lower(), keys, n=1, cutoff=0.6) if path else []
        instead = f"{near[0]}, if that is meant" if near else "one of " + ", ".join(keys)
        faults.add(where, "an unknown key", instead)
    else:
        faults.add(where, shown(value_at(row, path)), expected_at(path, model))


def _path(loc: tuple[str | int, ...], row: Any) -> tuple[str | int, ...]:
    """The part of the model's own place that stands in the file (names of choices in a union do not)."""
    path: list[str | int] = []
    value = row
    for at, part in enumerate(loc):
        is_key = isinstance(value, dict) and isinstance(part, str)
        is_element = isinstance(value, list) and isinstance(part, int) and part < len(value)
        if is_element or (is_key and part in value):
            path.append(part)
            value = value[part]
        elif is_key and at == len(loc) - 1:
            path.append(part)
    return tuple(path)


def value_at(row: Any, path: tuple[str | int, ...]) -> Any:
    """The value at a path of a document; None where nothing stands there."""
    value = row
    for part in path:
        if isinstance(value, dict):
            value = value.get(str(part))
        elif isinstance(value, list) and isinstance(part, int) and part < len(value):
            value = value[part]
        else:
            return None
    return value


def known_keys(model: type[BaseModel]) -> list[str]:
    """Keys of an entry as a job file writes them, the entry's own before the shared ones."""
    shared = {field.alias or name for name, field in EntryBase.model_fields.items()}
    keys = [field.alias or name for name, field in model.model_fields.items()]
    return [key for key in keys if key not in shared] + [key for key in keys if key in shared]


def _model_at(path: tuple[str | int, ...], model: type[BaseModel]) -> type[BaseModel]:
    """The table inside an entry that ``path`` leads to."""
    found = model
    for part in path:
        for name, field in found.model_fields.items():
            if part in (field.alias, name):
                inner = _models_in(field.annotation)
                found = inner[0] if inner else found
    return found


def _models_in(annotation: Any) -> list[type[BaseModel]]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return [annotation]
    return [model for part in getattr(annotation, "__args__", ()) for model in _models_in(part)]


def expected_at(path: tuple[str | int, ...], model: type[BaseModel]) -> str:
    """What the key at a path of an entry holds, in words."""
    words = ""
    table = model
    for part in path:
        for name, field in table.model_fields.items():
            if part in (field.alias, name):
                words = field.description or words
                inner = _models_in(field.annotation)
                table = inner[0] if inner else table
                break
    return words or "what docs/job-file.md shows for this kind of entry"


def signed(entries: Sequence[EntryBase], faults: FaultList, before: EntryBase | None = None) -> list[EntryBase]:
    """Every entry with its ``by`` and ``entered``, taken from the entry before where it has none.

    Parameters
    ----------
    entries
        The entries as written.
    faults
        Where a first entry that says neither is noted.
    before
        The entry before them, with its own filled in; None where they are the first of the job.
    """
    by = before.by if before is not None else None
    entered = before.entered if before is not None else None
    out = []
    for index, entry in enumerate(entries):
        by, entered = entry.by or by, entry.entered or entered
        if index == 0 and by is None:
            faults.add(
                ("entry", 0, "by"), "nothing", "the name of the person; later entries need it only when it changes"
            )
        if index == 0 and entered is None:
            faults.add(("entry", 0, "entered"), "nothing", "the date and time, such as 2026-03-02T17:40:00")
        out.append(entry.model_copy(update={"by": by, "entered": entered}))
    return out
