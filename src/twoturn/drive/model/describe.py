"""What each key of a table may hold, in plain words, read from the model itself."""

from __future__ import annotations

import types
from typing import Annotated, Any, Literal, Union, get_args, get_origin

import annotated_types
from pydantic import BaseModel
from pydantic.fields import FieldInfo

from twoturn.drive.model.base import HUGE, NAME, Table
from twoturn.drive.model.file import DriveFile
from twoturn.drive.model.tensioners import KINDS
from twoturn.drive.model.work import WHEEL

Path = tuple[str | int, ...]


def table_at(path: Path, document: Any) -> type[BaseModel] | None:
    """The model of the table at ``path`` of a document; None where the path leads to no table."""
    found = _annotation_at(path, document)
    return found if isinstance(found, type) and issubclass(found, BaseModel) else None


def tables_by_name() -> dict[str, type[BaseModel]]:
    """Every table of a drive file by its name in brackets: ``[drive]``, ``[[pulley]]`` …, tensioners by kind."""
    tables: dict[str, type[BaseModel]] = {}
    for name, field in DriveFile.model_fields.items():
        annotation, _ = _unwrapped(field.annotation)
        is_list = get_origin(annotation) is list
        table = _unwrapped(get_args(annotation)[0])[0] if is_list else annotation
        if isinstance(table, type) and issubclass(table, BaseModel):
            tables[f"[[{name}]]" if is_list else f"[{name}]"] = table
    return {**tables, **{f"a {kind} [[tensioner]]": table for kind, table in KINDS.items()}}


def known_keys(table: type[BaseModel]) -> list[str]:
    """Keys that a table may hold, as written in the file, without uncertainties."""
    return [key_in_file(name, field) for name, field in table.model_fields.items() if name != "uncertainties"]


def uncertain_keys(table: type[BaseModel]) -> list[str]:
    """The ``<key>_u`` keys that a table may hold."""
    return [f"{name}_u" for name in sorted(table.quantities())] if issubclass(table, Table) else []


def key_in_file(name: str, field: FieldInfo) -> str:
    """A field's key as written in the file (``from`` for ``from_``)."""
    return field.alias or name


def expected_at(path: Path, document: Any) -> str:
    """What would be right at ``path``, in plain words."""
    if path and isinstance(path[-1], str) and path[-1].endswith("_u"):
        return "a standard uncertainty: a number of 0 or more (two numbers where the key holds two)"
    found = _annotation_at(path, document)
    return "a value that docs/drive-file.md names for it" if found is None else describe(found)


def describe(annotation: Any) -> str:
    """A type of the model in plain words: ``"a number above 0"``, ``"one of "gap", "tooth""``."""
    annotation, limits = _unwrapped(annotation)
    origin = get_origin(annotation)
    if origin is Literal:
        choices = [f'"{choice}"' for choice in get_args(annotation)]
        return choices[0] if len(choices) == 1 else "one of " + ", ".join(choices)
    if origin in (Union, types.UnionType):
        return " or ".join(dict.fromkeys(describe(member) for member in get_args(annotation)))
    if origin is tuple:
        members = get_args(annotation)
        return (
            'two names, such as ["crank", "cam"]'
            if _unwrapped(members[0])[0] is str
            else "two numbers, such as [12.5, -40.0]"
        )
    if origin is list:
        least = "one or more: " if any(isinstance(limit, annotated_types.MinLen) for limit in limits) else ""
        return f"a list; {least}each element {describe(get_args(annotation)[0])}"
    if origin is dict:
        return "a table of numbers, such as { towing = 0.5 }"
    return _described_scalar(annotation, limits)


def _described_scalar(annotation: Any, limits: list[Any]) -> str:
    if annotation is bool:
        return "true or false"
    if annotation is int:
        return "a whole number" + _range_words(limits)
    if annotation is float:
        return "a number" + _range_words(limits)
    if annotation is str:
        return _described_text(limits)
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return "a table with " + ", ".join(known_keys(annotation)[:4])
    return "any value"


def _described_text(limits: list[Any]) -> str:
    pattern = next((limit.pattern for limit in limits if getattr(limit, "pattern", None)), None)
    if pattern == NAME:
        return "a name in quotation marks, of 1 to 60 characters without a colon"
    if pattern == WHEEL:
        return 'a sensor wheel such as "60-2", "36-2-2-2", "12+1", or "58" without a gap'
    if pattern is not None:
        return 'a name of small letters, digits, ".", "_", "@" and "-"'
    return "a text in quotation marks"


def _range_words(limits: list[Any]) -> str:
    low = next(
        (f"{'above' if hasattr(limit, 'gt') else 'from'} {_bound(limit):g}" for limit in limits if _is_low(limit)), ""
    )
    ends = [_bound(limit) for limit in limits if isinstance(limit, annotated_types.Le)]
    high = next((f"{end:g}" for end in ends if end < HUGE), "")
    if low and high:
        return f" {low} to {high}"
    if low:
        return f" {low}" if low.startswith("above") else f" of {low.removeprefix('from ')} or more"
    return f" of at most {high}" if high else ""


def _is_low(limit: Any) -> bool:
    return isinstance(limit, annotated_types.Ge | annotated_types.Gt)


def _bound(limit: Any) -> float:
    return float(getattr(limit, "ge", getattr(limit, "gt", getattr(limit, "le", 0.0))))


def _unwrapped(annotation: Any) -> tuple[Any, list[Any]]:
    """The bare type without ``Annotated`` and ``| None``, and its limits."""
    limits: list[Any] = []
    while True:
        if get_origin(annotation) is Annotated:
            annotation, *more = get_args(annotation)
            for item in more:
                limits.extend(item.metadata if isinstance(item, FieldInfo) else [item])
        elif get_origin(annotation) in (Union, types.UnionType) and type(None) in get_args(annotation):
            rest = [member for member in get_args(annotation) if member is not type(None)]
            if len(rest) > 1:
                return Union[tuple(rest)], limits  # noqa: UP007  (the members are only known here)
            annotation = rest[0]
        else:
            return annotation, limits


def _annotation_at(path: Path, document: Any) -> Any:
    annotation: Any = DriveFile
    value = document
    for index, part in enumerate(path):
        value = _step(value, part)
        bare, _ = _unwrapped(annotation)
        if isinstance(part, int):
            members = get_args(bare)
            annotation = members[0] if members else bare if path[index - 1] == "fit" else None
        elif isinstance(bare, type) and issubclass(bare, BaseModel):
            annotation = _field_annotation(bare, part)
        elif get_origin(bare) is list and path[0] == "fit":
            annotation = _field_annotation(get_args(bare)[0], part)
        else:
            return get_args(bare)[1] if get_origin(bare) is dict else None
        if path[0] == "tensioner" and index == 1:
            annotation = _kind_of(value)
    return annotation


def _kind_of(value: Any) -> type[BaseModel] | None:
    kind = value.get("kind") if isinstance(value, dict) else None
    return KINDS.get(kind) if isinstance(kind, str) else None


def _step(value: Any, part: str | int) -> Any:
    try:
        return value[part]
    except (KeyError, IndexError, TypeError):
        return None


def _field_annotation(table: type[BaseModel], key: str) -> Any:
    for name, field in table.model_fields.items():
        if key_in_file(name, field) == key:
            limits = tuple(field.metadata)
            return Annotated[(field.annotation, *limits)] if limits else field.annotation
    return None
