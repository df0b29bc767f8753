"""``twoturn export``: a job of the record as a job folder."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer


def export(
    job: Annotated[int, typer.Argument(help="Number of the job.")],
    folder: Annotated[Path, typer.Argument(help="A new folder.")],
    data: Annotated[
        Path | None, typer.Option("--data", help="The folder of the record; this user's own when left out.")
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print JSON and nothing else.")] = False,
) -> None:
    """Write a job of the record as a job folder that twoturn prove judges alike."""
    from twoturn.acts.shop.export_job import export_numbered
    from twoturn.acts.shop.record import open_record
    from twoturn.cli.output import print_json, print_line
    from twoturn.cli.record_text import export_lines

    with open_record(data) as shop:
        done = export_numbered(shop, job, folder)
    if as_json:
        print_json(done.as_json())
        return
    for line in export_lines(done):
        print_line(line)
