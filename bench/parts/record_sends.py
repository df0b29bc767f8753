"""Ten thousand sendings over a bad line: lost, doubled, late and out of order."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

from tests.store.databases import KINDS, new_record
from tests.store.lossy import over_a_bad_line

from bench.table import Row

SENDS = int(os.environ.get("TWOTURN_SENDS", "10000"))
FAULTS = ("lost", "doubled", "disordered", "problems")


def measure() -> list[Row]:
    """One row for each database."""
    return [_row(kind) for kind in KINDS]


def _row(kind: str) -> Row:
    with tempfile.TemporaryDirectory() as folder, new_record(kind, Path(folder) / "data") as record:
        found = over_a_bad_line(record, SENDS // len(KINDS), f"bench {kind}")
    name = "SQLite" if kind == "sqlite" else "PostgreSQL"
    good = not any(found[key] for key in FAULTS)
    return Row(
        "record: a bad line",
        f"{name}: {found['acknowledged']} sendings of five tablets came {found['came']} times: lost, doubled, late, "
        "out of order",
        f"{found['entries']} entries: {found['lost']} lost, {found['doubled']} doubled, {found['disordered']} out of "
        f"their tablet's order; {found['problems']} found by verify",
        "none lost, none doubled; 10⁴ sendings",
        good if SENDS >= 10_000 or not good else None,
    )
