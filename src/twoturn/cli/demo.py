"""``twoturn demo``: the main job on five invented jobs."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer


def demo(
    into: Annotated[Path, typer.Option(help="Folder for the invented jobs and their sheets.")] = Path("out/demo"),
) -> None:
    """Show the main job: five invented jobs, judged, with their proof sheets."""
    from twoturn.acts.demo import demo_plan, show_jobs
    from twoturn.cli.demo_text import heading, job_lines, main_lines
    from twoturn.cli.output import print_line

    print_line(heading())
    for number, shown in enumerate(show_jobs(into)):
        lines = main_lines(shown, demo_plan(into, shown)) if number == 0 else job_lines(shown)
        for line in lines:
            print_line(line)
