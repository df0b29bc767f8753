"""The API's document, OpenAPI 3.1, made from the endpoints themselves."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import lru_cache
from http import HTTPStatus
from typing import Any

from pydantic import TypeAdapter
from pydantic.json_schema import JsonSchemaMode

from twoturn.acts.shop.shop import program
from twoturn.web.api.bounds import ErrorAnswer
from twoturn.web.api.endpoint import JSON, PARAMETER, Endpoint
from twoturn.web.page import ANYONE
from twoturn.web.security.csrf import HEADER
from twoturn.web.security.numbers import MOST_ID
from twoturn.words.cautions import DEFERENCE

FOR_ALL = (403, 413, 421, 422, 500, 503)
"""Refusals that every question can have."""
REFS = "#/components/schemas/{model}"
Key = tuple[str, str]
"""Body or answer, and of which question."""


def every_endpoint() -> tuple[Endpoint, ...]:
    """Every question that the API answers."""
    from importlib import import_module

    from twoturn.web.api import MODULES

    return tuple(one for name in MODULES for one in import_module(f"twoturn.web.api.{name}").ENDPOINTS)


@lru_cache(maxsize=1)
def document() -> dict[str, Any]:
    """The document."""
    endpoints = every_endpoint()
    schemas, tables = _schemas(endpoints)
    paths: dict[str, dict[str, Any]] = {}
    for asked in endpoints:
        paths.setdefault(asked.plain_path, {})[asked.method.lower()] = _operation(asked, schemas)
    return {
        "openapi": "3.1.0",
        "info": {"title": "twoturn", "version": program(), "description": DEFERENCE, "license": {"name": "MIT"}},
        "paths": paths,
        "components": {
            "schemas": tables,
            "securitySchemes": {
                "visitor": {"type": "apiKey", "in": "cookie", "name": "twoturn", "description": "set by /api/session"},
                "token": {"type": "apiKey", "in": "header", "name": HEADER, "description": "told by /api/session"},
            },
        },
    }


def _schemas(endpoints: Sequence[Endpoint]) -> tuple[dict[Key, Any], dict[str, Any]]:
    """Schema of each thing sent or told by (what, operation), and the tables they refer to."""
    wanted: list[tuple[Key, JsonSchemaMode, TypeAdapter[Any]]] = [
        (("error", ""), "serialization", TypeAdapter(ErrorAnswer))
    ]
    for asked in endpoints:
        name = asked.act.__name__
        if asked.body is not None:
            wanted.append((("body", name), "validation", TypeAdapter(asked.body)))
        if asked.media == (JSON,) and asked.status != 204:
            told = asked.adapter if asked.answer is None else TypeAdapter(asked.answer)
            wanted.append((("answer", name), "serialization", told))
    found, rest = TypeAdapter.json_schemas(wanted, ref_template=REFS)
    return {key: schema for (key, _), schema in found.items()}, {
        name: _in_short(table) for name, table in rest.get("$defs", {}).items()
    }


def _in_short(table: dict[str, Any]) -> dict[str, Any]:
    """A table with the first line of its description alone."""
    said = table.get("description", "").split("\n")[0]
    return table | {"description": said} if said else table


def _operation(asked: Endpoint, schemas: dict[Key, Any]) -> dict[str, Any]:
    name = asked.act.__name__
    said: dict[str, Any] = {
        "operationId": name,
        "summary": asked.summary,
        "tags": [asked.act.__module__.rpartition(".")[2]],
        "x-least-role": asked.role,
        "security": _security(asked),
        "parameters": [*_parameters(asked), *_queries(asked)],
        "responses": _responses(asked, schemas),
    }
    if asked.body is not None:
        said["requestBody"] = {"required": True, "content": {JSON: {"schema": schemas["body", name]}}}
    if asked.takes_file:
        said["requestBody"] = {"required": True, "content": {"multipart/form-data": {"schema": _file_form(asked)}}}
    return said


def _file_form(asked: Endpoint) -> dict[str, Any]:
    kind = {"kind": {"enum": list(asked.kinds)}} if asked.kinds else {}
    return {
        "type": "object",
        "required": ["file", *kind],
        "properties": {
            "file": {"type": "string", "format": "binary"},
            **kind,
            "name": {"type": "string", "maxLength": 200, "description": "its name; the file's own where left out"},
        },
    }


def _security(asked: Endpoint) -> list[dict[str, list[str]]]:
    if asked.changes:
        return [{"visitor": [], "token": []}]
    return [] if asked.role == ANYONE else [{"visitor": []}]


def _parameters(asked: Endpoint) -> Iterator[dict[str, Any]]:
    for name, kind in PARAMETER.findall(asked.path):
        number = {"type": "integer", "minimum": 0, "maximum": MOST_ID}
        schema = number if kind == "int" else {"type": "string", "minLength": 1, "maxLength": 200}
        yield {"name": name, "in": "path", "required": True, "schema": schema}
    if asked.key:
        words = "key of the sending, made by the sender: the same again writes nothing and gets the first answer"
        key = {"type": "string", "minLength": 1, "maxLength": 200, "pattern": "^[!-~]+$"}
        yield {"name": "Idempotency-Key", "in": "header", "required": True, "schema": key, "description": words}


def _queries(asked: Endpoint) -> Iterator[dict[str, Any]]:
    held = {} if asked.query is None else asked.query.model_json_schema(ref_template=REFS)
    for name, said in held.get("properties", {}).items():
        plain = {key: value for key, value in said.items() if key not in ("title", "description")}
        words = {"description": said["description"]} if "description" in said else {}
        yield {"name": name, "in": "query", "required": name in held.get("required", ()), "schema": plain} | words


def _responses(asked: Endpoint, schemas: dict[Key, Any]) -> dict[str, Any]:
    name, told = asked.act.__name__, {JSON: {"schema": schemas["error", ""]}}
    good: dict[str, Any] = {"description": HTTPStatus(asked.status).phrase}
    if ("answer", name) in schemas:
        good["content"] = {JSON: {"schema": schemas["answer", name]}}
    elif asked.media != (JSON,):
        good["content"] = {kind: {"schema": {"type": "string"}} for kind in asked.media}
    statuses = {*FOR_ALL, *asked.refuses}
    statuses |= set() if asked.role == ANYONE else {401}
    statuses |= {404} if "{" in asked.path or asked.changes else set()
    statuses |= {400} if asked.body is not None or asked.takes_file else set()
    statuses |= {415} if asked.body is not None else set()
    refused = {str(status): {"description": HTTPStatus(status).phrase, "content": told} for status in sorted(statuses)}
    return {str(asked.status): good} | refused
