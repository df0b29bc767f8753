"""``twoturn drive``: what a drive file says."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer


def drive(
    file: Annotated[Path, typer.Argument(help="The drive file, or the name of a practice drive.")],
    temperature_c: Annotated[
        str | None, typer.Option("--temperature-c", help="Temperature of the engine in °C, such as 35 or 22,5.")
    ] = None,
    svg: Annotated[Path | None, typer.Option("--svg", help="Write a drawing of the drive here.")] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print JSON and nothing else.")] = False,
) -> None:
    """Say what a drive file tells: turns, teeth between marks, belt path, tensioner and tension."""
    from twoturn.acts.drive import answer_of, draw, solve_drive, without_marks, without_place
    from twoturn.acts.outputs import write_output
    from twoturn.cli.drive_text import drive_lines
    from twoturn.cli.output import print_json, print_line
    from twoturn.quantity.parse import parse

    asked = None if temperature_c is None else parse(temperature_c, "°C").value
    solved = solve_drive(file, asked)
    answer = answer_of(solved)
    if svg is not None:
        write_output(svg, draw(solved).encode(), ".svg", "the drawing")
    if as_json:
        print_json(answer)
        return
    for line in drive_lines(answer, without_place(solved), without_marks(solved)):
        print_line(line)
