"""Sendings that are lost, doubled, late and out of order: each is written once, in its tablet's order."""

from __future__ import annotations

from tests.store.databases import Record
from tests.store.lossy import over_a_bad_line


def test_a_bad_line_loses_and_doubles_nothing(record: Record) -> None:
    found = over_a_bad_line(record, 120, f"bad line {record.kind}")
    assert found["came"] > 1.2 * found["acknowledged"]
    assert [found[key] for key in ("lost", "doubled", "disordered", "problems")] == [0, 0, 0, 0]
