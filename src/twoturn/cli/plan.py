"""``twoturn plan``: the ordered steps, parts and tools for a drive."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer


def plan(
    file: Annotated[Path, typer.Argument(help="The drive file, or the name of a practice drive.")],
    job: Annotated[
        Path | None, typer.Option("--job", help="The job's folder, which knows the vehicle: hybrid, fuel, stop-start.")
    ] = None,
    output: Annotated[Path | None, typer.Option("-o", "--output", help="Write the plan as a PDF here.")] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print JSON and nothing else.")] = False,
) -> None:
    """Plan a job: the steps of this drive in order, with parts, tools, torques and what to write down."""
    from twoturn.acts.plan import plan_job, write_plan
    from twoturn.cli.output import print_json, print_line
    from twoturn.cli.plan_text import plan_lines

    made = plan_job(file, job)
    if output is not None:
        write_plan(made, file, output)
    if as_json:
        print_json({**made.as_json(), "pdf": None if output is None else str(output)})
        return
    for line in [f"Written: {output}"] if output is not None else plan_lines(made):
        print_line(line)
