"""JSON Schema of the job file and a table of its keys, from the entries themselves."""

from __future__ import annotations

from typing import Any

from pydantic import TypeAdapter

from twoturn.drive.model.schema import plain_schema
from twoturn.job.entries.base import EntryBase
from twoturn.job.entries.union import KINDS, Entry
from twoturn.job.file import FORMAT
from twoturn.job.understand import known_keys


def job_file_schema() -> dict[str, Any]:
    """JSON Schema (draft 2020-12) of the job file; dates stand in it as ISO 8601 text.

    Returns
    -------
    dict
        The schema. What holds between entries and against the drive is checked on loading only.
    """
    entry = plain_schema(TypeAdapter(Entry).json_schema(by_alias=True))
    tables = entry.pop("$defs")
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "Job file",
        "type": "object",
        "required": ["format", "drive"],
        "additionalProperties": False,
        "properties": {
            "format": {"const": FORMAT},
            "drive": {"type": "string", "minLength": 1},
            "entry": {"type": "array", "items": entry},
        },
        "$defs": tables,
    }


def kinds_table() -> str:
    """Every kind of entry with what it says and its own keys, as a Markdown table."""
    shared = {field.alias or name for name, field in EntryBase.model_fields.items()}
    rows = ["| kind | what it says | its keys |", "|---|---|---|"]
    for kind, model in KINDS.items():
        said = (model.__doc__ or "").split("\n")[0].rstrip(".")
        required = {field.alias or name for name, field in model.model_fields.items() if field.is_required()}
        keys = [f"**{key}**" if key in required else key for key in known_keys(model) if key not in shared]
        rows.append(f"| `{kind}` | {said} | {', '.join(keys) or '–'} |")
    return "\n".join(rows)


def keys_table() -> str:
    """The keys that every entry may carry, as a Markdown table."""
    rows = ["| key | what is expected |", "|---|---|"]
    for name, field in EntryBase.model_fields.items():
        rows.append(f"| `{field.alias or name}` | {field.description or 'what the entry says'} |")
    return "\n".join(rows)
