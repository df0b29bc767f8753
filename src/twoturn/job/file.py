"""Reading a job file: text to entries, with every fault collected."""

from __future__ import annotations

import difflib
import math
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from pydantic import BaseModel, ValidationError

from twoturn.drive.faults import FaultList, shown
from twoturn.drive.toml_bare import PLACEHOLDER
from twoturn.drive.toml_text import read_toml
from twoturn.errors import TwoTurnError
from twoturn.job.canonical import canonical_json
from twoturn.job.entries.base import EntryBase
from twoturn.job.entries.union import KINDS

FORMAT = 1
HEAD = ("format", "drive", "entry")
DRIVE = "the path of the drive file, or the name of a shipped drive"
DEPTH = 8
"""How deep the keys of an entry are looked through [-]; none goes deeper than four."""


@dataclass(frozen=True)
class JobFile:
    """A job file, understood as far as it can be without its drive.

    Attributes
    ----------
    name
        Name of the file as it was given.
    text
        Its text, from which lines of later faults are found.
    drive
        Path of the drive file, or the name of a shipped drive, as written.
    entries
        The entries in order; who and when are filled in from the entry before.
    raw
        The entries as written: what the record's hashes are made of.
    """

    name: str
    text: str
    drive: str
    entries: tuple[EntryBase, ...]
    raw: tuple[dict[str, Any], ...]


def read_job(text: str, file_name: str) -> JobFile:
    """The job file in ``text``.

    Parameters
    ----------
    text
        The whole text.
    file_name
        Name of the file as it was given, for the faults.

    Raises
    ------
    FileFaults
        Every fault of the text, in file order.
    """
    document = read_toml(text, file_name, what="job file", holds=_holds)
    faults = FaultList(file_name, text)
    _check_head(document, faults)
    rows = _rows(document, faults)
    entries = [_entry(index, row, faults) for index, row in enumerate(rows)]
    faults.raise_if_any()
    known = [entry for entry in entries if entry is not None]
    signed = _signed(known, faults)
    faults.raise_if_any()
    return JobFile(file_name, text, document["drive"], tuple(signed), tuple(rows))


def _holds(document: dict[str, Any], path: tuple[str | int, ...]) -> str:
    """What the key at a path of a job file holds; empty where that is not known."""
    if path == ("drive",):
        return DRIVE
    row = _value(document, path[:2]) if path[:1] == ("entry",) else None
    kind = row.get("kind") if isinstance(row, dict) else None
    if path[2:] == ("kind",):
        return "a kind of entry"
    model = KINDS.get(kind) if isinstance(kind, str) else None
    return "" if model is None or len(path) < 3 else _expected(path[2:], model)


def _check_head(document: dict[str, Any], faults: FaultList) -> None:
    for key in document:
        if key not in HEAD:
            near = difflib.get_close_matches(key, (*HEAD, *KINDS), n=1, cutoff=0.6)
            instead = (
                f"{near[0]}, if that is meant" if near and near[0] in HEAD else "format, drive and [[entry]] tables"
            )
            faults.add((key,), "an unknown key", instead)
    number = document.get("format")
    if isinstance(number, bool) or number != FORMAT:
        faults.add(("format",), shown(number), f"format = {FORMAT}, the format this version writes and reads")
    drive = document.get("drive")
    if not isinstance(drive, str) or PLACEHOLDER.fullmatch(drive):
        faults.add(("drive",), shown(drive), DRIVE)


def _rows(document: dict[str, Any], faults: FaultList) -> list[dict[str, Any]]:
    rows = document.get("entry", [])
    if isinstance(rows, dict) or not isinstance(rows, list):
        faults.add(("entry",), shown(rows), "[[entry]] tables, in double brackets")
        return []
    good = []
    for index, row in enumerate(rows):
        if isinstance(row, dict):
            good.append(row)
        else:
            faults.add(("entry", index), shown(row), "an [[entry]] table")
    return good


def _entry(index: int, row: dict[str, Any], faults: FaultList) -> EntryBase | None:
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
        faults.add(("entry", index, *path), f"{number}", _expected(path, model))
        return None
    dots = tuple(_placeholders(row))
    for path in dots:
        faults.add(("entry", index, *path), shown(_value(row, path)), f"{_expected(path, model)}, not dots or a blank")
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
        faults.add(where, shown(_value(row, path)), _expected(path, model))


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


def _value(row: Any, path: tuple[str | int, ...]) -> Any:
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


def _expected(path: tuple[str | int, ...], model: type[BaseModel]) -> str:
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


def _signed(entries: list[EntryBase], faults: FaultList) -> list[EntryBase]:
    """Every entry with its ``by`` and ``entered``, taken from the entry before where it has none."""
    by: str | None = None
    entered: datetime | None = None
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
