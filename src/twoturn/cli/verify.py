"""``twoturn verify``: has anything of the record been changed?"""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer


def verify(
    data: Annotated[
        Path | None, typer.Option("--data", help="The folder of the record; this user's own when left out.")
    ] = None,
    sheet: Annotated[
        list[str] | None,
        typer.Option(
            "--sheet", help="A sheet in hand: number of the job, =, record number as printed. As many as wanted."
        ),
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print JSON and nothing else.")] = False,
) -> None:
    """Look through the record: entries, evidence files, database, and sheets that were handed out.

    Exit status: 0 as it was written, 4 something is changed or missing, 2 bad input.
    """
    from twoturn.acts.shop.record import verify_at
    from twoturn.cli.output import EXIT_FINE, EXIT_NOT_MET, print_json, print_line
    from twoturn.cli.record_text import verify_json, verify_lines

    found = verify_at(data, papers=sheet or ())
    if as_json:
        print_json(verify_json(found))
    else:
        for line in verify_lines(found):
            print_line(line)
    raise typer.Exit(EXIT_FINE if found.whole else EXIT_NOT_MET)
