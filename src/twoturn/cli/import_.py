"""``twoturn import``: a job folder taken into the record."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer


def import_(
    folder: Annotated[Path, typer.Argument(help="The job folder, or its job.toml.")],
    data: Annotated[
        Path | None, typer.Option("--data", help="The folder of the record; this user's own when left out.")
    ] = None,
    by: Annotated[
        str | None, typer.Option("--by", help="Who takes it in; left out, the one who works alone here.")
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print JSON and nothing else.")] = False,
) -> None:
    """Take a job folder into the record as a new job; its entries and their hashes stay as they are."""
    from twoturn.acts.shop.import_job import import_here
    from twoturn.acts.shop.shop import open_shop
    from twoturn.cli.output import print_json, print_line
    from twoturn.cli.record_text import import_lines

    with open_shop(data) as shop:
        done = import_here(shop, folder, by)
    if as_json:
        print_json(done.as_json())
        return
    for line in import_lines(done):
        print_line(line)
