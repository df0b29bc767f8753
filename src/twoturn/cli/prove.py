"""``twoturn prove``: what a job proves."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer


def prove(
    folder: Annotated[Path, typer.Argument(help="The job folder, or its job.toml.")],
    output: Annotated[Path | None, typer.Option("-o", "--output", help="Write the proof sheet (PDF) here.")] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print JSON and nothing else.")] = False,
) -> None:
    """Judge a job: every check with its reading, its requirement and the next step.

    Exit status: 0 proven, 3 not shown, 4 not met, 2 bad input.
    """
    from twoturn.acts.prove import prove as act
    from twoturn.cli.output import EXIT_FINE, EXIT_NOT_MET, EXIT_NOT_SHOWN, print_json, print_line
    from twoturn.cli.progress import shown
    from twoturn.cli.prove_text import prove_lines

    with shown("Reading the job") as progress:
        proof = act(folder, output, progress)
    if as_json:
        print_json(proof.as_json())
    else:
        for line in prove_lines(proof):
            print_line(line)
    status = {"proven": EXIT_FINE, "not shown": EXIT_NOT_SHOWN, "not met": EXIT_NOT_MET}
    raise typer.Exit(status[proof.assessment.verdict.value])
