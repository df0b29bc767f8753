"""The page on the drive file: every example loads, fits the schema, and no key and no refusal is left out."""

from __future__ import annotations

import json
import re
import tomllib
from pathlib import Path

import jsonschema
import pytest
from tests.drive.file_texts import EXAMPLES, PAGE
from tools.make_docs import drive_page, drive_schema

from twoturn.acts.drive import answer_of, solve_drive
from twoturn.drive.load import read_drive
from twoturn.drive.model.describe import known_keys
from twoturn.drive.model.file import DriveFile
from twoturn.drive.model.tensioners import KINDS
from twoturn.drive.model.work import OTHER_WORDS_FOR_STATES
from twoturn.drive.refusals import REFUSALS

SOURCE = Path(__file__).resolve().parents[2] / "src" / "twoturn" / "drive"
SCHEMA = json.loads(drive_schema())
NAMES = [tomllib.loads(text)["drive"]["name"] for text in EXAMPLES]


@pytest.mark.parametrize("text", EXAMPLES, ids=NAMES)
def test_example_loads(text: str) -> None:
    drive = read_drive(text, "example")
    assert drive.crankshaft.ratio == 1
    assert "nvented" in drive.name


@pytest.mark.parametrize("text", EXAMPLES, ids=NAMES)
def test_example_fits_the_schema(text: str) -> None:
    jsonschema.Draft202012Validator(SCHEMA).validate(tomllib.loads(text))


def test_schema_is_a_schema_and_refuses_what_the_model_refuses() -> None:
    jsonschema.Draft202012Validator.check_schema(SCHEMA)
    validator = jsonschema.Draft202012Validator(SCHEMA)
    good = tomllib.loads(EXAMPLES[1])
    for table, key, value in [
        ("drive", "crank_turns", "left"),
        ("drive", "unknown", 1),
        ("drive", "reference_temperature_c_u", -1),
    ]:
        bad = {**good, table: {**good[table], key: value}}
        assert not validator.is_valid(bad), (table, key, value)
    slide = {**good["tensioner"][0], "ram_n": 3.0}
    assert not validator.is_valid({**good, "tensioner": [slide]})


def test_schema_knows_every_word_for_a_state() -> None:
    states = SCHEMA["$defs"]["RequirementTable"]["properties"]["state"]["enum"]
    assert set(OTHER_WORDS_FOR_STATES) <= set(states)


def test_generated_parts_are_fresh() -> None:
    assert PAGE.read_text(encoding="utf-8") == drive_page()
    assert (PAGE.parent / "drive-file.schema.json").read_text(encoding="utf-8") == drive_schema()


def test_every_kind_of_tensioner_has_a_whole_example() -> None:
    kinds = {row["kind"] for text in EXAMPLES for row in tomllib.loads(text)["tensioner"]}
    assert kinds == set(KINDS)


def test_every_key_stands_on_the_page() -> None:
    page = PAGE.read_text(encoding="utf-8")
    tables = [*_tables(DriveFile), *KINDS.values()]
    for table in tables:
        missing = [key for key in known_keys(table) if not re.search(rf"`[^`\n]*\b{key}\b[^`\n]*`", page)]
        assert not missing, (table.__name__, missing)


@pytest.mark.parametrize("text", EXAMPLES, ids=NAMES)
def test_every_key_of_an_answer_stands_on_the_page(text: str, tmp_path: Path) -> None:
    path = tmp_path / "drive.toml"
    path.write_text(text, encoding="utf-8")
    page = PAGE.read_text(encoding="utf-8")
    missing = {key for key in _keys(answer_of(solve_drive(path))) if not re.search(rf"`[^`\n]*\b{key}\b[^`\n]*`", page)}
    assert not missing


def _keys(node: object) -> set[str]:
    if isinstance(node, dict):
        return {*node, *(key for value in node.values() for key in _keys(value))}
    return {key for value in node for key in _keys(value)} if isinstance(node, list) else set()


def _tables(table: type) -> list[type]:
    from typing import get_args

    found = []
    for field in table.model_fields.values():
        for inner in (field.annotation, *get_args(field.annotation)):
            if isinstance(inner, type) and hasattr(inner, "model_fields") and inner not in found:
                found += [inner, *_tables(inner)]
    return found


def test_every_refusal_in_code_is_named_and_used() -> None:
    code = "\n".join(path.read_text(encoding="utf-8") for path in SOURCE.rglob("*.py"))
    used = set(re.findall(r'(?:refuse|GeometryFault)\(\s*"([a-z-]+)"', code))
    assert used == set(REFUSALS)
    page = PAGE.read_text(encoding="utf-8")
    assert all(f"| `{name}` |" in page for name in REFUSALS)
