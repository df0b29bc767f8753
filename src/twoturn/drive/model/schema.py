"""JSON Schema of the drive file, from the model."""

from __future__ import annotations

from typing import Any

from twoturn.drive.model.base import NAME
from twoturn.drive.model.file import DriveFile
from twoturn.drive.model.work import OTHER_WORDS_FOR_STATES

Schema = dict[str, Any]


def drive_file_schema() -> Schema:
    """JSON Schema (draft 2020-12) of the drive file.

    Returns
    -------
    dict
        The schema. What holds between tables (names, ratios, geometry) is checked on loading only.
    """
    schema: Schema = plain_schema(DriveFile.model_json_schema(by_alias=True))
    tables = schema["$defs"]
    fit = schema["properties"]["fit"]
    schema["properties"]["fit"] = {"anyOf": [fit["items"], fit], "description": "One [fit], or one [[fit]] a belt."}
    interval = tables["IntervalTable"]["properties"]
    interval["severe"] = {
        "anyOf": [{"exclusiveMinimum": 0, "type": "number"}, interval["severe"]],
        "description": "One factor, or a table of factors by kind of duty.",
    }
    tables["RequirementTable"]["properties"]["state"]["enum"] += list(OTHER_WORDS_FOR_STATES)
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema, "title": "Drive file"}


def plain_schema(node: Any) -> Any:
    """A schema as a person reads it: no ``null`` (TOML has none), no titles, no markup in descriptions.

    Parameters
    ----------
    node
        A schema, or any part of one.
    """
    if isinstance(node, list):
        return [plain_schema(item) for item in node]
    if not isinstance(node, dict):
        return _portable(node)
    options = [option for option in node.get("anyOf", []) if option != {"type": "null"}]
    if options and len(options) < len(node["anyOf"]):
        rest = {key: value for key, value in node.items() if key not in ("anyOf", "default")}
        return plain_schema({**rest, **(options[0] if len(options) == 1 else {"anyOf": options})})
    kept = {key: value for key, value in node.items() if key != "title" or isinstance(value, dict)}
    if isinstance(kept.get("description"), str):
        kept["description"] = kept["description"].replace("``", "").split("\n\n")[0]
    return {key: plain_schema(value) for key, value in kept.items()}


def _portable(value: Any) -> Any:
    return r"^[^:\s]([^:]*[^:\s])?$" if value == NAME else value
