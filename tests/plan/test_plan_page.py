"""The page on the plan names every step of the catalogue, in its order, and every key of the JSON."""

from __future__ import annotations

import re
from pathlib import Path

from tests.plan.plan_drives import demo_plan

from twoturn.plan.order import CATALOGUE

PAGE = (Path(__file__).resolve().parents[2] / "docs" / "plan.md").read_text(encoding="utf-8")


def test_the_table_of_steps_is_the_catalogue() -> None:
    assert tuple(re.findall(r"^\| `([a-z-]+)` \|", PAGE, flags=re.MULTILINE)) == CATALOGUE


def test_every_json_key_is_named() -> None:
    answer = demo_plan("alder-one-cam").as_json()
    keys = {*answer, *answer["steps"][0]}
    assert [key for key in keys if not re.search(rf"`{key}(\[|`)", PAGE)] == []
