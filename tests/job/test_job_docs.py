"""The page on the job file: every example is a whole job with the verdict it says; schema and tables are fresh."""

from __future__ import annotations

import re
import tomllib
from datetime import date, datetime
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from tests.job.paper_jobs import engine

from twoturn.job.assess import assess
from twoturn.job.check_names import check_names
from twoturn.job.entries.union import KINDS
from twoturn.job.file import read_job
from twoturn.job.schema import job_file_schema, keys_table, kinds_table

DOCS = Path(__file__).resolve().parents[2] / "docs"
PAGE = (DOCS / "job-file.md").read_text(encoding="utf-8")
EXAMPLES = re.findall(r"```toml\n(.*?)```", PAGE, re.DOTALL)


def plain(value: Any) -> Any:
    """Dates as JSON has them."""
    if isinstance(value, dict):
        return {key: plain(item) for key, item in value.items()}
    if isinstance(value, list):
        return [plain(item) for item in value]
    return value.isoformat() if isinstance(value, date | datetime) else value


@pytest.mark.parametrize("text", EXAMPLES)
def test_an_example_is_a_whole_job_with_the_verdict_it_says(text: str) -> None:
    file = read_job(text, "example")
    drive = engine(file.drive)
    check_names(file, drive)
    said = re.match(r"# verdict: (.*)\n", text)
    assert said is not None
    assert assess(drive, file.entries).verdict.value == said[1]


@pytest.mark.parametrize("text", EXAMPLES)
def test_an_example_fits_the_schema(text: str) -> None:
    jsonschema.Draft202012Validator(job_file_schema()).validate(plain(tomllib.loads(text)))


def test_the_schema_refuses_what_the_model_refuses() -> None:
    schema = job_file_schema()
    jsonschema.Draft202012Validator.check_schema(schema)
    validator = jsonschema.Draft202012Validator(schema)
    good = plain(tomllib.loads(EXAMPLES[0]))
    assert validator.is_valid(good)
    for entry in (
        {"kind": "turn"},
        {"kind": "turned"},
        {"kind": "turned", "turns": 2, "x": 1},
        {"kind": "odometer", "km": -1},
    ):
        assert not validator.is_valid({**good, "entry": [entry]}), entry
    assert not validator.is_valid({**good, "format": 2})


def test_page_names_every_kind_and_every_key() -> None:
    assert kinds_table() in PAGE
    assert keys_table() in PAGE
    for kind, model in KINDS.items():
        assert f"`{kind}`" in PAGE
        undescribed = [name for name, field in model.model_fields.items() if name != "kind" and not field.description]
        assert undescribed == [], (kind, undescribed)
