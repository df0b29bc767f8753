"""Run every measurement and write the table: `python -m bench [part ...]`."""

from __future__ import annotations

import datetime
import importlib
import pkgutil
import sys

import bench.parts
from bench.table import TABLE, Row, as_markdown


def main() -> None:
    """Measure the parts named on the command line, or all; a full run writes docs/measured.md."""
    names = [module.name for module in pkgutil.iter_modules(bench.parts.__path__)]
    chosen = sys.argv[1:] or names
    rows: list[Row] = []
    for name in chosen:
        print(f"measuring {name} …", flush=True)
        found = importlib.import_module(f"bench.parts.{name}").measure()
        for row in found:
            print(f"  {row.what}: {row.figure} (target {row.target})", flush=True)
        rows += found
    if not sys.argv[1:]:
        TABLE.write_text(as_markdown(rows, datetime.datetime.now(tz=datetime.UTC).date().isoformat()), encoding="utf-8")
        print(f"wrote {TABLE}")


main()
