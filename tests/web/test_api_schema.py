"""The whole API against its own document: whatever is sent, no slip, and every answer as the document says.

Sent by a second opinion, schemathesis, which reads nothing but the document.
"""

from __future__ import annotations

import copy
from collections.abc import Iterator
from functools import lru_cache
from pathlib import Path
from typing import Any

import pytest
import schemathesis
from hypothesis import HealthCheck, Phase, given, settings
from schemathesis import GenerationMode
from schemathesis.schemas import APIOperation
from schemathesis.specs.openapi import checks
from tests.web.bench import BenchClient, client_of
from tests.web.stocked import Stocked, open_copy

from twoturn.web.api.openapi import document, every_endpoint

CHECKS = [
    schemathesis.checks.not_a_server_error,
    checks.status_code_conformance,
    checks.content_type_conformance,
    checks.response_headers_conformance,
    checks.response_schema_conformance,
    checks.missing_required_header,
]
EXAMPLES = {"there": 6, "anywhere": 3, "against": 8}
SLOW = {"fetch_backup", "verify_record", "sign_in"}


def _ways() -> Iterator[tuple[str, str]]:
    """Each question, and the ways to ask it: of things that are there, of any, and against the document."""
    for asked in every_endpoint():
        yield asked.act.__name__, "there"
        if "{" in asked.path:
            yield asked.act.__name__, "anywhere"
        if "{" in asked.path or asked.body or asked.query or asked.takes_file:
            yield asked.act.__name__, "against"


@lru_cache(maxsize=1)
def operations() -> dict[str, APIOperation[Any, Any]]:
    """Every operation of the document by its id; who asks is settled here, not drawn."""
    plain = copy.deepcopy(document())
    for item in plain["paths"].values():
        for operation in item.values():
            del operation["security"]
    schema = schemathesis.openapi.from_dict(plain)
    found = [result.ok() for result in schema.get_all_operations()]
    return {one.definition.raw["operationId"]: one for one in found}


@pytest.fixture(scope="module")
def stocked(stocked_record: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Stocked]:
    """One shop for all that is sent here; nothing that is sent may spoil it for the rest."""
    with open_copy(stocked_record, tmp_path_factory.mktemp("api") / "data") as found:
        yield found


@pytest.fixture(scope="module")
def client(stocked: Stocked) -> Iterator[BenchClient]:
    with client_of(stocked.shop) as asking:
        yield asking


def _places(stocked: Stocked, operation: APIOperation[Any, Any]) -> dict[str, Any]:
    """Parameters of the path that are there."""
    there = {
        "job": stocked.job,
        "vehicle": stocked.vehicle,
        "drive": stocked.drive,
        "version": stocked.version,
        "tool": stocked.tool,
        "person": 2,
        "name": "none.csv",
        "kind": "label",
        "sheet": 1,
        "analysis": "none",
        "number": 0,
        "sha256": "0" * 64,
    }
    return {parameter.name: there[parameter.name] for parameter in operation.path_parameters}


def _as_file(file: Any) -> Any:
    """A file of a form as bytes, also where the document was broken on purpose."""
    if isinstance(file, tuple):
        return tuple(_as_file(part) if at == 1 else part for at, part in enumerate(file))
    return file if isinstance(file, bytes) else str(file).encode("utf-8", "replace")


@pytest.mark.parametrize(("name", "way"), list(_ways()))
def test_answers_are_as_the_document_says(stocked: Stocked, client: BenchClient, name: str, way: str) -> None:
    operation = operations()[name]
    mode = GenerationMode.NEGATIVE if way == "against" else GenerationMode.POSITIVE
    fixed = _places(stocked, operation) if way == "there" else None
    examples = 1 if name in SLOW else EXAMPLES[way]

    @given(case=operation.as_strategy(mode, path_parameters=fixed))
    @settings(
        max_examples=examples,
        deadline=None,
        derandomize=True,
        database=None,
        phases=(Phase.explicit, Phase.generate),
        suppress_health_check=list(HealthCheck),
    )
    def send(case: schemathesis.Case) -> None:
        more = {"x-csrf": client.get("/api/session").json()["csrf"]}
        asked = case.as_transport_kwargs("http://127.0.0.1:8642", headers=more)
        asked.pop("cookies", None)
        if isinstance(asked.get("data"), bytes | str):
            asked["content"] = asked.pop("data")
        if isinstance(asked.get("files"), list):
            asked["files"] = [(field, _as_file(file)) for field, file in asked["files"]]
        request = client.build_request(**asked)
        request.read()
        answer = client.send(request)
        refused = [] if answer.status_code == 413 else [checks.negative_data_rejection]
        case.validate_response(answer, checks=[*CHECKS, *refused], headers=more)

    send()
