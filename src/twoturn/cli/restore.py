"""``twoturn restore``: a backup put in place."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer


def restore(
    file: Annotated[Path, typer.Argument(help="A file that twoturn backup wrote.")],
    data: Annotated[
        Path | None, typer.Option("--data", help="The folder of the record; this user's own when left out.")
    ] = None,
    replace: Annotated[
        bool, typer.Option("--replace", help="Set a record that is there aside (it is kept under another name).")
    ] = False,
    as_json: Annotated[bool, typer.Option("--json", help="Print JSON and nothing else.")] = False,
) -> None:
    """Put a backup in place as the record, and look through it."""
    from twoturn.acts.shop.record import restore as act
    from twoturn.cli.output import EXIT_FINE, EXIT_NOT_MET, print_json, print_line
    from twoturn.cli.record_text import restore_json, restore_lines

    done = act(file, data, replace=replace)
    if as_json:
        print_json(restore_json(done))
    else:
        for line in restore_lines(done):
            print_line(line)
    raise typer.Exit(EXIT_FINE if done.verified.whole else EXIT_NOT_MET)
