"""Write the generated parts of the docs, or check that they are what they should be.

``python -m tools.make_docs`` writes them; ``python -m tools.make_docs --check`` fails when one is stale. A generated
part is one entry of ``PAGES``: a file of ``docs/`` and a function that gives its whole text. A function that keeps a
hand-written page around its part gets the page through :func:`page` and replaces it with :func:`between`.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

DOCS = Path(__file__).resolve().parent.parent / "docs"


def page(name: str) -> str:
    """Text of a page of ``docs/`` as it stands."""
    return (DOCS / name).read_text(encoding="utf-8")


def between(text: str, start: str, end: str, part: str) -> str:
    """``text`` with ``part`` in place of what stands between the lines that begin with ``start`` and ``end``."""
    lines = text.split("\n")
    first = next(number for number, line in enumerate(lines) if line.startswith(start))
    last = next(number for number, line in enumerate(lines) if number > first and line.startswith(end))
    return "\n".join([*lines[: first + 1], part, *lines[last:]])


def as_json(schema: dict[str, Any]) -> str:
    """A JSON Schema as it stands in the docs."""
    return json.dumps(schema, ensure_ascii=False, indent=2, sort_keys=True) + "\n"


def drive_schema() -> str:
    """JSON Schema of the drive file."""
    from twoturn.drive.model.schema import drive_file_schema

    return as_json(drive_file_schema())


def drive_page() -> str:
    """The page on the drive file, with its table of refusals."""
    from twoturn.drive.refusals import SECTIONS

    rows = []
    for title, section in SECTIONS.items():
        rows += ["", f"**{title}**", "", "| name | refused | expected |", "|---|---|---|"]
        for name, (when, expected) in section.items():
            words = expected.replace("{near}", "").replace("{", "‹").replace("}", "›")
            rows.append(f"| `{name}` | {when} | {words} |")
    return between(page("drive-file.md"), "<!-- refusals", "<!-- end of refusals", "\n".join([*rows, ""]))


def job_schema() -> str:
    """JSON Schema of the job file."""
    from twoturn.job.schema import job_file_schema

    return as_json(job_file_schema())


def job_page() -> str:
    """The page on the job file, with its tables of kinds and keys."""
    from twoturn.job.schema import keys_table, kinds_table

    text = between(page("job-file.md"), "<!-- kinds of entries", "<!-- end of kinds", f"\n{kinds_table()}\n")
    return between(text, "<!-- shared keys", "<!-- end of shared keys", f"\n{keys_table()}\n")


def command_page() -> str:
    """The page on the command line, with every command and option."""
    from tools.command_page import command_part

    text = page("command-line.md")
    return between(text, "<!-- commands", "<!-- end of commands", f"\n{command_part()}\n")


def api_page() -> str:
    """The page on the API, with every question and its least role."""
    from twoturn.web.api.openapi import every_endpoint

    rows = ["| question | what it does | least role |", "|---|---|---|"]
    rows += [f"| `{one.method} {one.plain_path}` | {one.summary} | {one.role} |" for one in every_endpoint()]
    return between(page("api.md"), "<!-- questions", "<!-- end of questions", "\n".join(["", *rows, ""]))


def drive_picture() -> str:
    """The drawing of a shipped drive that README shows."""
    from twoturn.acts.drive import draw, solve_drive

    shipped = DOCS.parent / "src" / "twoturn" / "demo" / "drives" / "alder-one-cam.toml"
    return draw(solve_drive(shipped, None))


PAGES: dict[str, Callable[[], str]] = {
    "drive-file.schema.json": drive_schema,
    "drive-file.md": drive_page,
    "job.schema.json": job_schema,
    "job-file.md": job_page,
    "command-line.md": command_page,
    "api.md": api_page,
    "pictures/alder-drive.svg": drive_picture,
}


def main(arguments: list[str]) -> int:
    """Write the docs, or with ``--check`` name what is stale; exit status 1 when something is."""
    stale = []
    for name, made in PAGES.items():
        path, text = DOCS / name, made()
        if path.exists() and path.read_text(encoding="utf-8") == text:
            continue
        stale.append(name)
        if "--check" not in arguments:
            path.write_text(text, encoding="utf-8")
            print(f"docs/{name} written")
    if stale and "--check" in arguments:
        print(f"stale: {', '.join(f'docs/{name}' for name in stale)}; run make docs")
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
