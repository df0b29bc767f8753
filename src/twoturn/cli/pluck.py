"""``twoturn pluck``: the note of a plucked span, and its tension."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer


def pluck(
    file: Annotated[Path, typer.Argument(help="The recording: WAV, FLAC or what a telephone makes.")],
    drive: Annotated[Path | None, typer.Option(help="The drive file, for the tension.")] = None,
    span: Annotated[str | None, typer.Option(help="The span plucked, FROM:TO in belt order.")] = None,
    temperature_c: Annotated[str | None, typer.Option("--temperature-c", help="Engine temperature in °C.")] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print JSON and nothing else.")] = False,
) -> None:
    """Hear a plucked span: its note and, with --drive and --span, its tension."""
    from twoturn.acts.pluck import answer_lines, hear
    from twoturn.cli.output import print_json, print_line
    from twoturn.cli.progress import shown
    from twoturn.quantity.parse import parse

    asked = None if temperature_c is None else parse(temperature_c, "°C").value
    with shown("Listening") as progress:
        answer = hear(file, drive, span, asked, progress)
    if as_json:
        print_json(answer.as_json())
        return
    for line in answer_lines(answer):
        print_line(line)
