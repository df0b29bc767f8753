"""``twoturn backup``: the whole record in one file."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer


def backup(
    file: Annotated[Path, typer.Argument(help="The new file; one that is there is never written over.")],
    data: Annotated[
        Path | None, typer.Option("--data", help="The folder of the record; this user's own when left out.")
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print JSON and nothing else.")] = False,
) -> None:
    """Write the whole record into one file, while the bench runs."""
    from twoturn.acts.shop.record import backup as act
    from twoturn.acts.shop.record import on_the_same_disk, open_record
    from twoturn.cli.output import print_json, print_line
    from twoturn.cli.record_text import backup_json, backup_lines

    with open_record(data) as shop:
        done = act(shop, file)
        same_disk = on_the_same_disk(shop, done.path)
    if as_json:
        print_json(backup_json(done, same_disk))
        return
    for line in backup_lines(done, same_disk):
        print_line(line)
