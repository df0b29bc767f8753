"""What the model finds wrong with a document, translated into the words of a technician."""

from __future__ import annotations

import difflib
from collections.abc import Mapping
from typing import Any

from pydantic import BaseModel, ValidationError

from twoturn.drive.faults import FaultList, shown
from twoturn.drive.model.base import EXACT
from twoturn.drive.model.describe import expected_at, known_keys, table_at, tables_by_name, uncertain_keys
from twoturn.drive.model.tensioners import KINDS
from twoturn.drive.toml_lines import Path


def note_model_errors(error: ValidationError, document: dict[str, Any], faults: FaultList) -> None:
    """Add every fault of ``error`` to ``faults``, one a key.

    Parameters
    ----------
    error
        What the model says of the document.
    document
        The document as read, to show what was found.
    faults
        Where the faults are collected.
    """
    for row in error.errors(include_url=False):
        path = _path_in_file(row["loc"], row["type"], document)
        _note(row, path, document, faults)


def _note(row: Mapping[str, Any], path: Path, document: dict[str, Any], faults: FaultList) -> None:
    kind = row["type"]
    if kind == "twoturn":
        words = row["ctx"]
        faults.add((*path, words["key"]) if words["key"] else path, words["found"], words["expected"])
    elif kind == "extra_forbidden":
        table = table_at(path[:-1], document)
        faults.refuse("unknown-key", path, "an unknown key", instead=_instead(str(path[-1]), table))
    elif kind == "missing":
        faults.add(path, shown(_value_at(path, document)), expected_at(path, document))
    elif kind in ("union_tag_not_found", "union_tag_invalid"):
        given = _value_at(path, document)
        found = shown(given.get("kind") if isinstance(given, dict) else given)
        faults.refuse("tensioner-kind", (*path, "kind"), found, kinds=", ".join(f'"{name}"' for name in KINDS))
    else:
        faults.add(path, shown(_value_at(path, document)), _expected(path, document))


def _expected(path: Path, document: dict[str, Any]) -> str:
    value = _value_at(path, document)
    words = expected_at(path, document)
    if isinstance(value, str) and words.startswith(("a number", "a whole number", "two numbers")):
        return f"{words}, without quotation marks"
    if isinstance(value, int | float) and words.startswith("a text"):
        return f'{words}, such as "{value}"'
    if isinstance(value, dict) and words.startswith("a list"):
        return f"{words} (write [[{path[-1]}]] with double brackets)"
    if isinstance(value, list) and words.startswith("a table"):
        return f"one table [{path[-1]}], in single brackets"
    return words


def _instead(key: str, table: type[BaseModel] | None) -> str:
    if table is None:
        return "a key that docs/drive-file.md names"
    if key.endswith("_u") and key.removesuffix("_u") in EXACT:
        return "no uncertainty here: tooth counts and pitches are exact"
    if key.endswith("_u") and key.removesuffix("_u") in known_keys(table):
        return f"no uncertainty here: {key.removesuffix('_u')} is no quantity with a unit"
    known = known_keys(table)
    near = difflib.get_close_matches(key.lower(), [*known, *uncertain_keys(table)], n=1, cutoff=0.7)
    if near:
        return f"{near[0]}, if that is meant"
    others = [f'"{name}"' for name, other in KINDS.items() if table in KINDS.values() and key in known_keys(other)]
    if others:
        return f"keys of this kind of tensioner only; {key} belongs to {' and '.join(others)}"
    elsewhere = [name for name, other in tables_by_name().items() if key in known_keys(other)]
    if elsewhere:
        return f"this key in {' or '.join(elsewhere)}; here one of {', '.join(known)}"
    return "one of " + ", ".join(known)


def _path_in_file(loc: tuple[str | int, ...], kind: str, document: dict[str, Any]) -> Path:
    """Where in the file the model's own place lies: no names of choices, uncertainties as ``<key>_u``."""
    path: list[str | int] = []
    value: Any = document
    for index, part in enumerate(loc):
        is_last = index == len(loc) - 1
        if isinstance(value, dict) and part == "uncertainties" and not is_last:
            key = f"{loc[index + 1]}_u"
            return (*path, key)
        found = _child(value, part)
        if found is not _NOTHING:
            path.append(part)
            value = found
        elif is_last and kind in ("missing", "extra_forbidden") and isinstance(value, dict):
            path.append(part)
    return tuple(path)


_NOTHING = object()


def _child(value: Any, part: str | int) -> Any:
    if isinstance(value, dict) and isinstance(part, str):
        return value.get(part, _NOTHING)
    if isinstance(value, list) and isinstance(part, int) and part < len(value):
        return value[part]
    return _NOTHING


def _value_at(path: Path, document: Any) -> Any:
    value = document
    for part in path:
        value = _child(value, part)
        if value is _NOTHING:
            return None
    return value
