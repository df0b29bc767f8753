"""``twoturn open``: a new job folder."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer


def open_job(
    folder: Annotated[Path, typer.Argument(help="The folder of the new job; it is made where it is not there.")],
    drive: Annotated[str, typer.Option("--drive", help="The drive file, or the name of a shipped drive.")],
    as_json: Annotated[bool, typer.Option("--json", help="Print JSON and nothing else.")] = False,
) -> None:
    """Make a job folder with a job.toml that holds every entry the drive asks for, as lines to fill in."""
    from twoturn.acts.open_job import open_job as act
    from twoturn.cli.output import print_json, print_line

    opened = act(folder, drive)
    if as_json:
        print_json(opened.as_json())
        return
    print_line(f"{opened.path}: {opened.entries} entries to fill in, for {opened.drive}.")
    print_line("Take one # away from the lines of what was done; then: twoturn prove " + str(folder))
