"""Run every measurement and write the table: `python -m bench [--keep] [part ...]`."""

from __future__ import annotations

import datetime
import importlib
import sys
import time
import traceback

from bench.parts import PARTS
from bench.table import TABLE, Row, as_markdown, with_rows


def main() -> None:
    """Measure the parts named on the command line, or all; a whole run writes the table, ``--keep`` rows of it."""
    rows: list[Row] = []
    named = [word for word in sys.argv[1:] if word != "--keep"]
    for part in named or PARTS:
        print(f"measuring {part} …", flush=True)
        start = time.perf_counter()
        found = _measured(part)
        for row in found:
            word = {True: "met", False: "NOT MET", None: "no verdict"}[row.met]
            print(f"  {row.what} ({row.how}): {row.figure} | target {row.target} | {word}", flush=True)
        print(f"  took {time.perf_counter() - start:.0f} s", flush=True)
        rows += found
    if named and "--keep" in sys.argv[1:]:
        TABLE.write_text(with_rows(TABLE.read_text(encoding="utf-8"), rows), encoding="utf-8")
        print(f"wrote {len(rows)} rows of docs/{TABLE.name}")
    if not named:
        TABLE.write_text(as_markdown(rows, datetime.datetime.now(tz=datetime.UTC).date().isoformat()), encoding="utf-8")
        print(f"wrote docs/{TABLE.name}")


def _measured(part: str) -> list[Row]:
    """The rows of a part; one that says so where it broke down, so that the others are not lost."""
    try:
        return list(importlib.import_module(f"bench.parts.{part}").measure())
    except Exception as error:
        traceback.print_exc()
        return [Row(part, "broke down", type(error).__name__, "to be measured", False)]


main()
